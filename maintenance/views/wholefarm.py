"""Taking the farm along: the whole of it in one file, and its plan for other programs' maps."""

from __future__ import annotations

import json

from celery.exceptions import CeleryError
from django.contrib import messages
from django.http import FileResponse, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe
from kombu.exceptions import KombuError

from doors.exchange.geojson import MEDIA_TYPE, NoPlaceError, plan_as_geojson, require_place
from doors.views.shared import today
from farm.access import FarmRequest, member
from maintenance.tasks import make_farm_file
from maintenance.wholefarm import asked
from maintenance.wholefarm.errors import FarmFileError


@member("manager")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def farm_file(request: FarmRequest) -> HttpResponse:
    """Show how it stands with the farm's file; have it made, or dropped."""
    if request.method == "POST":
        if request.POST.get("do") == "drop":
            asked.drop(farm_id=request.farm.pk)
            messages.success(request, _("The file is removed from this server."))
        else:
            _ask(request)
        return redirect("farm-file", request.farm.slug)
    return _page(request)


@member("manager")
@never_cache
@require_safe
def farm_file_fetch(request: FarmRequest) -> HttpResponseBase:
    """Give the file; where there is none, its page."""
    standing = asked.standing_of(farm_id=request.farm.pk, now=timezone.now())
    if standing.file is None:
        return _page(request)
    name = f"{request.farm.slug}-{today(request.farm)}.zip"
    return FileResponse(
        standing.file.open("rb"), as_attachment=True, filename=name, content_type="application/zip",
        headers={"X-Content-Type-Options": "nosniff"},
    )  # fmt: skip


@member("viewer")
@require_safe
def plan_geojson(request: FarmRequest) -> HttpResponse:
    """Give the plan as GeoJSON; where the farm's place is not known, say what to write."""
    try:
        require_place(request.farm)
    except NoPlaceError as error:
        context = {"what": _("Plan as GeoJSON"), "reason": str(error)}
        return render(request, "maintenance/plan_without_place.html", context)
    content = json.dumps(plan_as_geojson(request.farm), ensure_ascii=False)
    name = f"plan-{request.farm.slug}-{today(request.farm)}.geojson"
    return HttpResponse(
        content, content_type=MEDIA_TYPE,
        headers={"Content-Disposition": f'attachment; filename="{name}"', "X-Content-Type-Options": "nosniff"},
    )  # fmt: skip


def _ask(request: FarmRequest) -> None:
    if asked.standing_of(farm_id=request.farm.pk, now=timezone.now()).is_being_made:
        return  # pressed twice
    try:
        asked.note_asked(farm_id=request.farm.pk)
        make_farm_file.delay(farm_id=request.farm.pk)
    except (FarmFileError, CeleryError, KombuError, OSError):
        asked.drop(farm_id=request.farm.pk)
        messages.error(request, _("The file cannot be made: the worker does not answer. Try again in a minute."))


def _page(request: FarmRequest) -> HttpResponse:
    standing = asked.standing_of(farm_id=request.farm.pk, now=timezone.now())
    context = {
        "what": _("Take the farm along"), "standing": standing, "megabytes": standing.size / 1e6,
        "days": asked.KEPT_FOR.days,
    }  # fmt: skip
    is_part = bool(getattr(request, "htmx", False))
    return render(request, "maintenance/_farm_file.html" if is_part else "maintenance/farm_file.html", context)
