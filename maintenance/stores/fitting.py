"""The life of a part: fitted, replaced, taken down for a season and put back, removed; and each of these undone.

``on`` is the day it happened, ``today`` the farm's day by which plans are laid; they differ when somebody writes
down later what was done.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, Final

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _

from doors.models import Component, LayUp, Material, StockMove
from farm.models import Farm
from maintenance.models import Job, Repair
from maintenance.plans.laying import lay_plans
from maintenance.stores import store

SAME: Final = ("farm_id", "kind", "tunnel_id", "end_wall_id", "opening_id", "spot")  # of a part and its successor
REMOVAL: Final = ("removed_on", "removal_reason", "failure_mode", "failure_cause")


class FittingError(Exception):
    """A change of a part that cannot be; its text is a sentence for the reader."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Removal:
    """Why a part was taken out; how it failed and the cause where it failed (EN 13306:2017, 5.2 and 5.4)."""

    reason: str
    mode: str = ""
    cause: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPart:
    """What comes in place of a part; ``from_store`` is how much of the material that took out of the store."""

    material: Material | None = None
    quantity: Decimal = Decimal(1)
    lot: str = ""
    printed_side: str = ""
    notes: str = ""
    from_store: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What was done, as ids; `take_back` undoes it."""

    did: str
    fitted: int | None = None
    removed: int | None = None
    lay_up: int | None = None
    move: int | None = None

    @property
    def facts(self) -> dict[str, Any]:
        """The change as JSON keeps it."""
        named = {name: getattr(self, name) for name in ("fitted", "removed", "lay_up", "move")}
        return {"did": self.did, **{name: pk for name, pk in named.items() if pk is not None}}


@transaction.atomic
def fit(*, component: Component, today: date, by: User | None = None, from_store: Decimal | None = None) -> Change:
    """Keep a new part, and take it out of the store where it lay there.

    Raises
    ------
    FittingError
        If the day has not come yet, the quantity is not above 0, or the store cannot give it.
    """
    _check_new(component, today)
    component.save(force_insert=True)
    taken = _take(component, from_store, by)
    lay_plans(farm=component.farm, on=today)
    return Change(did="fit", fitted=component.pk, move=taken.pk if taken else None)


@transaction.atomic
def replace(
    *, component: Component, on: date, removal: Removal, new: NewPart, today: date, by: User | None = None
) -> Change:
    """Take a part out and fit another at the same place on the same day.

    Raises
    ------
    FittingError
        As `fit` and `remove`.
    """
    taken_out = _take_out(component, on, removal, today)
    fresh = Component(
        **{name: getattr(component, name) for name in SAME}, material=new.material, quantity=new.quantity,
        lot=new.lot, printed_side=new.printed_side, notes=new.notes, fitted_on=on, replaces=component,
    )  # fmt: skip
    _check_new(fresh, today)
    fresh.save(force_insert=True)
    taken = _take(fresh, new.from_store, by)
    lay_plans(farm=component.farm, on=today)
    _set(component, taken_out)
    return Change(did="replace", fitted=fresh.pk, removed=component.pk, move=taken.pk if taken else None)


@transaction.atomic
def remove(*, component: Component, on: date, removal: Removal, today: date) -> Change:
    """Take a part out of service for good; its record stays.

    Raises
    ------
    FittingError
        If it is not in service on that day, the day has not come yet, or no reason is given.
    """
    taken_out = _take_out(component, on, removal, today)
    lay_plans(farm=component.farm, on=today)
    _set(component, taken_out)
    return Change(did="remove", removed=component.pk)


@transaction.atomic
def lay_up(*, component: Component, on: date, today: date) -> Change:
    """Take a part down for the season: it stays in service, out of wind and sun.

    Raises
    ------
    FittingError
        If it is not in service or down already on that day, or the day has not come yet.
    """
    _check_in_service(component, on, today)
    last = component.lay_ups.order_by("-off_on").first()
    if last is not None and last.back_on is None:
        raise FittingError(_("It has been down since %(day)s.") % {"day": last.off_on})
    if last is not None and last.back_on is not None and on < last.back_on:
        raise FittingError(_("It was put back on %(day)s. Write that day or a later one.") % {"day": last.back_on})
    kept = LayUp.objects.create(component=component, off_on=on)
    lay_plans(farm=component.farm, on=today)
    return Change(did="lay_up", lay_up=kept.pk)


@transaction.atomic
def put_back(*, component: Component, on: date, today: date) -> Change:
    """Put a part back that was down for the season.

    Raises
    ------
    FittingError
        If it is not down, was taken down that day or later, or the day has not come yet.
    """
    _check_in_service(component, on, today)
    kept = component.lay_ups.filter(back_on=None).first()
    if kept is None:
        raise FittingError(_("It is not down."))
    if on <= kept.off_on:
        raise FittingError(_("It was taken down on %(day)s. Write a later day.") % {"day": kept.off_on})
    kept.back_on = on
    kept.save(update_fields=["back_on"])
    lay_plans(farm=component.farm, on=today)
    return Change(did="put_back", lay_up=kept.pk)


@transaction.atomic
def correct(*, component: Component, columns: Collection[str], today: date) -> None:
    """Save what was corrected of a part; its plans follow."""
    if columns:
        component.save(update_fields=list(columns))
        lay_plans(farm=component.farm, on=today)


@transaction.atomic
def take_back(*, farm: Farm, facts: Mapping[str, Any], today: date, by: User | None = None) -> None:
    """Undo a change by the facts it left.

    Raises
    ------
    FittingError
        If something that happened since stands on it.
    """
    if (pk := facts.get("fitted")) is not None:
        _unfit(farm, pk)
    if (pk := facts.get("removed")) is not None:
        _restore(farm, pk)
    if (pk := facts.get("lay_up")) is not None:
        _undo_lay_up(farm, pk, facts["did"])
    for taken in StockMove.objects.of(farm).filter(pk__in=[facts["move"]] if "move" in facts else []):
        store.reverse(taken=taken, on=today, by=by)
    lay_plans(farm=farm, on=today)


def _check_new(component: Component, today: date) -> None:
    _check_passed(component.fitted_on, today)
    if component.quantity <= 0:
        raise FittingError(_("Write a quantity above 0."))
    if component.material is not None and component.material.farm_id != component.farm_id:
        raise FittingError(_("That material is not in this farm's book."))


def _check_passed(on: date, today: date) -> None:
    if on > today:
        raise FittingError(_("%(day)s has not come yet. Write today or an earlier day.") % {"day": on})


def _check_in_service(component: Component, on: date, today: date) -> None:
    _check_passed(on, today)
    words = {"day": component.removed_on or component.fitted_on}
    if component.removed_on is not None:
        raise FittingError(_("It was removed on %(day)s already.") % words)
    if on < component.fitted_on:
        raise FittingError(_("It was fitted on %(day)s. Write that day or a later one.") % words)


def _take_out(component: Component, on: date, removal: Removal, today: date) -> dict[str, Any]:
    """Record a removal; return its columns, which the row in hand gets when all else has worked."""
    _check_in_service(component, on, today)
    if not removal.reason:
        raise FittingError(_("Write why it was removed."))
    last = component.lay_ups.order_by("-off_on").first()
    if last is not None and on < (latest := last.back_on or last.off_on):
        raise FittingError(_("It was taken down or put back on %(day)s. Write that day or later.") % {"day": latest})
    values = dict(zip(REMOVAL, (on, removal.reason, removal.mode, removal.cause), strict=True))
    if not Component.objects.filter(pk=component.pk, removed_on=None).update(**values):
        raise FittingError(_("Somebody recorded its removal a moment ago. Look at the part again."))
    return values


def _set(component: Component, values: Mapping[str, Any]) -> None:
    for name, value in values.items():
        setattr(component, name, value)


def _take(component: Component, quantity: Decimal | None, by: User | None) -> StockMove | None:
    if quantity is None:
        return None
    if component.material is None:
        raise FittingError(_("Choose the material that came out of the store."))
    try:
        return store.move(
            farm=component.farm, material=component.material, quantity=quantity, on=component.fitted_on,
            reason=StockMove.Reason.USED, by=by, component=component,
        )  # fmt: skip
    except store.StoreError as error:
        raise FittingError(str(error)) from error


def _unfit(farm: Farm, pk: int) -> None:
    """Delete a part that was entered, unless it has a history of its own by now."""
    part = Component.objects.of(farm).filter(pk=pk).first()
    if part is None:
        return
    worked = Job.objects.filter(plan__component=part).exclude(state__in=[Job.State.OPEN, Job.State.LAPSED]).exists()
    if part.removed_on or worked or part.lay_ups.exists() or Repair.objects.filter(component=part).exists():
        raise FittingError(
            _("%(part)s has a history by now. Record that it was removed, by mistake or otherwise.") % {"part": part}
        )
    part.delete()


def _restore(farm: Farm, pk: int) -> None:
    part = Component.objects.of(farm).filter(pk=pk).first()
    if part is None:
        raise FittingError(_("The part that was removed is no longer in the register."))
    if Component.objects.filter(replaces=part).exists():
        raise FittingError(_("Another part has taken its place. Take that back first."))
    part.removed_on, part.removal_reason, part.failure_mode, part.failure_cause = None, "", "", ""
    part.save(update_fields=list(REMOVAL))


def _undo_lay_up(farm: Farm, pk: int, did: str) -> None:
    kept = LayUp.objects.of(farm).filter(pk=pk).first()
    if kept is None:
        return
    if did == "lay_up" and kept.back_on is not None:
        raise FittingError(_("It was put back on %(day)s since. Take that back first.") % {"day": kept.back_on})
    if did == "lay_up":
        kept.delete()
        return
    if LayUp.objects.filter(component=kept.component_id, back_on=None).exists():
        raise FittingError(_("It was taken down again since. Take that back first."))
    kept.back_on = None
    kept.save(update_fields=["back_on"])
