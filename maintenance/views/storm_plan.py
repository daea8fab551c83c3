"""Before the wind, for the manager: who does what in which order, the film, and opening again."""

from __future__ import annotations

from typing import Any, Final

from django.contrib import messages
from django.contrib.auth.models import User
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from doors.views.shared import posted
from farm.access import FarmRequest, member
from farm.models import Tunnel
from maintenance.blow.rules import rules_of
from maintenance.hands import film, placing, reopening
from maintenance.hands.forms import FilmForm, ReopenForm
from maintenance.hands.people import workers_of
from maintenance.hands.placing import PlacingError
from maintenance.hands.plan import weight_of, write_plan
from maintenance.hands.texts import what_of, where_of
from maintenance.models import Reopening, Storm, StormTask
from maintenance.views.jobs import is_manager, user_of
from maintenance.words.said import person
from maintenance.work.worklist import people_who_can

GET_AND_POST: Final = ["GET", "HEAD", "POST"]
State = StormTask.State


@member("manager")
@require_http_methods(GET_AND_POST)
def storm_plan(request: FarmRequest, pk: int) -> HttpResponse:
    """Show everybody's tasks in their order, and place them by hand."""
    storm = _storm(request, pk)
    if request.method == "POST":
        try:
            _place(request, storm)
        except PlacingError as error:
            messages.error(request, str(error))
        return redirect("storm-plan", request.farm.slug, pk)
    tasks = storm.tasks.for_list().select_related("repair__opening", "repair__end_wall__tunnel", "repair__tunnel")
    weights = rules_of(request.farm).weights
    rows = [_row(task, weight_of(task, weights)) for task in tasks.order_by("begins_at", "position", "pk")]
    todo = [row for row in rows if row["task"].state == State.OPEN]
    here = [one.membership for one in workers_of(storm)]
    lists = [
        (one.pk, one.user_id, person(one.user), _ends([row for row in todo if _is_of(row["task"], one.user)]))
        for one in here
    ]
    context = {
        "what": _("Who does what"), "storm": storm, "lists": lists,
        "workers": [(one.user_id, person(one.user)) for one in here],
        "left_out": [row for row in todo if row["task"].is_left_out or row["task"].assigned_to_id is None],
        "cannot": [row for row in rows if row["task"].state == State.CANNOT],
        "has_pinned": any(row["task"].is_pinned for row in todo),
    }  # fmt: skip
    return render(request, "maintenance/storm_plan.html", context)


@member("manager")
@require_http_methods(GET_AND_POST)
def storm_film(request: FarmRequest, pk: int) -> HttpResponse:
    """Write down what is decided about a tunnel's film, before anybody cuts."""
    storm = _storm(request, pk)
    tunnels = Tunnel.objects.of(request.farm).filter(status=Tunnel.Status.IN_USE).order_by("code")
    form = FilmForm(posted(request), tunnels=tunnels)
    if form.is_valid():
        try:
            film.decide(storm=storm, by=user_of(request), now=timezone.now(), **form.cleaned_data)
        except film.FilmError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _("%(tunnel)s: written down.") % {"tunnel": form.cleaned_data["tunnel"].code})
            return redirect("storm-film", request.farm.slug, pk)
    context = {
        "what": _("The film before a storm"), "storm": storm, "form": form, "is_open": storm.state in film.OPEN,
        "decisions": [(one, person(one.by)) for one in film.decisions_of(storm)],
    }  # fmt: skip
    return render(request, "maintenance/storm_film.html", context, status=422 if form.is_bound else 200)


@member("crew")
@require_http_methods(GET_AND_POST)
def storm_reopen(request: FarmRequest, pk: int) -> HttpResponse:
    """Show which closed tunnels are to be opened again, when and by whom; tick them, and name another owner."""
    storm = _storm(request, pk)
    refused: dict[int, ReopenForm] = {}
    if request.method == "POST":
        found = get_object_or_404(storm.reopenings.select_related("tunnel"), pk=_number(request, "reopening"))
        try:
            refused = _change(request, found)
        except reopening.ReopeningError as error:
            messages.error(request, str(error))
        if not refused:
            return redirect("storm-reopen", request.farm.slug, pk)
    people = User.objects.filter(pk__in=[one.pk for one in people_who_can(request.farm)])
    rows = [
        (one, person(one.owner) if one.owner else "", person(one.done_by), refused.get(one.pk) or ReopenForm(
            people=people, auto_id=f"id_{one.pk}_%s", initial={"owner": one.owner_id, "due_at": one.due_at}))
        for one in storm.reopenings.select_related("tunnel", "owner", "done_by").order_by("due_at", "tunnel__code")
    ]  # fmt: skip
    context = {
        "what": _("Open again"), "storm": storm, "rows": rows, "is_manager": is_manager(request), "now": timezone.now(),
        "is_over": storm.state in reopening.OVER,
    }  # fmt: skip
    return render(request, "maintenance/storm_reopen.html", context, status=422 if refused else 200)


def _storm(request: FarmRequest, pk: int) -> Storm:
    return get_object_or_404(Storm.objects.of(request.farm).select_related("farm"), pk=pk)


def _number(request: FarmRequest, name: str) -> int:
    text = request.POST.get(name, "")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0


def _place(request: FarmRequest, storm: Storm) -> None:
    action, now = request.POST.get("action", ""), timezone.now()
    if action == "release":
        placing.release(storm=storm, now=now)
        return
    if action == "again":
        write_plan(storm=storm, now=now)
        return
    tasks = StormTask.objects.for_list().select_related("storm__farm")
    task = get_object_or_404(tasks, pk=_number(request, "task"), storm=storm)
    if action in ("up", "down"):
        placing.move(task=task, up=action == "up", now=now)
    elif action in ("give", "place"):
        worker = next((one for one in people_who_can(request.farm) if one.pk == _number(request, "to")), None)
        if worker is None:
            raise PlacingError(_("Choose somebody from the list."))
        if action == "give":
            placing.give(task=task, to=worker, now=now)
        else:
            placing.place(task=task, to=worker, before=_number(request, "before"), now=now)
    else:
        raise PlacingError(_("That is not something to do with a task. Choose one of its buttons."))


def _row(task: StormTask, weight: float) -> dict[str, Any]:
    return {"task": task, "where": where_of(task), "what": what_of(task), "weight": weight, "first": False,
            "last": False, "who": person(task.assigned_to) if task.assigned_to_id else ""}  # fmt: skip


def _is_of(task: StormTask, user: User) -> bool:
    return user.pk in (task.assigned_to_id, task.second_id) and not task.is_left_out


def _ends(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Mark the first and last of a list; a task of two people stands in the lists of both."""
    return [{**row, "first": index == 0, "last": index == len(rows) - 1} for index, row in enumerate(rows)]


def _change(request: FarmRequest, found: Reopening) -> dict[int, ReopenForm]:
    """Do what a button of a closed tunnel asks; return the form where it was filled in wrongly."""
    if request.POST.get("action") == "done":
        reopening.done(reopening=found, by=user_of(request), now=timezone.now())
        messages.success(request, _("%(tunnel)s is open again.") % {"tunnel": found.tunnel.code})
        return {}
    if not is_manager(request):
        raise PermissionDenied("Only a manager names owner and time.")
    people = User.objects.filter(pk__in=[one.pk for one in people_who_can(request.farm)])
    form = ReopenForm(request.POST, people=people, auto_id=f"id_{found.pk}_%s")
    if not form.is_valid():
        return {found.pk: form}
    reopening.change(reopening=found, **form.cleaned_data)
    return {}
