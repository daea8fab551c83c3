"""What comes into the store and leaves it, what lies there, and what to buy for the work that is known."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_CEILING, Decimal
from typing import Final

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q, Sum
from django.utils.translation import gettext as _

from doors.models import Component, Material, StockMove
from farm.models import Farm
from maintenance.models import Job, Routine

Reason = StockMove.Reason
INWARDS: Final = frozenset({Reason.BOUGHT, Reason.RETURNED})
OUTWARDS: Final = frozenset({Reason.USED, Reason.SCRAPPED})
SPARE: Final = Decimal("1.2")  # -, what failed within a year and a fifth more: common practice, no source
YEAR: Final = timedelta(days=365)
FAILED: Final = Q(removal_reason__in=[Component.Reason.BROKEN, Component.Reason.STORM]) | ~Q(failure_mode="")
NOTHING: Final = Decimal(0)


class StoreError(Exception):
    """A move that cannot be; its text is a sentence for the reader."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """What a material is wanted for, and what lies in store of it; in the unit the store counts it in."""

    material: Material
    lies: Decimal = NOTHING
    due: Decimal = NOTHING  # taken by jobs that are open
    failed: Decimal = NOTHING  # within a year

    @property
    def spare(self) -> Decimal:
        """What should lie there once the open jobs are done."""
        expected = (self.failed * SPARE).to_integral_value(ROUND_CEILING)
        return max(self.material.least_stock or NOTHING, expected)

    @property
    def to_buy(self) -> Decimal:
        """What is lacking for both."""
        return max(self.due + self.spare - self.lies, NOTHING)

    @property
    def is_short(self) -> bool:
        """Whether less lies there than should."""
        return self.material.least_stock is not None and self.lies < self.material.least_stock


@transaction.atomic
def move(
    *, farm: Farm, material: Material, quantity: Decimal, on: date, reason: str, by: User | None = None,
    component: Component | None = None, note: str = "",
) -> StockMove:  # fmt: skip
    """Note pieces that came or went; whether they came or went follows from the reason.

    What is used may exceed what the list says: the list is wrong then, not the hand that took it.

    Raises
    ------
    StoreError
        If the quantity is not above 0, or the material is not this farm's.
    """
    if quantity <= 0:
        raise StoreError(_("Write how many, more than 0."))
    _own(farm, material)
    if reason not in INWARDS | OUTWARDS:
        raise StoreError(_("Choose why: bought, put back, used or thrown away."))
    signed = quantity if reason in INWARDS else -quantity
    return StockMove.objects.create(
        farm=farm, material=material, quantity=signed, on=on, reason=reason, by=by, component=component, note=note
    )


@transaction.atomic
def count(
    *, farm: Farm, material: Material, found: Decimal, on: date, by: User | None = None, note: str = ""
) -> StockMove | None:
    """Note what was counted at the end of a day: the difference is a move; none where the list was right.

    Raises
    ------
    StoreError
        If less than nothing was found, or the material is not this farm's.
    """
    if found < 0:
        raise StoreError(_("Write what you counted, 0 or more."))
    _own(farm, material)
    Material.objects.select_for_update().get(pk=material.pk)  # two counts at once must not both correct
    known = StockMove.objects.of(farm).filter(material=material, on__lte=on).aggregate(total=Sum("quantity"))["total"]
    difference = found - (known or NOTHING)
    if not difference:
        return None
    return StockMove.objects.create(
        farm=farm, material=material, quantity=difference, on=on, reason=Reason.COUNTED, by=by, note=note
    )


def reverse(*, taken: StockMove, on: date, by: User | None = None) -> StockMove:
    """Put back what a move took out; the move itself stays."""
    return StockMove.objects.create(
        farm=taken.farm, material=taken.material, quantity=-taken.quantity, on=max(on, taken.on),
        reason=Reason.RETURNED, by=by, note=_("taken back"),
    )  # fmt: skip


def needs(*, farm: Farm, on: date) -> list[Need]:
    """Return every material in use with what lies there, what open jobs take, and what failed within a year.

    Film is left out of the latter two: the store counts it by roll or area, the parts by layer.
    """
    balances = StockMove.objects.of(farm).balances()
    due, failed = _due(farm), _failed(farm, on)
    materials = Material.objects.of(farm).filter(Q(is_in_book=True) | Q(pk__in=balances)).order_by("kind", "code")
    return [
        Need(material=each, lies=balances.get(each.pk, NOTHING), due=due[each.pk], failed=failed[each.pk])
        for each in materials
    ]


def _own(farm: Farm, material: Material) -> None:
    if material.farm_id != farm.pk:
        raise StoreError(_("That material is not in this farm's book."))


def _due(farm: Farm) -> Mapping[int, Decimal]:
    """Return what open jobs take: the parts their routines name, and the parts that are to be renewed."""
    taken: dict[int, Decimal] = defaultdict(Decimal)
    codes = dict(Material.objects.of(farm).filter(is_in_book=True).values_list("code", "pk"))
    jobs = Job.objects.of(farm).undone().select_related("plan__routine", "plan__component__material")
    for job in jobs:
        routine, part = job.plan.routine, job.plan.component
        for code, quantity in _named(routine):
            if code in codes:
                taken[codes[code]] += quantity
        if routine.answer == Routine.Answer.REPLACED and part and part.material and part.material.kind != "film":
            taken[part.material.pk] += part.quantity
    return taken


def _named(routine: Routine) -> Iterable[tuple[str, Decimal]]:
    for line in routine.parts:
        yield str(line["material"]), Decimal(str(line["quantity"]))


def _failed(farm: Farm, on: date) -> Mapping[int, Decimal]:
    parts = Component.objects.of(farm).filter(FAILED, removed_on__gt=on - YEAR, removed_on__lte=on)
    counted = parts.exclude(material=None).exclude(material__kind="film").order_by().values_list("material")
    return defaultdict(Decimal, dict(counted.annotate(total=Sum("quantity"))))
