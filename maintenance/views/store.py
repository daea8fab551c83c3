"""The store: what lies there, what to buy, and every move."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth.models import User
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe
from django_tables2 import RequestConfig

from doors.models import Material, StockMove
from doors.views.lists import FORMATS, file_response
from doors.views.shared import form_page, initial_from, posted, today
from farm.access import FarmRequest, member
from maintenance.stores import store
from maintenance.stores.forms import MoveForm
from maintenance.stores.tables import MOVES, STORE, MoveTable, NeedTable

GET_AND_POST = ["GET", "HEAD", "POST"]


@member("viewer")
@require_safe
def store_list(request: FarmRequest) -> HttpResponse:
    """Show what lies in store and what is wanted; ``?show=buy`` only what is lacking."""
    farm = request.farm
    found = store.needs(farm=farm, on=today(farm))
    to_buy = [need for need in found if need.to_buy]
    only_lacking = request.GET.get("show") == "buy"
    table = NeedTable(to_buy if only_lacking else found, farm=farm)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    if wanted := FORMATS.get(request.GET.get("export", "")):
        return file_response(farm, STORE, table.data.data, wanted)
    context = {
        "what": _("Store"), "table": table, "only_lacking": only_lacking, "lacking": len(to_buy),
        "is_empty": not StockMove.objects.of(farm).exists(),
    }  # fmt: skip
    return render(request, "maintenance/store.html", context)


@member("viewer")
@require_safe
def store_material(request: FarmRequest, pk: int) -> HttpResponse:
    """Show every move of one material."""
    farm = request.farm
    material = get_object_or_404(Material.objects.of(farm), pk=pk)
    moves = StockMove.objects.of(farm).filter(material=material)
    table = MoveTable(moves.newest_first(), farm=farm)
    RequestConfig(request, paginate={"per_page": 25}).configure(table)
    if wanted := FORMATS.get(request.GET.get("export", "")):
        return file_response(farm, MOVES, table.data.data, wanted)
    context: dict[str, Any] = {
        "what": material.name, "where": material.code, "material": material, "table": table,
        "lies": moves.balances().get(pk, 0),
    }  # fmt: skip
    return render(request, "maintenance/store_material.html", context)


@member("crew")
@require_http_methods(GET_AND_POST)
def store_move(request: FarmRequest) -> HttpResponse:
    """Write down what came, went or was counted; a link can say of which material."""
    farm, day = request.farm, today(request.farm)
    proposed = {"on": day, **initial_from(request, {"material": "material", "reason": "reason"})}
    form = MoveForm(posted(request), farm=farm, today=day, initial=proposed)
    if form.is_valid():
        material = form.cleaned_data["material"]
        messages.success(request, _keep(request, form))
        if "and_another" in request.POST:
            return redirect(f"{reverse('store-move', args=[farm.slug])}?reason={form.cleaned_data['reason']}")
        return redirect("store-material", farm.slug, material.pk)
    return form_page(
        request, form, what=_("Came, went or counted"), submit=_("Keep it"),
        also=("and_another", _("Keep it, and one more")), back=reverse("store", args=[farm.slug]),
        lead=_("Nothing here is ever erased: what was written down wrongly is put right by a count."),
    )  # fmt: skip


def _keep(request: FarmRequest, form: MoveForm) -> str:
    """Keep what was filled in; return what to say of it."""
    given, by = form.cleaned_data, request.user if isinstance(request.user, User) else None
    common = {"farm": request.farm, "material": given["material"], "on": given["on"], "by": by, "note": given["note"]}
    if given["reason"] != StockMove.Reason.COUNTED:
        store.move(**common, quantity=given["quantity"], reason=given["reason"])
        return _("%(material)s: written down.") % {"material": given["material"]}
    if store.count(**common, found=given["quantity"]) is None:
        return _("%(material)s: the list was right.") % {"material": given["material"]}
    return _("%(material)s: the list is corrected.") % {"material": given["material"]}
