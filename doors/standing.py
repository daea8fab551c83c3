"""How the farm stands: verdicts counted, doors that cannot wait, weaknesses nobody typed in."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from django.db.models import Count

from doors.models import Door, Sizing
from farm.geometry import angle_between
from farm.models import Farm, Opening, Tunnel

WIDE_FROM_MM: Final = Decimal("2438.4")  # 8 ft, where hand-cranked film doors begin; common practice, no source
WINDWARD_WITHIN: Final = 45  # degrees either side of square on to the wind
CODES_SHOWN: Final = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Weaknesses:
    """What stands badly by the farm's own layout; nothing here is anybody's fault."""

    wide_doors: int
    windward_doors: int
    without_exit: int
    without_exit_codes: tuple[str, ...]

    @property
    def most_face_the_storm(self) -> bool:
        """Whether at least half of the wide doors face the storm wind."""
        return 0 < self.wide_doors <= 2 * self.windward_doors


def verdict_counts(farm: Farm) -> dict[str, int]:
    """Return how many doors in use have each verdict; a door never sized counts as blocked."""
    doors = Door.objects.of(farm).in_use()
    sizings = Sizing.objects.of(farm).in_force(doors).order_by()
    counts = dict.fromkeys(Sizing.Verdict.values, 0) | dict(sizings.values_list("verdict").annotate(Count("pk")))
    counts[Sizing.Verdict.BLOCKED] += doors.filter(sizing=None).count()
    return counts


def urgent_doors(farm: Farm, most: int) -> list[Door]:
    """Return the first doors that were refused, then those whose missing measurements stop the cutting."""
    ids: list[int] = []
    for verdict in (Sizing.Verdict.FAIL, Sizing.Verdict.BLOCKED):
        ids += Door.objects.with_verdict(farm, verdict).values_list("pk", flat=True)[:most]
    doors = {door.pk: door for door in Door.objects.of(farm).for_urgent().filter(pk__in=ids[:most])}
    return [doors[pk] for pk in ids[:most]]


def weaknesses(farm: Farm) -> Weaknesses:
    """Return the farm's standing weaknesses."""
    wide = Opening.objects.of(farm).in_use().filter(rough_width_mm__gte=WIDE_FROM_MM)
    standing = wide.exclude(end_wall__tunnel__status=Tunnel.Status.RETIRED).order_by()
    facing = list(standing.values_list("end_wall__bearing_deg").annotate(number=Count("pk")))
    shut_in = Tunnel.objects.of(farm).without_exit()
    codes = tuple(shut_in.values_list("code", flat=True)[:CODES_SHOWN])
    return Weaknesses(
        wide_doors=sum(number for _, number in facing),
        windward_doors=sum(number for bearing, number in facing if _faces(bearing, farm.storm_bearing_deg)),
        without_exit=shut_in.count(),
        without_exit_codes=codes,
    )


def _faces(bearing: Decimal | None, wind_from: Decimal | None) -> bool:
    if bearing is None or wind_from is None:
        return False
    return bool(angle_between(float(bearing), float(wind_from)) <= WINDWARD_WITHIN)
