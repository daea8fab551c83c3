"""The page that a message's link opens: its person answers without a log-in."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import require_http_methods

from doors.views.shared import today
from maintenance.messages.answering import (
    DEEDS,
    LinkClosedError,
    answer,
    can_finish_here,
    can_wait,
    jobs_of,
    note_seen,
    reminder_of,
)
from maintenance.messages.contacts import reading_as, units_of
from maintenance.messages.whose import may_act
from maintenance.models import Job, Reminder
from maintenance.querysets import UNDONE
from maintenance.words.letters import short_place
from maintenance.words.reasons import lateness, why
from maintenance.words.said import lines_in_units, person, plan_name
from maintenance.work.working import WorkError

MOST_CARDS = 60


@login_not_required
@never_cache
@sensitive_variables("token")
@require_http_methods(["GET", "HEAD", "POST"])
def close_loop(request: HttpRequest, token: str) -> HttpResponse:
    """Show the jobs of a message with what its person may do; only a button does it, never the link itself."""
    now = timezone.now()
    try:
        reminder = reminder_of(token, now)
    except LinkClosedError:
        return render(request, "maintenance/answer_closed.html", {"what": _("Answer")}, status=410)
    on = today(reminder.farm)
    with reading_as(reminder.membership):
        if request.method != "POST":
            return _page(request, reminder, on)
        _do(request, reminder, now, on)
        return redirect("close-loop", token)


def _do(request: HttpRequest, reminder: Reminder, now: datetime, on: date) -> None:
    """Do what a button says; whoever answers has read the message."""
    deed = request.POST.get("do", "")
    if deed == "seen":
        note_seen(reminder=reminder, now=now)
        messages.success(request, _("Thank you: it is noted that you have seen it."))
        return
    if deed not in DEEDS or not may_act(reminder.membership):
        raise Http404("There is no such button on this page.")
    number = request.POST.get("job", "")
    job = jobs_of(reminder, on).filter(pk=int(number) if number.isascii() and number.isdecimal() else 0).first()
    if job is None:
        messages.error(request, _("That job is no longer yours, or somebody has ended it."))
        return
    try:
        answer(reminder=reminder, job=job, deed=deed, now=now, on=on)
    except WorkError as error:
        messages.error(request, str(error))
        return
    note_seen(reminder=reminder, now=now)
    said = {"done": _("%(job)s: done."), "take": _("%(job)s: you have it."), "later": _("%(job)s: until tomorrow.")}
    name = f"{short_place(job)}, {plan_name(job.plan, units_of(reminder.membership))}"
    messages.success(request, said[deed] % {"job": name})


def _page(request: HttpRequest, reminder: Reminder, on: date) -> HttpResponse:
    jobs = list(jobs_of(reminder, on)[: MOST_CARDS + 1])
    context = {
        "what": reminder.subject,
        "where": reminder.farm.name,
        "reader": person(reminder.membership.user),
        "reminder": reminder,
        "farm_slug": reminder.farm.slug,
        "is_digest": reminder.kind == Reminder.Kind.DIGEST,
        "cards": [_card(job, reminder, on) for job in jobs[:MOST_CARDS]],
        "has_more": len(jobs) > MOST_CARDS,
    }
    return render(request, "maintenance/answer.html", context)


def _card(job: Job, reminder: Reminder, on: date) -> dict[str, Any]:
    """Return a job as its card prints it, with the buttons its person may press."""
    membership, is_undone = reminder.membership, job.state in UNDONE
    units, acts = units_of(membership), is_undone and may_act(membership)
    return {
        "job": job,
        "name": plan_name(job.plan, units),
        "place": short_place(job),
        "standing": lateness(job, on) if is_undone else job.get_state_display(),
        "why": why(job, on, units),
        "checklist": lines_in_units(job.plan.routine.checklist, units),
        "is_mine": job.assigned_to_id == membership.user_id,
        "can_finish": acts and can_finish_here(job),
        "asks_more": acts and not can_finish_here(job),
        "can_take": acts and job.assigned_to_id != membership.user_id,
        "can_wait": acts and can_wait(job, on),
    }
