"""A part is replaced, and the faults that went out with the old one are closed in the same breath."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _

from doors.models import Component
from maintenance.models import Repair
from maintenance.stores import fitting
from maintenance.stores.fitting import Change, NewPart, Removal
from maintenance.work import faults
from maintenance.work.repeating import PLACES, part_family, spot_key


@dataclass(frozen=True, slots=True)
class Offer:
    """A fault that a new part may mend, and whether it is likely to."""

    repair: Repair
    is_likely: bool


def faults_of(component: Component) -> list[Offer]:
    """Return the faults that a part's replacement may close: its own, and those of such a part at its place.

    A fault that names no part in service is likely this one's where nothing tells them apart: the spots are the
    same, or the fault names none.
    """
    place = next(({name: pk} for name in PLACES if (pk := getattr(component, name)) is not None), {})
    standing = Repair.objects.filter(farm=component.farm_id).unmended().for_list().select_related("farm", "job__farm")
    rows = standing.filter(component=component) | standing.filter(component=None, **_only(place))
    family = part_family(component.kind)
    return [
        Offer(row, row.component_id == component.pk or spot_key(row.spot) in ("", spot_key(component.spot)))
        for row in rows.select_related("job__plan__routine").order_by("found_on", "pk")
        if row.component_id == component.pk or part_family(row.part) == family
    ]


@transaction.atomic
def replace_part(
    *, component: Component, on: date, removal: Removal, new: NewPart, today: date, by: User | None, now: datetime,
    closes: Sequence[Repair] = (),
) -> Change:  # fmt: skip
    """Replace a part, and end the faults it had with it.

    Raises
    ------
    FittingError
        As `fitting.replace`.
    WorkError
        If a fault was mended meanwhile, was found later than ``on``, or its job waits for another.
    """
    change = fitting.replace(component=component, on=on, removal=removal, new=new, today=today, by=by)
    for repair in closes:
        faults.mend(repair=repair, by=by, now=now, on=on, cause=removal.cause, note=_("Replaced with a new part."))
    return change


def _only(place: dict[str, int]) -> dict[str, int | None]:
    """Return the columns of a place, with nothing in the narrower ones: a tunnel's sheet is not its doors' film."""
    if not place:
        return {"pk": None}
    narrower = PLACES[: PLACES.index(next(iter(place)))]
    return {**dict.fromkeys(narrower), **place}
