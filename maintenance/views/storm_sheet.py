"""Before the wind, one person's sheet: what to shut in which order, and what is said of each task."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from farm.access import FarmRequest, member
from farm.models import Membership
from farm.units import format_gust
from maintenance.blow.rules import rules_of
from maintenance.hands import ticking
from maintenance.hands.forms import CannotForm, DoneForm, PhotoForm
from maintenance.hands.photos import PhotoError, bytes_of, keep_photo
from maintenance.hands.sheet import may_say, sheet_of
from maintenance.hands.texts import what_of, where_of
from maintenance.hands.ticking import TickError
from maintenance.messages.contacts import language_of
from maintenance.models import Photo, Storm, StormTask
from maintenance.views.jobs import is_manager, user_of
from maintenance.words.said import person


@member("viewer")
@require_safe
def storm_sheet(request: FarmRequest, pk: int) -> HttpResponse:
    """Show what one person has to do before a storm: one's own, or somebody else's."""
    storm = get_object_or_404(Storm.objects.of(request.farm).select_related("farm"), pk=pk)
    whose = _whose(request)
    language = language_of(whose)
    sheet = sheet_of(
        storm=storm, whose=whose.user, reader=user_of(request), is_manager=is_manager(request), language=language
    )
    others = Membership.objects.of(request.farm).filter(role__in=("crew", "manager"), user__is_active=True)
    stay_out = rules_of(request.farm).levels.stay_out
    context = {
        "what": _("Storm sheet"), "storm": storm, "sheet": sheet, "whose": whose, "name": person(whose.user),
        "is_mine": whose.user_id == request.user.pk, "cannot": CannotForm(auto_id=False),
        "people": [(one.pk, person(one.user)) for one in others.select_related("user").order_by("user__first_name")],
        "stay_out": format_gust(stay_out, request.farm.units), "spanish_first": language.startswith("es"),
        "is_ahead": storm.state in ticking.AHEAD, "is_manager": is_manager(request),
    }  # fmt: skip
    return render(request, "maintenance/storm_sheet.html", context)


@member("crew")
@require_POST
def storm_task(request: FarmRequest, pk: int, task_pk: int) -> HttpResponse:
    """Take what somebody says of a task: done, cannot be done, not so after all, looked at, or a picture of it."""
    tasks = StormTask.objects.for_list().select_related("storm__farm", "assigned_to", "second")
    task = get_object_or_404(tasks, pk=task_pk, storm_id=pk, storm__farm=request.farm)
    action = ACTIONS.get(request.POST.get("action", ""))
    if action is None:
        messages.error(request, _("That is not something to say of a task. Choose one of its buttons."))
    else:
        try:
            action(request, task)
        except (TickError, PhotoError) as error:
            messages.error(request, str(error))
    whose = request.POST.get("person", "")
    query = f"?person={whose}" if whose.isascii() and whose.isdecimal() else ""
    return redirect(f"{reverse('storm-sheet', args=[request.farm.slug, pk])}{query}#todo")


@member("viewer")
@require_safe
def photo(request: FarmRequest, pk: int) -> HttpResponse:
    """Serve a picture of the farm, to its members only."""
    found = get_object_or_404(Photo, farm=request.farm, pk=pk)
    try:
        data = bytes_of(found, is_small="small" in request.GET)
    except FileNotFoundError:
        return HttpResponse(_("The picture's file is gone from this machine."), status=410, content_type="text/plain")
    return HttpResponse(
        data,
        content_type="image/jpeg",
        headers={
            "Cache-Control": "private, max-age=86400",
            "X-Content-Type-Options": "nosniff",
            "Content-Disposition": f'inline; filename="picture-{found.pk}.jpg"',
        },
    )


def _whose(request: FarmRequest) -> Membership:
    wanted = request.GET.get("person", "")
    if not wanted:
        return request.membership
    number = int(wanted) if wanted.isascii() and wanted.isdecimal() and len(wanted) < 10 else 0
    return get_object_or_404(Membership.objects.of(request.farm).select_related("user", "farm"), pk=number)


def _done(request: FarmRequest, task: StormTask) -> None:
    _require_own(request, task)
    form = DoneForm(request.POST)
    if not form.is_valid():
        raise TickError(_("Minutes are a number from 0 to %(most)s.") % {"most": ticking.MOST_MINUTES})
    ticking.tick(task=task, by=user_of(request), now=timezone.now(), minutes=form.cleaned_data["minutes"])
    messages.success(request, _("%(place)s: %(what)s. Done.") % {"place": where_of(task), "what": what_of(task)})
    if "photo" in request.FILES:
        _photo(request, task)


def _cannot(request: FarmRequest, task: StormTask) -> None:
    _require_own(request, task)
    form = CannotForm(request.POST)
    if not form.is_valid():
        raise TickError(_("Choose why it cannot be done, and say it in at most 200 letters."))
    reason = form.reason(request.farm.language)
    ticking.cannot(task=task, by=user_of(request), now=timezone.now(), reason=reason)
    said = {"place": where_of(task)}
    messages.success(request, _("%(place)s cannot be done: your managers are told now.") % said)


def _take_back(request: FarmRequest, task: StormTask) -> None:
    if not is_manager(request) and task.done_by_id != request.user.pk:
        raise TickError(
            _("%(who)s said that. Only they or a manager can take it back.") % {"who": person(task.done_by)}
        )
    ticking.take_back(task=task, now=timezone.now(), by=user_of(request))
    messages.success(request, _("%(place)s is to do again.") % {"place": where_of(task)})


def _checked(request: FarmRequest, task: StormTask) -> None:
    ticking.check_round(task=task, by=user_of(request), now=timezone.now())
    messages.success(request, _("%(place)s: looked at by a second person.") % {"place": where_of(task)})


def _photo(request: FarmRequest, task: StormTask) -> None:
    form = PhotoForm(request.POST, request.FILES)
    if not form.is_valid():
        raise PhotoError(_("Choose a picture first; an empty file is none."))
    upload = form.cleaned_data["photo"]
    keep_photo(
        farm=request.farm, upload=upload, by=user_of(request), now=timezone.now(), storm=task.storm, task=task,
        caption=f"{where_of(task)}: {what_of(task)}",
    )  # fmt: skip
    messages.success(request, _("The picture is kept."))


def _require_own(request: FarmRequest, task: StormTask) -> None:
    if not may_say(task, user_of(request), is_manager=is_manager(request)):
        raise PermissionDenied("This task is somebody else's.")


ACTIONS: Final[dict[str, Callable[[FarmRequest, StormTask], None]]] = {
    "done": _done, "cannot": _cannot, "take-back": _take_back, "checked": _checked, "photo": _photo,
}  # fmt: skip
