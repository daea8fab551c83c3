"""The farm's book of materials."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from doors import register
from doors.book import start_book
from doors.exchange.kinds import MATERIALS
from doors.filters import MaterialFilter
from doors.forms import MaterialForm
from doors.models import Material
from doors.tables import MaterialTable
from doors.views.lists import Action, list_page
from doors.views.shared import form_page, initial_from, kept, posted
from farm.access import FarmRequest, member
from farm.models import Membership

GET_AND_POST = ["GET", "HEAD", "POST"]


@member("viewer")
@require_http_methods(GET_AND_POST)
def material_list(request: FarmRequest) -> HttpResponse:
    """Show the book; a manager can fill an empty one with common materials."""
    farm = request.farm
    if request.method == "POST":
        if request.membership.role != Membership.Role.MANAGER:
            raise PermissionDenied
        start_book(farm=farm)
        messages.success(request, _("The book holds common materials now. Correct what you buy differently."))
        return redirect("materials", farm.slug)
    rows = Material.objects.of(farm)
    chosen = MaterialFilter(request.GET, queryset=rows)
    actions = [Action(_("Add a material"), reverse("material-new", args=[farm.slug]), for_managers=True)]
    return list_page(
        request, chosen, MaterialTable(chosen.qs, farm=farm), MATERIALS, what=_("Materials"), actions=actions,
        can_start_book=not rows.exists(),
        lead=_("Real sizes of what you buy. Doors are designed and sized from this book."),
    )  # fmt: skip


@member("manager")
@require_http_methods(GET_AND_POST)
def material_new(request: FarmRequest) -> HttpResponse:
    """Add a material to the book."""
    farm = request.farm
    proposed = initial_from(request, {"code": "code", "kind": "kind", "name": "name"})
    form = MaterialForm(posted(request), farm=farm, instance=Material(farm=farm), initial=proposed)
    if form.is_valid() and kept(form, form.save):
        messages.success(request, _("%(material)s is in the book.") % {"material": form.instance})
        return redirect("materials", farm.slug)
    return form_page(
        request, form, what=_("New material"), submit=_("Add it"), back=reverse("materials", args=[farm.slug])
    )


@member("manager")
@require_http_methods(GET_AND_POST)
def material_change(request: FarmRequest, pk: int) -> HttpResponse:
    """Change a material; the doors made of it are sized again."""
    material = get_object_or_404(Material.objects.of(request.farm).select_related("farm"), pk=pk)
    name = str(material)  # the form puts what was typed on the row, refused or not
    form = MaterialForm(posted(request), farm=request.farm, instance=material)
    if form.is_valid() and kept(form, lambda: _change(form)):
        messages.success(request, _("%(material)s is saved; its doors are sized again.") % {"material": material})
        return redirect("materials", request.farm.slug)
    return form_page(
        request, form, what=_("Change %(material)s") % {"material": name}, submit=_("Save"),
        back=reverse("materials", args=[request.farm.slug]),
    )  # fmt: skip


def _change(form: MaterialForm) -> None:
    register.change_material(material=form.save(commit=False), columns=form.changed_data)
