"""Openings and the doors designed for them."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from doors import proposals, register
from doors.forms import DoorForm, NewOpeningForm
from doors.models import Door
from doors.services import HangError, hang_door
from doors.views.shared import form_page, kept, posted, today
from farm import services
from farm.access import FarmRequest, member
from farm.formfields import LengthField, written
from farm.forms import DayForm, OpeningForm
from farm.models import EndWall, Opening
from farm.naming import point

GET_AND_POST = ["GET", "HEAD", "POST"]


@member("manager")
@require_http_methods(GET_AND_POST)
def opening_new(request: FarmRequest, pk: int) -> HttpResponse:
    """Add an opening to an end wall: width and height, then the rest as proposed or as measured."""
    farm = request.farm
    wall = get_object_or_404(EndWall.objects.of(farm).select_related("tunnel", "farm"), pk=pk)
    if request.method != "POST" and "rough_width_mm" in request.GET:
        return _offset_field(request, wall)
    data = request.POST.copy() if request.method == "POST" else None
    changed = data is not None and _placed(data, wall)
    form = _new_form(wall, None if changed else data, typed=data if changed else None)
    form.follow_width(request.path)
    if form.is_valid():
        opening: Opening = form.save(commit=False)
        opening.code = opening.code or services.proposed_opening_code(wall)
        side = form.cleaned_data["drive_side"]
        if kept(form, lambda: register.add_opening(opening=opening, drive_side=side)):
            messages.success(request, _("%(opening)s is added and sized.") % {"opening": opening})
            return redirect("opening", farm.slug, opening.pk)
    name = f"{wall.tunnel.code}-{point(wall.bearing_deg, wall.end)}"
    return form_page(
        request, form, template="doors/opening_new.html", what=_("New opening in %(wall)s") % {"wall": name},
        where=wall.tunnel, wall=wall, submit=_("Save and size the door"), has_new_proposal=changed,
        back=reverse("tunnel", args=[farm.slug, wall.tunnel_id]),
    )  # fmt: skip


def _new_form(wall: EndWall, data: QueryDict | None, typed: QueryDict | None) -> NewOpeningForm:
    """Return the form with its proposals; ``typed`` is what stood in it before new proposals came."""
    form = NewOpeningForm(data, farm=wall.farm, end_wall=wall, instance=Opening(farm=wall.farm, end_wall=wall))
    depth = proposals.header_depth(wall, str(form["kind"].value()))
    form.propose({"threshold_mm": 0, "header_depth_mm": depth})
    if not form.is_bound:
        form.initial["code"] = services.proposed_opening_code(wall)
        form.initial["drive_side"] = proposals.drive_side(wall)
        form.initial.update({name: typed[name] for name in form.fields if typed and name in typed})
    return form


def _placed(data: QueryDict, wall: EndWall) -> bool:
    """Tell whether the page has to propose an offset, or another one, before anything is saved.

    What somebody typed or cleared after seeing a proposal is theirs; a proposal nobody touched follows the width.
    """
    seen, typed = data.get("proposed_offset", ""), data.get("offset_mm", "").strip()
    if typed and typed != seen:
        return False
    if seen and not typed:
        return False
    fresh = _proposed_offset(wall, data.get("rough_width_mm", ""))
    if fresh is None or fresh == seen:
        return False
    data["offset_mm"] = data["proposed_offset"] = fresh
    return True


def _proposed_offset(wall: EndWall, width_text: str) -> str | None:
    """Return an offset as its field shows it, or None where there is none to propose."""
    try:
        width = LengthField(units=wall.farm.units).clean(width_text)
    except ValidationError:
        return None
    offset = proposals.offset(wall, width)
    return None if offset is None else written(offset, wall.farm.units)


def _offset_field(request: FarmRequest, wall: EndWall) -> HttpResponse:
    """Answer htmx with the offset's field alone, as it stands for the width just typed."""
    given = request.GET.copy()
    _placed(given, wall)
    form = _new_form(wall, None, typed=given)
    return render(request, "doors/_offset.html", {"field": form["offset_mm"], "hidden": form["proposed_offset"]})


@member("manager")
@require_http_methods(GET_AND_POST)
def opening_change(request: FarmRequest, pk: int) -> HttpResponse:
    """Change an opening; its door and its neighbours are sized again."""
    opening = _opening(request, pk)
    code = opening.code  # the form puts what was typed on the row, refused or not
    # What a link proposes stands in the form only: nothing is changed before somebody saves it.
    kind = request.GET.get("kind") if request.method != "POST" else None
    form = OpeningForm(
        posted(request), farm=request.farm, end_wall=opening.end_wall, instance=opening,
        initial={"kind": kind} if kind in Opening.Kind.values else {},
    )  # fmt: skip
    if form.is_valid():
        changed: Opening = form.save(commit=False)
        changed.code = changed.code or code
        if kept(form, lambda: register.change_opening(opening=changed, columns=form.changed_data)):
            messages.success(request, _("%(opening)s is saved and sized again.") % {"opening": changed})
            return redirect("opening", request.farm.slug, pk)
    return form_page(
        request, form, what=_("Change %(opening)s") % {"opening": code}, where=opening.end_wall.tunnel,
        submit=_("Save and size again"), back=_sheet(request, pk),
    )  # fmt: skip


