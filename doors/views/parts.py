"""Parts in service: what sits where, since when, and why it was taken out."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from doors.exchange.kinds import COMPONENTS
from doors.filters import ComponentFilter
from doors.forms import ComponentForm, RemovalForm
from doors.listing import components_for_list
from doors.models import Component
from doors.tables import ComponentTable, age, place_name
from doors.views.lists import Action, list_page
from doors.views.shared import form_page, initial_from, posted, today
from farm.access import FarmRequest, member

GET_AND_POST = ["GET", "HEAD", "POST"]
LOGGED_AT_ONCE = ("tunnel_id", "end_wall_id", "opening_id")


@member("viewer")
@require_safe
def part_list(request: FarmRequest) -> HttpResponse:
    """Show the parts in service, or those removed."""
    farm, day = request.farm, today(request.farm)
    rows = components_for_list(Component.objects.of(farm))
    chosen = ComponentFilter(request.GET, queryset=rows, today=day)
    table = ComponentTable(chosen.qs, farm=farm, today=day)
    actions = [Action(_("Log a part fitted"), reverse("component-new", args=[farm.slug]))]
    return list_page(request, chosen, table, COMPONENTS, what=_("Parts in service"), actions=actions)


@member("crew")
@require_http_methods(GET_AND_POST)
def component_new(request: FarmRequest) -> HttpResponse:
    """Log a part that was fitted; a link can say where and what."""
    farm, day = request.farm, today(request.farm)
    proposed = {"fitted_on": day, "quantity": 1, **initial_from(request, {"place": "place", "kind": "kind"})}
    form = ComponentForm(posted(request), farm=farm, today=day, instance=Component(farm=farm), initial=proposed)
    if form.is_valid():
        part: Component = form.save()
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


@member("viewer")
@require_safe
def component(request: FarmRequest, pk: int) -> HttpResponse:
    """Show one part."""
    part = _part(request, pk)
    until = part.removed_on or today(request.farm)
    context = {"part": part, "place": place_name(part), "age": age(part.fitted_on, until), "what": str(part)}
    return render(request, "doors/component.html", context)


@member("crew")
@require_http_methods(GET_AND_POST)
def component_change(request: FarmRequest, pk: int) -> HttpResponse:
    """Correct what was logged of a part."""
    part = _part(request, pk)
    name = str(part)  # the form puts what was typed on the row, refused or not
    form = ComponentForm(posted(request), farm=request.farm, today=today(request.farm), instance=part)
    if form.is_valid():
        form.save(commit=False)
        columns = [column for column in form.changed_data if column != "place"]
        columns += LOGGED_AT_ONCE if "place" in form.changed_data else ()
        part.save(update_fields=columns)
        messages.success(request, capfirst(_("%(part)s is saved.") % {"part": part}))
        return redirect("component", request.farm.slug, pk)
    return form_page(
        request, form, what=_("Change %(part)s") % {"part": name}, submit=_("Save"), back=_page(request, pk)
    )


@member("crew")
@require_http_methods(GET_AND_POST)
def component_remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Record that a part was taken out and why, or undo that record."""
    part = _part(request, pk)
    day = today(request.farm)
    is_removed = part.removed_on is not None
    form = RemovalForm(posted(request), component=part, today=day, initial={"removed_on": day})
    if request.method == "POST" and is_removed:
        part.removed_on, part.removal_reason = None, ""
        part.save(update_fields=["removed_on", "removal_reason"])
        messages.success(request, capfirst(_("%(part)s is in service again.") % {"part": part}))
        return redirect("component", request.farm.slug, pk)
    if not is_removed and form.is_valid():
        part.removed_on, part.removal_reason = form.cleaned_data["removed_on"], form.cleaned_data["reason"]
        part.save(update_fields=["removed_on", "removal_reason"])
        messages.success(request, capfirst(_("%(part)s is recorded as removed.") % {"part": part}))
        return redirect("component", request.farm.slug, pk)
    words = {"part": part}
    return form_page(
        request, form, back=_page(request, pk), where=place_name(part), without_fields=is_removed,
        what=_("Undo the removal of %(part)s") % words if is_removed else _("%(part)s was removed") % words,
        submit=_("It is still in service") if is_removed else _("Keep it"),
        lead=_("Only for an entry made by mistake. Log a part that was fitted anew as a new part.") if is_removed
        else _("Its record stays, with its age and the reason."),
    )  # fmt: skip


def _part(request: FarmRequest, pk: int) -> Component:
    return get_object_or_404(Component.objects.of(request.farm).for_list(), pk=pk)


def _page(request: FarmRequest, pk: int) -> str:
    return reverse("component", args=[request.farm.slug, pk])
