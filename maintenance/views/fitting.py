"""Parts replaced, taken out, taken down for the season and put back."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.models import User
from django.forms import Form
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from doors.models import Component
from doors.tables import place_name
from doors.views.shared import form_page, posted, today
from farm.access import FarmRequest, member
from maintenance.stores import fitting
from maintenance.stores.fitting import FittingError
from maintenance.stores.partforms import LayUpForm, RemovalForm, ReplacementForm
from maintenance.words.places import place_of
from maintenance.work.closing import WorkError
from maintenance.work.replacing import Offer, faults_of, replace_part

GET_AND_POST = ["GET", "HEAD", "POST"]


@member("crew")
@require_http_methods(GET_AND_POST)
def component_replace(request: FarmRequest, pk: int) -> HttpResponse:
    """Record that a part was taken out and another fitted in its place."""
    part, day = _part(request, pk), today(request.farm)
    if part.removed_on is not None:
        return _is_gone(request, part)
    proposed = {"replaced_on": day, "material": part.material_id, "quantity": part.quantity}
    offers = {offer.repair.pk: offer for offer in faults_of(part)}
    form = ReplacementForm(
        posted(request), farm=request.farm, component=part, today=day, initial=proposed,
        faults=[(pk, _fault_words(offer), offer.is_likely) for pk, offer in offers.items()],
        instance=Component(farm=request.farm, kind=part.kind, fitted_on=day),
    )  # fmt: skip
    if form.is_valid():
        on = form.cleaned_data["replaced_on"]
        closes = [offers[pk].repair for pk in form.cleaned_data.get("closes", ())]
        try:
            change = replace_part(
                component=part, on=on, removal=form.removal, new=form.new, today=day, by=_user(request),
                now=timezone.now(), closes=closes,
            )  # fmt: skip
        except (FittingError, WorkError) as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, capfirst(_("%(part)s is replaced.") % {"part": part}))
            return redirect("component", request.farm.slug, change.fitted)
    return form_page(
        request, form, what=_("%(part)s was replaced") % {"part": part}, submit=_("Keep it"), back=_page(request, pk),
        lead=_("The old part stays on record with its age and the reason. The new one begins on the same day."),
        where=place_name(part),
    )  # fmt: skip


@member("crew")
@require_http_methods(GET_AND_POST)
def component_remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Record that a part was taken out and why, or undo that record."""
    part, day = _part(request, pk), today(request.farm)
    if part.removed_on is not None:
        return _undo_removal(request, part)
    form = RemovalForm(posted(request), component=part, today=day, initial={"removed_on": day})
    if form.is_valid():
        try:
            fitting.remove(component=part, on=form.cleaned_data["removed_on"], removal=form.removal, today=day)
        except FittingError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, capfirst(_("%(part)s is recorded as removed.") % {"part": part}))
            return redirect("component", request.farm.slug, pk)
    return form_page(
        request, form, what=_("%(part)s was taken out") % {"part": part}, submit=_("Keep it"),
        back=_page(request, pk), where=place_name(part), lead=_("Its record stays, with its age and the reason."),
    )  # fmt: skip


def _undo_removal(request: FarmRequest, part: Component) -> HttpResponse:
    """Ask whether a removal was entered by mistake, and take it back."""
    if request.method == "POST":
        try:
            fitting.take_back(farm=request.farm, facts={"did": "remove", "removed": part.pk}, today=today(request.farm))
        except FittingError as error:
            messages.error(request, str(error))
        else:
            messages.success(request, capfirst(_("%(part)s is in service again.") % {"part": part}))
        return redirect("component", request.farm.slug, part.pk)
    return form_page(
        request, Form(), what=_("Undo the removal of %(part)s") % {"part": part}, without_fields=True,
        submit=_("It is still in service"), back=_page(request, part.pk), where=place_name(part),
        lead=_("Only for an entry made by mistake. Log a part that was fitted anew as a new part."),
    )  # fmt: skip


@member("crew")
@require_http_methods(GET_AND_POST)
def component_lay_up(request: FarmRequest, pk: int) -> HttpResponse:
    """Record that a part was taken down for the season, or that it was put back."""
    part, day = _part(request, pk), today(request.farm)
    if part.removed_on is not None:
        return _is_gone(request, part)
    words = {"part": part}
    is_down = part.lay_ups.filter(back_on=None).exists()
    form = LayUpForm(posted(request), today=day, initial={"on": day})
    if form.is_valid():
        change = fitting.put_back if is_down else fitting.lay_up
        try:
            change(component=part, on=form.cleaned_data["on"], today=day)
        except FittingError as error:
            form.add_error("on", str(error))
        else:
            text = _("%(part)s is up again.") if is_down else _("%(part)s is recorded as taken down.")
            messages.success(request, capfirst(text % words))
            return redirect("component", request.farm.slug, pk)
    return form_page(
        request, form, back=_page(request, pk), where=place_name(part), submit=_("Keep it"),
        what=_("%(part)s was put back") % words if is_down else _("%(part)s was taken down") % words,
        lead=_("From this day it stands in wind and sun again.") if is_down
        else _("It stays in service; the days until it is put back count neither as sun nor as storms."),
    )  # fmt: skip


def _part(request: FarmRequest, pk: int) -> Component:
    return get_object_or_404(Component.objects.of(request.farm).for_list().select_related("farm"), pk=pk)


def _page(request: FarmRequest, pk: int) -> str:
    return reverse("component", args=[request.farm.slug, pk])


def _user(request: FarmRequest) -> User | None:
    return request.user if isinstance(request.user, User) else None


def _is_gone(request: FarmRequest, part: Component) -> HttpResponse:
    """Lead back to a part that is no longer in service, with a word why."""
    messages.error(request, _("It was removed on %(day)s already.") % {"day": part.removed_on})
    return redirect(_page(request, part.pk))


def _fault_words(offer: Offer) -> str:
    """Return a fault as one line to tick."""
    said = {"place": place_of(offer.repair), "fault": offer.repair.get_mode_display(),
            "day": offer.repair.found_on.isoformat()}  # fmt: skip
    return _("%(place)s: %(fault)s, found on %(day)s") % said
