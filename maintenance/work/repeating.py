"""Which faults come back: the same part at the same spot of the same place, again and again."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from doors.models import Component
from farm.models import Farm
from maintenance.models import Repair, ScrewCheck
from maintenance.querysets import RepairQuerySet, ScrewCheckQuerySet

MANY: Final = 3  # failures that make a repeat, within MONTHS: common practice, no source
MONTHS: Final = 24
FAMILY: Final[Mapping[str, str]] = {
    Component.Kind.CLAMP_SCREW: Component.Kind.CLAMP
}  # a screw that spins is a clamp that holds no more
PLACES: Final = ("opening_id", "end_wall_id", "tunnel_id")
Key = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class Failure:
    """One failure: the day, what it was in words, and its fault where one was logged."""

    on: date
    words: str
    repair: Repair | None


@dataclass(frozen=True, slots=True)
class Repeat:
    """A part that failed again and again at one spot: where, and each time, the last one first."""

    row: Repair | ScrewCheck
    part: str
    spot: str
    failures: tuple[Failure, ...]

    @property
    def months(self) -> int:
        """Whole months, at least one, that hold all the failures."""
        return months_that_hold(self.failures[-1].on, self.failures[0].on)


def repeats(*, farm: Farm, on: date) -> list[Repeat]:
    """Return where the same part failed three times in the 24 months up to a day, the most failures first."""
    since = months_before(on, MONTHS)
    failed: dict[Key, dict[date, Failure]] = defaultdict(dict)
    rows: dict[Key, Repair | ScrewCheck] = {}
    for key, row, failure in _failures(farm, since, on):
        failed[key].setdefault(failure.on, failure)  # a fault and the check that found it are one
        rows.setdefault(key, row)
    found = [
        Repeat(rows[key], key[1], rows[key].spot, tuple(days[day] for day in sorted(days, reverse=True)))
        for key, days in failed.items()
        if len(days) >= MANY
    ]
    return sorted(found, key=lambda repeat: (-len(repeat.failures), -repeat.failures[0].on.toordinal()))


def repeat_counts(*, farm: Farm, on: date) -> dict[int, int]:
    """Return the faults that are part of a repeat, by id, with the days on which their part failed."""
    days: dict[Key, set[date]] = defaultdict(set)
    faults: dict[Key, list[int]] = defaultdict(list)
    for key, row, failure in _failures(farm, months_before(on, MONTHS), on):
        days[key].add(failure.on)
        if isinstance(row, Repair):
            faults[key].append(row.pk)
    return {pk: len(days[key]) for key, pks in faults.items() for pk in pks if len(days[key]) >= MANY}


def days_at(*, repair: Repair, on: date) -> list[date]:
    """Return the days on which a fault's part failed at its spot in the 24 months up to a day, this fault included."""
    key, since = _key(repair), months_before(on, MONTHS)
    place = next(({name: pk} for name in PLACES if (pk := getattr(repair, name)) is not None), {})
    return sorted({failure.on for other, _row, failure in _failures(repair.farm, since, on, place) if other == key})


def part_family(part: str) -> str:
    """Return the part that a failure counts for: a screw's counts for its clamp."""
    return str(FAMILY.get(part, part))


def spot_key(spot: str) -> str:
    """Return a spot as it is compared: “Right jamb,  clamp 4” is “right jamb,clamp 4”."""
    return "".join(spot.casefold().split())


def months_before(day: date, months: int) -> date:
    """Return the same day so many months earlier, or that month's last."""
    years, month = divmod(day.year * 12 + day.month - 1 - months, 12)
    for last in (day.day, 30, 29, 28):
        try:
            return date(years, month + 1, min(day.day, last))
        except ValueError:
            continue
    raise AssertionError  # every month has 28 days


def months_that_hold(first: date, last: date) -> int:
    """Return the least whole months, at least one, that reach from one day to another."""
    whole = (last.year - first.year) * 12 + last.month - first.month
    return max(1, whole + (last.day > first.day))


def _failures(
    farm: Farm, since: date, on: date, place: Mapping[str, int] | None = None
) -> Iterator[tuple[Key, Repair | ScrewCheck, Failure]]:
    """Yield what failed since a day, on the farm or at one place, the newest fault first."""
    repairs, checks = _repairs(farm, since, on), _checks(farm, since, on)
    if place is not None:
        repairs, checks = repairs.filter(**place), checks.filter(opening=place.get("opening_id"))
    for repair in repairs:
        yield _key(repair), repair, Failure(repair.found_on, str(repair.get_mode_display()), repair)
    for check in checks:
        key = (f"opening-{check.opening_id}", str(Component.Kind.CLAMP), spot_key(check.spot))
        yield key, check, Failure(check.on, str(check.get_outcome_display()), None)


def _repairs(farm: Farm, since: date, on: date) -> RepairQuerySet:
    found = Repair.objects.of(farm).filter(found_on__gt=since, found_on__lte=on)
    return found.for_list().order_by("-found_on", "-pk")


def _checks(farm: Farm, since: date, on: date) -> ScrewCheckQuerySet:
    found = ScrewCheck.objects.of(farm).bad().filter(on__gt=since, on__lte=on)
    return found.select_related("opening__end_wall__tunnel").order_by("-on", "-pk")


def _key(repair: Repair) -> Key:
    places = ((name, getattr(repair, name)) for name in PLACES)
    place = next((f"{name.removesuffix('_id')}-{pk}" for name, pk in places if pk is not None), "farm")
    return place, part_family(repair.part), spot_key(repair.spot)
