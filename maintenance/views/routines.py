"""The rules of upkeep: listed by rhythm, changed, switched off, added."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db.models import Count, Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods
from django_tables2 import RequestConfig

from doors.views.lists import FORMATS, file_response
from doors.views.shared import form_page, posted, today
from farm.access import FarmRequest, member
from farm.models import Farm
from maintenance.models import Routine
from maintenance.routines import keeping as routines
from maintenance.routines.forms import RoutineForm
from maintenance.routines.tables import ROUTINES, RoutineTable
from maintenance.words.said import routine_name

GET_AND_POST = ["GET", "HEAD", "POST"]


@member("manager")
@require_http_methods(GET_AND_POST)
def routine_list(request: FarmRequest) -> HttpResponse:
    """Show the routines by rhythm, or as a file; a farm that lacks those of the trade can have them."""
    farm = request.farm
    if request.method == "POST":
        routines.start(farm=farm, on=today(farm))
        messages.success(request, _("The routines of the trade are laid. Change what you do differently."))
        return redirect("routines", farm.slug)
    found = list(_counted(farm).order_by("code"))
    if wanted := FORMATS.get(request.GET.get("export", "")):
        for each in found:
            each.farm = farm  # in the reader's units, and no query for what is at hand
        return file_response(farm, ROUTINES, found, wanted)
    tables = []
    for rhythm, name in Routine.Rhythm.choices:
        table = RoutineTable([each for each in found if each.rhythm == rhythm], farm=farm, prefix=f"{rhythm}-")
        RequestConfig(request, paginate=False).configure(table)
        tables.append((rhythm, name, table))
    context = {"what": _("Routines"), "tables": tables, "is_empty": not found}
    return render(request, "maintenance/routines.html", context)


@member("manager")
@require_http_methods(GET_AND_POST)
def routine(request: FarmRequest, pk: int) -> HttpResponse:
    """Change a routine, or switch it off and on."""
    farm, day = request.farm, today(request.farm)
    found = get_object_or_404(_counted(farm).select_related("farm"), pk=pk)
    name = routine_name(found, farm.units)
    if request.method == "POST" and "switch" in request.POST:
        routines.switch(routine=found, is_active=not found.is_active, on=day)
        text = _("“%(name)s” is in use again.") if found.is_active else _("“%(name)s” is switched off.")
        messages.success(request, text % {"name": name})
        return redirect("routine", farm.slug, pk)
    lead = _reaches(found.place_count) if found.is_active else _("It is switched off: it makes no jobs.")
    return _form(request, found, what=name, lead=lead, submit=_("Save"))


@member("manager")
@require_http_methods(GET_AND_POST)
def routine_new(request: FarmRequest) -> HttpResponse:
    """Add a routine of the farm's own."""
    lead = _("A rule of your own: what is done, where, and what brings it on.")
    return _form(request, Routine(farm=request.farm, name={}), what=_("New routine"), lead=lead, submit=_("Add it"))


def _form(request: FarmRequest, found: Any, **context: Any) -> HttpResponse:
    farm, day, is_new = request.farm, today(request.farm), found.pk is None
    form = RoutineForm(posted(request), farm=farm, today=day, instance=found)
    if form.is_valid():
        if "look" in request.POST:
            count = routines.reach(routine=form.instance, save=form.save, on=day)
            context["lead"] = _("Nothing is saved yet.") + " " + _reaches(count)
        else:
            routines.keep(routine=form.instance, save=form.save, on=day)
            messages.success(request, _reaches(_counted(farm).get(pk=form.instance.pk).place_count))
            return redirect("routines", farm.slug)
    return form_page(
        request, form, template="maintenance/routine.html", routine=None if is_new else found,
        also=("look", _("Show what it would do")), back=reverse("routines", args=[farm.slug]), **context,
    )  # fmt: skip


def _reaches(count: int) -> str:
    """Say at how many places a routine applies."""
    text = ngettext("It applies to %(count)s place now.", "It applies to %(count)s places now.", count)
    return text % {"count": count} if count else _("It applies to no place now: nothing on the farm fits it.")


def _counted(farm: Farm) -> QuerySet[Any]:
    """Return the farm's routines with the number of places they apply to; those of faults make themselves."""
    running = Count("plans", filter=Q(plans__ended_on=None))
    return Routine.objects.of(farm).exclude(code=routines.RESERVED).annotate(place_count=running)
