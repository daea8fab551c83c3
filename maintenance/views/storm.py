"""The storm that comes: by when everything must be shut, by whom and why; the storms that were; the farm's rules."""

from __future__ import annotations

from typing import Any, Final

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from doors.standing import weaknesses
from doors.views.lists import FORMATS, file_response
from doors.views.shared import posted
from farm.access import FarmRequest, member
from farm.models import Farm, Membership
from maintenance.aftermath.stormfile import STORMS
from maintenance.blow.assess import assess
from maintenance.blow.forms import PeopleForm
from maintenance.blow.page import here_text, page_of
from maintenance.blow.record import people_for
from maintenance.blow.ruleform import StormRulesForm
from maintenance.blow.rules import PRACTICE, change_rules, rules_of
from maintenance.models import Storm, StormPerson
from maintenance.skies.alerts import Told, told_alerts
from maintenance.skies.latest import forecast_of, source_of

GET_AND_POST = ["GET", "HEAD", "POST"]
MOST_LOOKS: Final = 30
PER_PAGE: Final = 25


@member("viewer")
@require_safe
def storms(request: FarmRequest) -> HttpResponse:
    """Show the storm ahead on top and those that were below; ``?export=csv`` or ``xlsx`` is a file of all."""
    found = Storm.objects.of(request.farm).newest_first()
    if wanted := FORMATS.get(request.GET.get("export", "")):
        return file_response(request.farm, STORMS, found, wanted)
    page = Paginator(found, PER_PAGE).get_page(request.GET.get("page"))
    ahead = Storm.objects.of(request.farm).ahead().first()
    sky = None if ahead else forecast_of(farm=request.farm, now=timezone.now())
    context = {
        "what": _("Wind"), "page": page, "ahead": ahead, "sky": sky, "can_edit": _is_manager(request),
        "alerts": _alerts(request),
    }  # fmt: skip
    return render(request, "maintenance/storms.html", context)


@member("viewer")
@require_http_methods(GET_AND_POST)
def storm(request: FarmRequest, pk: int) -> HttpResponse:
    """Show one storm with its deadline first; a manager says who is here."""
    farm, now = request.farm, timezone.now()
    found = get_object_or_404(Storm.objects.of(farm), pk=pk)
    if request.method == "POST" and not _is_manager(request):
        raise PermissionDenied
    is_ahead = found.state in (Storm.State.COMING, Storm.State.BLOWING)
    people = people_for(farm=farm, storm=found)
    form = PeopleForm(posted(request), people=people)
    if form.is_valid() and is_ahead:
        _keep_people(found, form)
        assess(farm=Farm.objects.get(pk=farm.pk), now=now, replans=True)
        messages.success(request, _("Who is here is saved; deadline and start are worked out again."))
        return redirect("storm", farm.slug, pk)
    return render(request, "maintenance/storm.html", _context(request, found, form), status=422 if form.errors else 200)


@member("manager")
@require_http_methods(GET_AND_POST)
def storm_rules(request: FarmRequest) -> HttpResponse:
    """Show the storm rules beside common practice, and change them."""
    farm = request.farm
    if "reset" in request.POST:
        change_rules(farm=farm, rules=PRACTICE)
        return _worked_out_again(request, _("All storm rules are common practice again."))
    form = StormRulesForm(posted(request), rules=rules_of(farm), units=farm.units)
    if form.is_valid():
        change_rules(farm=farm, rules=form.rules())
        return _worked_out_again(request, _("The storm rules are saved."))
    context = {"what": _("Storm rules"), "form": form}
    return render(request, "maintenance/storm_rules.html", context, status=422 if form.is_bound else 200)


def _worked_out_again(request: FarmRequest, said: str) -> HttpResponse:
    assess(farm=Farm.objects.get(pk=request.farm.pk), now=timezone.now())
    messages.success(request, said)
    return redirect("storm-rules", request.farm.slug)


def _keep_people(storm: Storm, form: PeopleForm) -> None:
    with transaction.atomic():
        for one in form.changed():
            StormPerson.objects.update_or_create(
                storm=storm,
                membership=one.membership,
                defaults={"is_here": one.is_here, "works_until": one.works_until},
            )


def _context(request: FarmRequest, found: Storm, form: PeopleForm) -> dict[str, Any]:
    farm, now = request.farm, timezone.now()
    tasks = list(found.tasks.for_list().select_related("repair__end_wall__tunnel"))
    looks = list(found.looks.order_by("-at", "-pk")[:MOST_LOOKS])
    page = page_of(storm=found, tasks=tasks, looks=looks, rules=rules_of(farm), farm=farm, now=now)
    is_ahead = found.state in (Storm.State.COMING, Storm.State.BLOWING)
    return {
        **page,
        "what": _("Storm"),
        "storm": found,
        "is_ahead": is_ahead,
        "form": form,
        "here_text": here_text(form.people),
        "now": now,
        "can_edit": _is_manager(request) and is_ahead,
        "sky": forecast_of(farm=farm, now=now) if is_ahead else None,
        "weaknesses": weaknesses(farm),
        "alerts": _alerts(request) if is_ahead else (),
    }


def _alerts(request: FarmRequest) -> list[Told]:
    return told_alerts(farm=request.farm, source=source_of(request.farm), now=timezone.now())


def _is_manager(request: FarmRequest) -> bool:
    return request.membership.role == Membership.Role.MANAGER