@member("manager")
@require_http_methods(GET_AND_POST)
def opening_retire(request: FarmRequest, pk: int) -> HttpResponse:
    """Take an opening out of use, or bring a retired one back; nothing is deleted."""
    opening = _opening(request, pk)
    is_retired = opening.retired_on is not None
    form = DayForm(posted(request), initial={"on": today(request.farm)})
    words = {"opening": opening}
    if is_retired and request.method == "POST":
        problem = _why_not_back(opening)
        if problem is None:
            register.retire_opening(opening=opening, on=None)
            messages.success(request, _("%(opening)s is back in use.") % words)
            return redirect("opening", request.farm.slug, pk)
        messages.error(request, problem)
    elif not is_retired and form.is_valid():
        register.retire_opening(opening=opening, on=form.cleaned_data["on"])
        messages.success(request, _("%(opening)s is retired. Its record stays.") % words)
        return redirect("tunnel", request.farm.slug, opening.end_wall.tunnel_id)
    return form_page(
        request, form, back=_sheet(request, pk), without_fields=is_retired, where=opening.end_wall.tunnel,
        what=_("Bring back %(opening)s") % words if is_retired else _("Retire %(opening)s") % words,
        submit=_("Bring it back") if is_retired else _("Retire the opening"),
        lead="" if is_retired else _(
            "It leaves the plan and the schedule. Its sheets and parts stay on record; it can be brought back."
        ),
    )  # fmt: skip


def _why_not_back(opening: Opening) -> str | None:
    """Return why a retired opening cannot come back as it is: the wall may have changed since."""
    if opening.end_wall.tunnel.retired_on is not None:
        return _("Its tunnel is retired. Bring the tunnel back first.")
    form = OpeningForm(farm=opening.farm, end_wall=opening.end_wall, instance=opening)
    problems = form.limits_of({name: getattr(opening, name) for name in form.fields})
    return " ".join(message for error in problems.values() for message in error.messages) or None


@member("manager")
@require_http_methods(GET_AND_POST)
def door_change(request: FarmRequest, pk: int) -> HttpResponse:
    """Choose what a door is made of, from the farm's book."""
    opening = _opening(request, pk)
    door = Door.objects.of(request.farm).filter(opening=opening).first()
    if door is None:
        register.change_opening(opening=opening, columns=["kind"])
        door = get_object_or_404(Door.objects.of(request.farm), opening=opening)
    form = DoorForm(posted(request), farm=request.farm, instance=door)
    form.propose_design()
    if form.is_valid():
        register.change_door(door=form.save(commit=False), columns=form.changed_data)
        messages.success(request, _("The door of %(opening)s is saved and sized again.") % {"opening": opening})
        return redirect("opening", request.farm.slug, pk)
    lead = _("This door hangs. It keeps the sheet it was hung by; a new sheet is kept beside it.")
    return form_page(
        request, form, what=_("Door of %(opening)s") % {"opening": opening}, where=opening.end_wall.tunnel,
        submit=_("Save and size again"), back=_sheet(request, pk), lead=lead if door.hung_on else "",
    )  # fmt: skip


@member("crew")
@require_http_methods(GET_AND_POST)
def door_hang(request: FarmRequest, pk: int) -> HttpResponse:
    """Record the day a door was hung by its present sheet, or undo that record."""
    opening = _opening(request, pk)
    door = Door.objects.of(request.farm).filter(opening=opening).first()
    hangs = door is not None and door.hung_on is not None
    form = DayForm(posted(request), initial={"on": today(request.farm)}, not_after=today(request.farm))
    words = {"opening": opening}
    if request.method == "POST" and hangs and door is not None:
        door.hung_on, door.as_built = None, None
        door.save(update_fields=["hung_on", "as_built"])
        messages.success(request, _("%(opening)s counts as not hung.") % words)
        return redirect("opening", request.farm.slug, pk)
    if not hangs and form.is_valid() and _hung(form, opening, form.cleaned_data["on"]):
        messages.success(request, _("%(opening)s hangs. The sheet it was hung by is kept.") % words)
        return redirect("opening", request.farm.slug, pk)
    return form_page(
        request, form, back=_sheet(request, pk), without_fields=hangs, where=opening.end_wall.tunnel,
        what=_("Undo: %(opening)s hangs") % words if hangs else _("%(opening)s is hung") % words,
        submit=_("It does not hang") if hangs else _("Keep this day"),
        lead=_("Only for an entry made by mistake. To take the door out of use, retire its opening.") if hangs else _(
            "From then on its sheet stays as it is today, whatever is changed later."
        ),
    )  # fmt: skip


def _hung(form: DayForm, opening: Opening, on: date) -> bool:
    try:
        hang_door(opening=opening, on=on)
    except (HangError, Door.DoesNotExist) as error:
        text = str(error) if isinstance(error, HangError) else _("This opening has no sheet yet.")
        form.add_error(None, text)
        return False
    return True


def _opening(request: FarmRequest, pk: int) -> Opening:
    rows = Opening.objects.of(request.farm).with_place().select_related("farm", "end_wall__tunnel")
    return get_object_or_404(rows, pk=pk)


def _sheet(request: FarmRequest, pk: int) -> str:
    return reverse("opening", args=[request.farm.slug, pk])
