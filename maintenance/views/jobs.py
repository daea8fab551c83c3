"""The work: what is due, a job's card, and what people do with a job."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any, Final

from django import forms
from django.contrib import messages
from django.contrib.auth.models import User
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from doors.views.lists import FORMATS, file_response
from doors.views.shared import posted, today
from farm.access import FarmRequest, member
from farm.models import Membership, Tunnel
from maintenance.models import Job
from maintenance.querysets import JobQuerySet
from maintenance.words.conditions import cautions, conditions
from maintenance.words.places import place_of_job, repair_of
from maintenance.words.said import lines_in_units, said_in_units
from maintenance.work import jobcard, working
from maintenance.work.duefile import DUE, due_rows
from maintenance.work.pictures import pictures_of_job, voices_of_job
from maintenance.work.undoing import last_change
from maintenance.work.workforms import AssignForm, DoneForm, DueFilter, PutOffForm, SkipForm
from maintenance.work.working import WorkError
from maintenance.work.worklist import RHYTHMS, Group, Row, due_sections, next_due_on, people_who_can, row_of, what_of

GET_AND_POST = ["GET", "HEAD", "POST"]
GROUPS: Final[dict[str, Group]] = {"week": "week", "place": "place", "person": "person"}
MOST_PAGES: Final = 10**6


@member("viewer")
@require_safe
def due(request: FarmRequest) -> HttpResponse:
    """Show what is due: after weather, by date or age, and the daily round; ``?export=csv`` or ``xlsx`` is a file."""
    farm, day = request.farm, today(request.farm)
    people = people_who_can(farm)
    tunnels = Tunnel.objects.of(farm).standing().for_list().values_list("pk", "code")
    chosen = DueFilter(request.GET, tunnels=tunnels, people=people)
    group = GROUPS.get(request.GET.get("group", ""), "week")
    jobs = _narrowed(Job.objects.of(farm).undone(), chosen, request)
    rhythm = chosen.cleaned_data.get("rhythm") if chosen.is_valid() else ""
    if wanted := FORMATS.get(request.GET.get("export", "")):
        return file_response(farm, DUE, due_rows(jobs, rhythm=rhythm or "", on=day, units=farm.units), wanted)
    sections = due_sections(
        jobs=jobs, on=day, units=farm.units, group=group, rhythms=[rhythm] if rhythm else RHYTHMS,
        pages={rhythm: _page(request, f"{rhythm}_page") for rhythm in RHYTHMS},
    )  # fmt: skip
    count = sum(section.total.jobs for section in sections)
    context = {
        "what": _("What is due"), "form": chosen, "sections": sections, "group": group, "count": count, "day": day,
        "late": sum(section.total.late for section in sections),
        "hours": sum(section.total.hours for section in sections),
        "is_narrowed": any(request.GET.get(name) for name in ("tunnel", "who", "rhythm")),
        "next_due_on": None if count else next_due_on(farm), "mine": request.user.pk,
    }  # fmt: skip
    return render(request, "maintenance/due.html", context)


@member("viewer")
@require_safe
def job(request: FarmRequest, pk: int) -> HttpResponse:
    """Show a job's card."""
    return card(request, load_job(request, pk))


