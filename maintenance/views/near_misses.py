"""Near misses: told by anybody who works, with a name or without; listed and dealt with by a manager."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from doors.views.lists import Action, list_page
from doors.views.shared import form_page, posted, today
from farm.access import FarmRequest, member
from maintenance.views.jobs import is_manager, user_of
from maintenance.work import nearmisses
from maintenance.work.nearmisses import NEAR_MISSES, DealForm, NearMissFilter, NearMissForm, NearMissTable

GET_AND_POST = ["GET", "HEAD", "POST"]


@member("manager")
@require_safe
def near_miss_list(request: FarmRequest) -> HttpResponse:
    """Show what nearly hurt somebody, the last first."""
    farm = request.farm
    chosen = NearMissFilter(request.GET, queryset=nearmisses.near_misses_of(farm))
    actions = [Action(_("Tell of a near miss"), reverse("near-miss-new", args=[farm.slug]))]
    table = NearMissTable(chosen.qs, farm=farm)
    return list_page(request, chosen, table, NEAR_MISSES, what=_("Near misses"), actions=actions)


@member("crew")
@never_cache
@require_http_methods(GET_AND_POST)
def near_miss_new(request: FarmRequest) -> HttpResponse:
    """Tell of a near miss; the person is kept only where the person says so."""
    farm = request.farm
    form = NearMissForm(posted(request), farm=farm, today=today(farm))
    if form.is_valid():
        by = user_of(request) if form.cleaned_data["with_name"] else None
        nearmisses.log_near_miss(
            farm=farm, place=form.chosen_place, on=form.cleaned_data["on"], what=form.cleaned_data["what"], by=by
        )
        messages.success(request, _("Thank you. It is kept, and it will be looked at."))
        return redirect("near-misses" if is_manager(request) else "due", farm.slug)
    return form_page(
        request, form, what=_("Tell of a near miss"), submit=_("Keep it"), back=reverse("due", args=[farm.slug]),
        lead=_("Nobody is blamed for what is told here. It is how the next accident does not happen."),
    )  # fmt: skip


@member("manager")
@require_http_methods(GET_AND_POST)
def near_miss(request: FarmRequest, pk: int) -> HttpResponse:
    """Show a near miss, and take what was done about it."""
    found = get_object_or_404(nearmisses.near_misses_of(request.farm), pk=pk)
    form = DealForm(
        posted(request), today=today(request.farm), initial={"done": found.done, "closed_on": found.closed_on}
    )
    if form.is_valid():
        nearmisses.deal_with(near_miss=found, **form.cleaned_data)
        said = _("It is dealt with.") if found.closed_on else _("It is kept; it stays open.")
        messages.success(request, said)
        return redirect("near-misses", request.farm.slug)
    context = {
        "what": _("Near miss"), "where": nearmisses.place_of_miss(found), "near_miss": found, "form": form,
    }  # fmt: skip
    return render(request, "maintenance/near_miss.html", context, status=422 if form.errors else 200)
