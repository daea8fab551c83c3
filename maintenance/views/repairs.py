"""Faults: found, mended for good or for now, opened again; and those that come back."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from doors.models import Component
from doors.places import place_key
from doors.views.lists import Action, list_page
from doors.views.shared import form_page, posted, today
from farm.access import FarmRequest, member
from farm.models import EndWall, Opening, Tunnel
from maintenance.models import Job, Repair
from maintenance.views.jobs import user_of, worked
from maintenance.words.places import place_code, place_of
from maintenance.work import faults, holding, jobcard
from maintenance.work.closing import WorkError
from maintenance.work.faultfilter import RepairFilter, totals_of
from maintenance.work.faultforms import FaultForm, MendForm
from maintenance.work.faulttables import REPAIRS, RepairTable, repairs_for_table, state_html
from maintenance.work.pictures import pictures_of_repair, voices_of_repair
from maintenance.work.repeating import repeat_counts

GET_AND_POST = ["GET", "HEAD", "POST"]


@member("viewer")
@require_safe
def repair_list(request: FarmRequest) -> HttpResponse:
    """Show the faults that are not repaired, or any others asked for."""
    farm = request.farm
    again = repeat_counts(farm=farm, on=today(farm))
    rows = repairs_for_table(Repair.objects.of(farm), again)
    chosen = RepairFilter(request.GET, queryset=rows, farm=farm, repeats=again)
    actions = [
        Action(_("Report a fault"), reverse("repair-new", args=[farm.slug])),
        Action(_("What comes back"), reverse("repeats", args=[farm.slug])),
    ]
    table = RepairTable(chosen.qs, farm=farm)
    return list_page(
        request, chosen, table, REPAIRS, what=_("Faults and repairs"), actions=actions, totals=totals_of(chosen),
        summary="maintenance/_repair_totals.html",
    )  # fmt: skip


@member("crew")
@require_http_methods(GET_AND_POST)
def repair_new(request: FarmRequest) -> HttpResponse:
    """Report a fault; a link can say where and at which part."""
    farm, day = request.farm, today(request.farm)
    part = _part(request)
    proposed = {"place": _place(request, part)}
    if part is not None:
        proposed |= {"part": part.kind, "spot": part.spot}
    form = FaultForm(posted(request), farm=farm, today=day, part_in_service=part, initial=proposed)
    if form.is_valid():
        answer = {name: value for name, value in form.cleaned_data.items() if name != "place"}
        logged: list[Repair] = []
        place, by = form.chosen_place, user_of(request)
        if worked(form, lambda: logged.append(
            faults.log_fault(farm=farm, place=place, by=by, now=timezone.now(), **answer)
        )):  # fmt: skip
            messages.success(request, _("%(fault)s: the job to repair it is on the list.") % {"fault": logged[0]})
            return redirect("repair", farm.slug, logged[0].pk)
    return form_page(
        request, form, what=_("Report a fault"), submit=_("Report it"), back=reverse("repairs", args=[farm.slug])
    )


@member("viewer")
@require_safe
def repair(request: FarmRequest, pk: int) -> HttpResponse:
    """Show a fault, and what was done about it."""
    return _sheet(request, _repair(request, pk))


@member("crew")
@require_http_methods(GET_AND_POST)
def repair_mend(request: FarmRequest, pk: int) -> HttpResponse:
    """Keep what was done about a fault: repaired, or held for now."""
    found = _repair(request, pk)
    if found.state == Repair.State.DONE:
        return redirect("repair", request.farm.slug, pk)
    form = _mend_form(request, found)
    if form.is_valid():
        answer: dict[str, Any] = {
            name: form.cleaned_data[name] for name in ("on", "minutes", "cause", "mended_by", "note")
        }
        by, for_now, parts = user_of(request), "for_now" in request.POST, form.parts_used
        if worked(form, lambda: faults.mend(
            repair=found, by=by, now=timezone.now(), for_now=for_now, parts=parts, **answer
        )):  # fmt: skip
            said = _("%(fault)s holds for now.") if for_now else _("%(fault)s is repaired.")
            messages.success(request, said % {"fault": found})
            return redirect("repair", request.farm.slug, pk)
    return _sheet(request, _repair(request, pk), form)


@member("crew")
@require_POST
def repair_reopen(request: FarmRequest, pk: int) -> HttpResponse:
    """Let a fault that held for now stand open again, or take back that it held where that was a mistake."""
    found = _repair(request, pk)
    change = holding.undo_hold if "mistake" in request.POST else faults.reopen
    try:
        change(repair=found, by=user_of(request), now=timezone.now())
    except WorkError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, _("%(fault)s is open again.") % {"fault": found})
    return redirect("repair", request.farm.slug, pk)


@member("viewer")
@require_safe
def repeat_list(request: FarmRequest) -> HttpResponse:
    """Show where the same part failed three times within 24 months."""
    found = faults.repeats(farm=request.farm, on=today(request.farm))
    rows = [(place_code(_placed(each.row)), each) for each in found]
    return render(request, "maintenance/repeats.html", {"what": _("What comes back"), "rows": rows})


def _sheet(request: FarmRequest, found: Repair, form: MendForm | None = None) -> HttpResponse:
    job = Job.objects.of(request.farm).filter(pk=found.job_id).select_related("farm").first() if found.job_id else None
    context = {
        "what": str(found), "where": place_of(found), "repair": found, "state": state_html(found), "job": job,
        "form": form or _mend_form(request, found),
        "history": jobcard.history_of(job) if job else [], "used": jobcard.used_parts(job) if job else [],
        "repeat": _repeat_of(request, found), "pictures": pictures_of_repair(found),
        "can_undo_hold": holding.last_hold(found) is not None,
        "voices": voices_of_repair(found), "is_ended": found.state != Repair.State.OPEN,
        "add_url": reverse("repair-photo", args=[request.farm.slug, found.pk]),
    }  # fmt: skip
    refused = form is not None and bool(form.errors)
    return render(request, "maintenance/repair.html", context, status=422 if refused else 200)


def _mend_form(request: FarmRequest, found: Repair) -> MendForm:
    is_sent = request.method == "POST" and request.resolver_match and request.resolver_match.url_name == "repair-mend"
    return MendForm(
        request.POST if is_sent else None, today=today(request.farm), materials=jobcard.book_of(request.farm),
        initial={"cause": found.cause},
    )  # fmt: skip


def _repeat_of(request: FarmRequest, found: Repair) -> faults.Repeat | None:
    """Return the repeat that a fault is part of, where it is one."""
    repeats = faults.repeats(farm=request.farm, on=today(request.farm))
    is_of = (each for each in repeats if any(failure.repair == found for failure in each.failures))
    return next(is_of, None)


def _placed(row: Any) -> Any:
    """Return the row that says where a failure was: the fault itself, or the part of a screw check that knows it."""
    return row if isinstance(row, Repair) else Repair(opening=row.opening, spot=row.spot)


def _repair(request: FarmRequest, pk: int) -> Repair:
    rows = Repair.objects.of(request.farm).for_list().select_related("farm", "job__plan__routine", "job__farm")
    return get_object_or_404(rows, pk=pk)


def _part(request: FarmRequest) -> Component | None:
    """Return the part in service that a link names."""
    pk = _number(request.GET.get("component", ""))
    return get_object_or_404(Component.objects.of(request.farm).for_list(), pk=pk) if pk else None


def _place(request: FarmRequest, part: Component | None) -> str:
    """Return the place that a link names, as the form's choice; another farm's is not found."""
    if part is not None:
        return place_key(part)
    models: dict[str, tuple[str, Any]] = {
        "opening": ("opening", Opening), "wall": ("wall", EndWall), "tunnel": ("tunnel", Tunnel)
    }  # fmt: skip
    for name, (key, model) in models.items():
        if pk := _number(request.GET.get(name, "")):
            return f"{key}-{get_object_or_404(model.objects.of(request.farm), pk=pk).pk}"
    return ""


def _number(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 19 else None
