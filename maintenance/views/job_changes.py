"""What people do with a job at the press of a button; then back to where the button was."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from doors.views.shared import today
from farm.access import FarmRequest, member
from maintenance.models import Job, Routine
from maintenance.views.jobs import card, done_words, is_manager, load_job, user_of, worked
from maintenance.words.said import person
from maintenance.work import working
from maintenance.work.undoing import last_change
from maintenance.work.workforms import AssignForm, PutOffForm, SkipForm
from maintenance.work.working import WorkError
from maintenance.work.worklist import people_who_can

SPOT: Final = re.compile(r"[a-z0-9-]{1,40}", re.ASCII)


@member("crew")
@require_POST
def job_change(request: FarmRequest, pk: int) -> HttpResponse:
    """Take, give, begin, finish with one tap, skip, put off or take back a job; then go back to where it was."""
    found = load_job(request, pk)
    action = ACTIONS.get(request.POST.get("action", ""))
    if action is None:
        messages.error(request, _("That is not something to do with a job. Choose one of its buttons."))
        return _back(request, found)
    return action(request, found)


def _take(request: FarmRequest, found: Job) -> HttpResponse:
    """Let whoever presses have the job; the crew takes no job out of another's hands."""
    user = user_of(request)
    if found.assigned_to and found.assigned_to_id != user.pk and not is_manager(request):
        messages.error(request, _("%(who)s has this job. Ask your manager.") % {"who": person(found.assigned_to)})
        return _back(request, found)
    return _tried(request, found, lambda: working.assign(job=found, to=user, by=user, now=timezone.now()))


def _give_up(request: FarmRequest, found: Job) -> HttpResponse:
    require_own(request, found)
    return _tried(request, found, lambda: working.assign(job=found, to=None, by=user_of(request), now=timezone.now()))


def _assign(request: FarmRequest, found: Job) -> HttpResponse:
    if not is_manager(request):
        raise PermissionDenied("Only a manager gives jobs to others.")
    form = AssignForm(request.POST, people=people_who_can(request.farm))
    if not form.is_valid():
        return card(request, found, assign=form)
    to, by = form.chosen, user_of(request)
    return _tried(request, found, lambda: working.assign(job=found, to=to, by=by, now=timezone.now()))


def _start(request: FarmRequest, found: Job) -> HttpResponse:
    return _tried(request, found, lambda: working.start(job=found, by=user_of(request), now=timezone.now()))


def _done(request: FarmRequest, found: Job) -> HttpResponse:
    """Finish a job that asks for nothing but that it is done."""
    if found.plan.routine.answer != Routine.Answer.DONE:
        return redirect("job-done", request.farm.slug, found.pk)
    by, on = user_of(request), today(request.farm)
    return _tried(request, found, lambda: working.finish(job=found, by=by, now=timezone.now(), on=on), is_done=True)


def _skip(request: FarmRequest, found: Job) -> HttpResponse:
    require_own(request, found)
    form, by, on = SkipForm(request.POST), user_of(request), today(request.farm)
    if form.is_valid() and worked(
        form,
        lambda: working.skip(job=found, by=by, now=timezone.now(), on=on, reason=form.cleaned_data["reason"]),
    ):
        return _back(request, found)
    return card(request, found, skip=form)


def _put_off(request: FarmRequest, found: Job) -> HttpResponse:
    require_own(request, found)
    form, by, on = PutOffForm(request.POST), user_of(request), today(request.farm)
    if form.is_valid() and worked(
        form, lambda: working.put_off(job=found, by=by, now=timezone.now(), on=on, **form.cleaned_data)
    ):
        return _back(request, found)
    return card(request, found, later=form)


def _undo(request: FarmRequest, found: Job) -> HttpResponse:
    """Take back the last thing done; the crew its own, the manager anybody's."""
    last = last_change(found)
    if last and last.by_id != request.user.pk and not is_manager(request):
        who = {"who": person(last.by)}
        messages.error(request, _("%(who)s did that. Only they or a manager can take it back.") % who)
        return _back(request, found)
    return _tried(request, found, lambda: working.take_back(job=found, by=user_of(request), now=timezone.now()))


ACTIONS: Final[dict[str, Callable[[FarmRequest, Job], HttpResponse]]] = {
    "take": _take, "give-up": _give_up, "assign": _assign, "start": _start, "done": _done, "skip": _skip,
    "put-off": _put_off, "undo": _undo,
}  # fmt: skip


def _tried(request: FarmRequest, found: Job, work: Callable[[], object], *, is_done: bool = False) -> HttpResponse:
    """Do what a button says and go back; what cannot be is said in a sentence."""
    try:
        work()
    except WorkError as error:
        messages.error(request, str(error))
    else:
        if is_done:
            messages.success(request, done_words(request, found))
    return _back(request, found)


def _back(request: FarmRequest, found: Job) -> HttpResponse:
    """Go back to the page that the button was on, to the spot that it names."""
    to, spot = request.POST.get("next", ""), request.GET.get("to", "")
    if to.startswith("/") and url_has_allowed_host_and_scheme(to, allowed_hosts=None):
        return redirect(f"{to}#{spot}" if SPOT.fullmatch(spot) else to)
    return redirect("job", request.farm.slug, found.pk)


def require_own(request: FarmRequest, found: Job) -> None:
    """Let the crew put off and skip only what is its own or nobody's."""
    if found.assigned_to_id not in (None, request.user.pk) and not is_manager(request):
        raise PermissionDenied("Only a manager puts off or skips another person's job.")
