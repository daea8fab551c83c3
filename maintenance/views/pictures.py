"""Pictures and recordings of faults and jobs: added at the desk, looked at, listened to, removed."""

from __future__ import annotations

import re
from typing import Any, Final

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import Model
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from farm.access import FarmRequest, member
from maintenance.hands.photos import PhotoError, keep_photo, remove_photo
from maintenance.models import Job, Photo, Repair, VoiceNote
from maintenance.views.jobs import is_manager, load_job, user_of
from maintenance.words.places import place_of, place_of_job
from maintenance.work.worklist import what_of

MOST_AT_ONCE: Final = 8
RANGE: Final = re.compile(r"bytes=(\d{0,12})-(\d{0,12})", re.ASCII)


class MomentForm(forms.Form):
    """When the pictures were taken; what is in the files is looked at where they are kept."""

    moment = forms.ChoiceField(choices=[("", "neither"), *Photo.Moment.choices], required=False)


@member("crew")
@require_POST
def repair_photo(request: FarmRequest, pk: int) -> HttpResponse:
    """Keep pictures of a fault: before or after its repair."""
    found = get_object_or_404(Repair.objects.of(request.farm).for_list(), pk=pk)
    _keep(request, {"repair": found}, f"{place_of(found)}: {found.get_mode_display()}")
    return redirect("repair", request.farm.slug, pk)


@member("crew")
@require_POST
def job_photo(request: FarmRequest, pk: int) -> HttpResponse:
    """Keep pictures of a job: before or after it was done."""
    found: Job = load_job(request, pk)
    _keep(request, {"job": found}, f"{place_of_job(found)}: {what_of(found, request.farm.units)}")
    return redirect("job", request.farm.slug, pk)


@member("crew")
@require_POST
def photo_remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Remove a picture that one took oneself, or as a manager any; those of a storm are evidence and stay."""
    found = get_object_or_404(Photo.objects.select_related("job", "repair"), farm=request.farm, pk=pk)
    if not is_manager(request) and found.by_id != request.user.pk:
        raise PermissionDenied("This picture is somebody else's.")
    back = ("repair", found.repair_id) if found.repair_id else ("job", found.job_id)
    if found.storm_id or back[1] is None:
        messages.error(request, _("This picture belongs to a storm: what its event file shows is not removed."))
    else:
        remove_photo(photo=found)
        messages.success(request, _("The picture is removed."))
    if back[1] is None:
        return redirect("repairs", request.farm.slug)
    return redirect(back[0], request.farm.slug, back[1])


@member("viewer")
@require_safe
def voice(request: FarmRequest, pk: int) -> HttpResponse:
    """Serve a recording to the farm's members; players ask for a part of it at a time (RFC 9110, 14.2)."""
    found = get_object_or_404(VoiceNote, farm=request.farm, pk=pk)
    try:
        with found.file.open("rb") as file:
            data = bytes(file.read())
    except FileNotFoundError:
        return HttpResponse(_("The recording's file is gone from this machine."), status=410, content_type="text/plain")
    headers = {
        "Accept-Ranges": "bytes", "Cache-Control": "private, max-age=86400", "X-Content-Type-Options": "nosniff",
        "Content-Disposition": f'inline; filename="voice-{found.pk}"',
    }  # fmt: skip
    wanted = _part(request.headers.get("Range", ""), len(data))
    if wanted is None:
        return HttpResponse(data, content_type=found.media_type, headers=headers)
    first, last = wanted
    headers["Content-Range"] = f"bytes {first}-{last}/{len(data)}"
    return HttpResponse(data[first : last + 1], status=206, content_type=found.media_type, headers=headers)


def _part(text: str, size: int) -> tuple[int, int] | None:
    """Return the first and last byte that a range asks for; None for the whole, also where it cannot be met."""
    found = RANGE.fullmatch(text)
    if found is None or not any(found.groups()):
        return None
    if not found[1]:  # the last so many
        first, last = max(0, size - int(found[2])), size - 1
    else:
        first, last = int(found[1]), min(int(found[2] or size - 1), size - 1)
    return (first, last) if 0 <= first <= last else None


def _keep(request: FarmRequest, about: dict[str, Model], caption: str) -> None:
    """Keep what was sent, each picture for itself: one that cannot be read does not cost the others."""
    form = MomentForm(request.POST)
    uploads = request.FILES.getlist("photo")
    moment = form.cleaned_data["moment"] if form.is_valid() else None
    if moment is None:
        messages.error(request, _("Choose whether the pictures were taken before or after the repair."))
        return
    if not uploads:
        messages.error(request, _("Choose a picture first; an empty file is none."))
    if len(uploads) > MOST_AT_ONCE:
        messages.error(request, _("At most %(most)d pictures go at once; the first of them are kept.")
                       % {"most": MOST_AT_ONCE})  # fmt: skip
    given: dict[str, Any] = {**about, "moment": moment, "caption": caption}
    kept = 0
    for upload in uploads[:MOST_AT_ONCE]:
        try:
            keep_photo(farm=request.farm, upload=upload, by=user_of(request), now=timezone.now(), **given)
        except PhotoError as error:
            messages.error(request, f"{upload.name}: {error}")
        else:
            kept += 1
    if kept:
        messages.success(
            request, ngettext("The picture is kept.", "%(count)d pictures are kept.", kept) % {"count": kept}
        )
