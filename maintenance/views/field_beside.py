"""For managers: what phones sent that could not simply be taken, until somebody has dealt with it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from farm.access import FarmRequest, member
from maintenance.field.beside import rows_settled, rows_to_settle, settle
from maintenance.field.reading import read_key
from maintenance.models import FieldEntry


@member("manager")
@require_http_methods(["GET", "HEAD", "POST"])
def field_beside(request: FarmRequest) -> HttpResponse:
    """Show the entries that wait for a manager, and note that one is dealt with."""
    if request.method == "POST":
        key = read_key(request.POST.get("entry", ""))
        entry = get_object_or_404(FieldEntry, farm=request.farm, pk=key)
        if settle(entry=entry, now=timezone.now()):
            messages.success(request, _("It is settled. What was sent is kept below."))
        else:
            messages.info(request, _("Somebody has settled this already."))
        return redirect("field-beside", request.farm.slug)
    context = {
        "what": _("From phones"), "rows": rows_to_settle(request.farm, timezone.now()),
        "settled": rows_settled(request.farm),
    }  # fmt: skip
    return render(request, "maintenance/field_beside.html", context)
