"""The farm's own sizing rules, and the farm itself."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from doors import register
from doors.ruleform import PRACTICE, RulesForm
from doors.services import change_rules, change_strengths, rules_of, strengths_of
from doors.strengthform import STANDARD, StrengthsForm
from doors.views.shared import form_page, posted
from farm.access import FarmRequest, member
from farm.forms import FarmForm
from farm.models import Farm, Membership

GET_AND_POST = ["GET", "HEAD", "POST"]


@member("viewer")
@require_http_methods(GET_AND_POST)
def sizing_rules(request: FarmRequest) -> HttpResponse:
    """Show the rules beside common practice; a manager changes them, and every door is sized again."""
    farm = request.farm
    if request.method == "POST" and request.membership.role != Membership.Role.MANAGER:
        raise PermissionDenied
    if "reset" in request.POST:
        change_rules(farm=farm, rules=PRACTICE)
        messages.success(request, _("All rules are common practice again; every door is sized again."))
        return redirect("sizing-rules", farm.slug)
    if "reset_strengths" in request.POST:
        change_strengths(farm=farm, strengths=STANDARD)
        messages.success(request, _("All strengths are the printed values again."))
        return redirect("sizing-rules", farm.slug)
    of_strengths = "strengths" in request.POST
    form = RulesForm(None if of_strengths else posted(request), rules=rules_of(farm), units=farm.units)
    strengths = StrengthsForm(posted(request) if of_strengths else None, strengths=strengths_of(farm), units=farm.units)
    if form.is_valid():
        change_rules(farm=farm, rules=form.rules())
        messages.success(request, _("The rules are saved; every door is sized again."))
        return redirect("sizing-rules", farm.slug)
    if strengths.is_valid():
        change_strengths(farm=farm, strengths=strengths.strengths())
        messages.success(request, _("The strengths are saved; every door in the wind is read by them."))
        return redirect("sizing-rules", farm.slug)
    status = 422 if form.is_bound or strengths.is_bound else 200
    context = {"form": form, "strengths": strengths, "what": _("Rules")}
    return render(request, "doors/rules.html", context, status=status)


@member("manager")
@require_http_methods(GET_AND_POST)
def farm_change(request: FarmRequest) -> HttpResponse:
    """Change the farm's name, units, language, place and winds."""
    farm = Farm.objects.get(pk=request.farm.pk)  # the request's is in its reader's units
    name = farm.name  # the form puts what was typed on the row, refused or not
    form = FarmForm(posted(request), farm=request.farm, instance=farm)
    if form.is_valid():
        register.change_farm(farm=form.save(commit=False), columns=form.changed_data)
        messages.success(request, _("%(farm)s is saved.") % {"farm": farm})
        return redirect("farm-change", farm.slug)
    return form_page(
        request, form, what=_("Farm: %(farm)s") % {"farm": name}, submit=_("Save"),
        back=reverse("plan", args=[farm.slug]),
    )  # fmt: skip
