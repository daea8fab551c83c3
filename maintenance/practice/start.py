"""Give a farm the routines of the trade."""

from __future__ import annotations

from typing import Final

from django.db import transaction

from farm.models import Farm
from maintenance.models import Routine
from maintenance.practice import doors, film, frame, rounds, screws, weather
from maintenance.practice.starter import Starter

STARTERS: Final[tuple[Starter, ...]] = (
    *film.STARTERS, *screws.STARTERS, *doors.STARTERS, *frame.STARTERS, *rounds.STARTERS, *weather.STARTERS,
)  # fmt: skip


@transaction.atomic
def start_routines(*, farm: Farm) -> None:
    """Give a farm the routines it lacks, by code; those it has, edited or switched off, stay as they are."""
    held = set(Routine.objects.of(farm).values_list("code", flat=True))
    lacking = [starter for starter in STARTERS if starter.code not in held]
    if not lacking:
        return
    Routine.objects.bulk_create([starter.routine_of(farm) for starter in lacking], ignore_conflicts=True)
    _link(farm, lacking)


def _link(farm: Farm, starters: list[Starter]) -> None:
    """Say of each new routine what it waits for; older ones may have been told otherwise by the farm."""
    ids = dict(Routine.objects.of(farm).values_list("code", "pk"))
    link = Routine.waits_for.through
    link.objects.bulk_create(
        [
            link(from_routine_id=ids[starter.code], to_routine_id=ids[code])
            for starter in starters
            for code in starter.waits_for
        ],
        ignore_conflicts=True,
    )
