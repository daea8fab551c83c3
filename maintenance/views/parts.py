"""Parts in service as a list; parts logged and corrected."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import Model
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from doors.exchange.kinds import COMPONENTS
from doors.filters import ComponentFilter
from doors.forms import ComponentForm
from doors.listing import components_for_list
from doors.models import Component
from doors.tables import ComponentTable
from doors.views.lists import Action, list_page
from doors.views.shared import form_page, initial_from, posted, today
from farm.access import FarmRequest, member
from farm.models import EndWall, Farm, Opening, Tunnel
from farm.naming import point
from maintenance.stores import fitting

GET_AND_POST = ["GET", "HEAD", "POST"]
LOGGED_AT_ONCE = ("tunnel_id", "end_wall_id", "opening_id")


@member("viewer")
@require_safe
def part_list(request: FarmRequest) -> HttpResponse:
    """Show the parts in service, or those removed; all of the farm's, or those of one place."""
    farm, day = request.farm, today(request.farm)
    rows = components_for_list(Component.objects.of(farm))
    chosen = ComponentFilter(request.GET, queryset=rows, today=day)
    table = ComponentTable(chosen.qs, farm=farm, today=day)
    place = request.GET.get("place", "")
    lead = _("On %(place)s.") % {"place": _name_of(farm, place)} if place else ""
    query = f"?place={place}" if lead else ""
    actions = [Action(_("Log a part fitted"), reverse("component-new", args=[farm.slug]) + query)]
    return list_page(request, chosen, table, COMPONENTS, what=_("Parts in service"), actions=actions, lead=lead)


@member("crew")
@require_http_methods(GET_AND_POST)
def component_new(request: FarmRequest) -> HttpResponse:
    """Log a part that was fitted; a link can say where and what."""
    farm, day = request.farm, today(request.farm)
    proposed = {"fitted_on": day, "quantity": 1, **initial_from(request, {"place": "place", "kind": "kind"})}
    form = ComponentForm(posted(request), farm=farm, today=day, instance=Component(farm=farm), initial=proposed)
    if form.is_valid():
        part: Component = form.save(commit=False)
        fitting.fit(component=part, today=day)
        messages.success(request, capfirst(_("%(part)s is logged.") % {"part": part}))
        if "and_another" in request.POST:
            query = f"?place={form.cleaned_data['place']}&kind={part.kind}"
            return redirect(reverse("component-new", args=[farm.slug]) + query)
        return redirect("component", farm.slug, part.pk)
    return form_page(
        request, form, what=_("Log a part fitted"), submit=_("Keep it"),
        also=("and_another", _("Keep it, and one more")),
        back=reverse("parts", args=[farm.slug]),
    )  # fmt: skip


@member("crew")
@require_http_methods(GET_AND_POST)
def component_change(request: FarmRequest, pk: int) -> HttpResponse:
    """Correct what was logged of a part."""
    part = get_object_or_404(Component.objects.of(request.farm).for_list().select_related("farm"), pk=pk)
    name = str(part)  # the form puts what was typed on the row, refused or not
    day = today(request.farm)
    form = ComponentForm(posted(request), farm=request.farm, today=day, instance=part)
    if form.is_valid():
        form.save(commit=False)
        columns = [column for column in form.changed_data if column != "place"]
        columns += LOGGED_AT_ONCE if "place" in form.changed_data else ()
        fitting.correct(component=part, columns=columns, today=day)
        messages.success(request, capfirst(_("%(part)s is saved.") % {"part": part}))
        return redirect("component", request.farm.slug, pk)
    return form_page(
        request, form, what=_("Correct %(part)s") % {"part": name}, submit=_("Save"),
        back=reverse("component", args=[request.farm.slug, pk]),
    )  # fmt: skip


def _name_of(farm: Farm, key: str) -> str:
    """Return the name of a place of the farm's."""
    kind, _dash, pk = key.partition("-")
    models: dict[str, type[Model]] = {"tunnel": Tunnel, "wall": EndWall, "opening": Opening}
    if kind not in models or not pk.isdecimal():
        return _("no such place")
    row = models[kind]._default_manager.filter(farm=farm, pk=int(pk)).first()
    if isinstance(row, EndWall):
        return f"{row.tunnel.code}-{point(row.bearing_deg, row.end)}"
    return row.code if isinstance(row, Tunnel | Opening) else _("no such place")