@member("crew")
@require_http_methods(GET_AND_POST)
def job_done(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask what a finished job's routine asks, and keep the answers; a refused form comes back with all of them."""
    found = load_job(request, pk)
    if found.state not in (Job.State.OPEN, Job.State.STARTED):
        return redirect("job", request.farm.slug, pk)
    form = _done_form(request, found)
    if form.is_valid() and isinstance(form, DoneForm):
        answer = form.cleaned_data
        given: dict[str, Any] = {
            "on": answer["on"], "minutes": answer["minutes"], "ticks": answer["ticks"], "note": answer["note"],
            "parts": form.parts_used, "outcomes": form.outcomes, "replacement": form.replacement,
        }  # fmt: skip
        if worked(form, lambda: working.finish(job=found, by=user_of(request), now=timezone.now(), **given)):
            messages.success(request, done_words(request, found))
            return redirect("due", request.farm.slug)
    return card(request, found, done=form)


def card(request: FarmRequest, found: Job, **forms_: forms.Form) -> HttpResponse:
    """Show a job's card; a form that came back with errors stands in it as it was filled in."""
    refused = any(form.is_bound and form.errors for form in forms_.values())
    found = load_job(request, found.pk) if refused else found  # what was refused has left its marks on the row
    farm, day, units, routine = request.farm, today(request.farm), request.farm.units, found.plan.routine
    last = last_change(found)
    is_undone = found.state in (Job.State.OPEN, Job.State.STARTED)
    drawing, sheet = jobcard.drawing_of(found, units)
    materials = jobcard.book_of(farm)
    is_own = is_manager(request) or found.assigned_to_id in (None, request.user.pk)
    may_log = request.membership.role != Membership.Role.VIEWER
    people = people_who_can(farm) if is_manager(request) and is_undone else []
    given = {"materials": materials, "sheet": sheet} if is_undone and may_log and "done" not in forms_ else None
    lines = lines_in_units(routine.checklist, units)
    context: dict[str, Any] = {
        "what": what_of(found, units), "where": place_of_job(found), "job": found, "day": day,
        "row": row_of(found, day, units), "routine": routine, "repair": repair_of(found),
        "why_routine": said_in_units(routine.why, units),
        "lines": list(enumerate(lines)), "tools": lines_in_units(routine.tools, units), "elevation": drawing,
        "part_lines": jobcard.part_lines(routine, materials), "conditions": conditions(routine, units),
        "cautions": cautions(found, units), "history": jobcard.history_of(found), "used": jobcard.used_parts(found),
        "screws": jobcard.checked_screws(found), "is_undone": is_undone, "is_own": is_own, "last": last,
        "waits_for": _rows(found.waits_for.all(), day, units),
        "holds_up": _rows(found.holds_up.all(), day, units),
        "is_mine_to_undo": last is not None and (last.by_id == request.user.pk or is_manager(request)),
        "done": forms_.get("done") or (_done_form(request, found, **given) if given else None),
        "assign": forms_.get("assign") or AssignForm(people=people, initial={"to": found.assigned_to_id}),
        "skip": forms_.get("skip") or SkipForm(), "later": forms_.get("later") or PutOffForm(), "people": people,
        "pictures": pictures_of_job(found), "voices": voices_of_job(found), "is_ended": not is_undone,
        "add_url": reverse("job-photo", args=[farm.slug, found.pk]),
        "refused": next((name for name, form in forms_.items() if form.errors), ""),
    }  # fmt: skip
    return render(request, "maintenance/job.html", context, status=422 if refused else 200)


def _done_form(request: FarmRequest, found: Job, materials: Any = None, sheet: Any = None) -> DoneForm:
    if materials is None:
        materials, sheet = jobcard.book_of(request.farm), jobcard.drawing_of(found, request.farm.units)[1]
    return DoneForm(
        posted(request) if request.resolver_match and request.resolver_match.url_name == "job-done" else None,
        job=found, today=today(request.farm), materials=materials, spots=jobcard.screw_spots(found, sheet),
        lines=lines_in_units(found.plan.routine.checklist, request.farm.units),
    )  # fmt: skip


def worked(form: forms.Form, work: Callable[[], object]) -> bool:
    """Do what a form asks; what cannot be is said in the form, which keeps what was written."""
    try:
        work()
    except WorkError as error:
        form.add_error(None, str(error))
        return False
    return True


def done_words(request: FarmRequest, found: Job) -> str:
    """Return that a job is done, with the way to take that back."""
    return format_html(
        '{} <a href="{}">{}</a>',
        _("%(place)s: %(what)s. Done.") % {"place": place_of_job(found), "what": what_of(found, request.farm.units)},
        reverse("job", args=[request.farm.slug, found.pk]), _("Look at it, or take it back"),
    )  # fmt: skip


def _narrowed(jobs: JobQuerySet, chosen: DueFilter, request: FarmRequest) -> JobQuerySet:
    """Return the jobs a reader asked for; a choice that is none of ours narrows nothing."""
    chosen.is_valid()
    tunnel, who = chosen.cleaned_data.get("tunnel"), chosen.cleaned_data.get("who")
    jobs = jobs.filter(plan__tunnel=tunnel) if tunnel else jobs
    if who:
        jobs = jobs.filter(assigned_to={"me": request.user.pk, "nobody": None}.get(who, who))
    return jobs


def load_job(request: FarmRequest, pk: int) -> Job:
    return get_object_or_404(Job.objects.of(request.farm).for_list().select_related("farm"), pk=pk)


def _rows(jobs: JobQuerySet, day: date, units: str) -> list[Row]:
    return [row_of(each, day, units) for each in jobs.undone().for_list().order_by("until_on", "pk")]


def _page(request: FarmRequest, name: str) -> int:
    text = request.GET.get(name, "")
    return min(int(text), MOST_PAGES) if text.isascii() and text.isdecimal() and len(text) < 8 else 1


def is_manager(request: FarmRequest) -> bool:
    return request.membership.role == Membership.Role.MANAGER


def user_of(request: FarmRequest) -> User:
    assert isinstance(request.user, User)  # noqa: S101 - a member is logged in
    return request.user
