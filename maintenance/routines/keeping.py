"""Change the rules of upkeep: a changed routine sets its plans anew, one switched off ends them."""

from __future__ import annotations

from collections.abc import Callable, Collection
from datetime import date
from typing import Final

from django.db import transaction
from django.utils.text import slugify

from farm.models import Farm
from maintenance.models import Plan, Routine
from maintenance.plans.laying import lay_plans, replan
from maintenance.practice.start import start_routines

RESERVED: Final = "repair"  # faults make the plans of this one
LONGEST_CODE: Final = 50  # leaves room for a number


@transaction.atomic
def keep(*, routine: Routine, save: Callable[[], object], on: date) -> None:
    """Save a routine that was changed or is new, and lay its plans anew; open jobs stay as they are."""
    if not routine.code:
        routine.code = _free_code(routine)
    save()
    replan(routine=routine, on=on)


@transaction.atomic
def switch(*, routine: Routine, is_active: bool, on: date) -> None:
    """Switch a routine on or off; off ends its plans, and what was not done yet with them."""
    routine.is_active = is_active
    routine.save(update_fields=["is_active"])
    lay_plans(farm=routine.farm, on=on)


@transaction.atomic
def start(*, farm: Farm, on: date) -> None:
    """Give a farm the routines of the trade that it lacks, and lay their plans."""
    start_routines(farm=farm)
    lay_plans(farm=farm, on=on)


def reach(*, routine: Routine, save: Callable[[], object], on: date) -> int:
    """Return at how many places a routine would apply if it were kept as it is; nothing is kept."""
    is_new = routine.pk is None
    with transaction.atomic():
        keep(routine=routine, save=save, on=on)
        count = Plan.objects.running().filter(routine=routine).count()
        transaction.set_rollback(True)
    if is_new:
        routine.pk, routine.code = None, ""
    return count


def waits_in_a_ring(*, routine: Routine, first: Collection[Routine]) -> Routine | None:
    """Return the one of ``first`` that waits for the routine itself, over however many others."""
    links = Routine.waits_for.through.objects.filter(from_routine__farm=routine.farm_id)
    waits: dict[int, list[int]] = {}
    for after, before in links.values_list("from_routine", "to_routine"):
        waits.setdefault(after, []).append(before)
    return next((each for each in first if _leads(each.pk, routine.pk, waits)), None)


def _leads(start_pk: int, wanted: int | None, waits: dict[int, list[int]]) -> bool:
    seen: set[int] = set()
    ahead = [start_pk]
    while ahead:
        pk = ahead.pop()
        if pk == wanted:
            return True
        if pk not in seen:
            seen.add(pk)
            ahead += waits.get(pk, [])
    return False


def _free_code(routine: Routine) -> str:
    """Return a code for a new routine, from its name."""
    named = next((text for text in routine.name.values() if text), "")
    stem = slugify(named)[:LONGEST_CODE] or "routine"
    taken = {*Routine.objects.of(routine.farm).values_list("code", flat=True), RESERVED}
    number, code = 1, stem
    while code in taken:
        number += 1
        code = f"{stem}-{number}"
    return code
