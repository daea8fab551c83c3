"""What a job's card prints: the place in elevation, the spots of its screws, its parts, and what was done."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import override

from doors.drawn.drawings import elevation, rows_of
from doors.models import Door, Material, StockMove
from doors.sheets import inputs_from_json, sheet_from_json
from doors.sizing import Opening as SizedOpening
from doors.sizing import Sheet
from doors.words.wording import part_name
from farm.models import Farm
from farm.paper import Drawing
from farm.units import format_length
from maintenance.models import Job, JobEvent, Routine, ScrewCheck
from maintenance.words.said import person
from maintenance.work.repeating import spot_key

BARS: Final = ("turning_bar", "sill_bar")
MOST_EARLIER: Final = 400  # checks looked through for the spots an opening has


@dataclass(frozen=True, slots=True)
class PartLine:
    """A part that a job takes: how many, and how many lie in store; of a kind, all materials of it together."""

    name: str
    quantity: Decimal
    lies: Decimal
    code: str = ""

    @property
    def is_short(self) -> bool:
        """Whether the store lacks some."""
        return self.lies < self.quantity


@dataclass(frozen=True, slots=True)
class Told:
    """One line of a job's history."""

    event: JobEvent
    who: str
    note: str


def drawing_of(job: Job, units: str) -> tuple[Drawing | None, Sheet | None]:
    """Return the door of a job's opening in elevation, with its sheet; neither where it is not sized."""
    if job.plan.opening_id is None:
        return None, None
    door = Door.objects.of(job.farm).for_sheet().filter(opening_id=job.plan.opening_id).first()
    kept = door and (door.as_built or door.sizing)
    if not kept or not kept.result:
        return None, None
    given: SizedOpening = inputs_from_json(kept.inputs)[0]
    sheet = sheet_from_json(kept.result)
    return elevation(given, sheet, partial(format_length, units=units)), sheet


def screw_spots(job: Job, sheet: Sheet | None) -> list[str]:
    """Return the screws of a job's opening: those checked before, then the clamps of its sheet by number."""
    if job.plan.routine.answer != Routine.Answer.SCREWS or job.plan.opening_id is None:
        return []
    earlier = ScrewCheck.objects.of(job.farm).filter(opening=job.plan.opening_id).order_by("-on", "pk")
    return spots_from(list(earlier.values_list("spot", flat=True)[:MOST_EARLIER]), sheet, job.farm.language)


def spots_of_many(jobs: Sequence[Job], farm: Farm) -> dict[int, list[str]]:
    """Return the screws of each job that asks for them, by job, in two queries."""
    asked = {job.pk: job.plan.opening_id for job in jobs
             if job.plan.routine.answer == Routine.Answer.SCREWS and job.plan.opening_id is not None}  # fmt: skip
    if not asked:
        return {}
    doors = Door.objects.of(farm).for_sheet().filter(opening_id__in=set(asked.values()))
    sheets = {door.opening_id: sheet_from_json(kept.result) for door in doors
              if (kept := door.as_built or door.sizing) and kept.result}  # fmt: skip
    earlier: dict[int, list[str]] = defaultdict(list)
    checks = ScrewCheck.objects.of(farm).filter(opening__in=set(asked.values())).order_by("-on", "pk")
    for opening, spot in checks.values_list("opening_id", "spot"):
        if len(earlier[opening]) < MOST_EARLIER:
            earlier[opening].append(spot)
    return {pk: spots_from(earlier[opening], sheets.get(opening), farm.language) for pk, opening in asked.items()}


def spots_from(earlier: list[str], sheet: Sheet | None, language: str) -> list[str]:
    """Return spots that were checked before, the last first, and the clamps of a sheet, each once.

    They are named in the farm's language: a spot is compared by its words, whoever reads them.
    """
    spots = list(earlier)
    with override(language):
        for part in BARS if sheet else ():
            for row in rows_of(sheet, part, "clamp") if sheet else ():
                spots += [_("%(part)s, clamp %(number)d") % {"part": part_name(part), "number": number}
                          for number in range(1, row.count + 1)]  # fmt: skip
    return list({spot_key(spot): spot for spot in reversed(spots)}.values())[::-1]


def part_lines(routine: Routine, materials: list[Material]) -> list[PartLine]:
    """Return the parts a routine takes, with what lies in store of each."""
    balances = StockMove.objects.of(routine.farm).balances() if routine.parts else {}
    return [line_of(line, materials, balances) for line in routine.parts]


def line_of(line: dict[str, Any], materials: list[Material], balances: dict[int, Decimal]) -> PartLine:
    """Return one line of a routine's parts, by a material's code or by a kind of them."""
    wanted = str(line.get("material", ""))
    fitting = [material for material in materials if wanted in (material.code, material.kind)]
    lies = sum((balances.get(material.pk, Decimal(0)) for material in fitting), Decimal(0))
    name = fitting[0].name if len(fitting) == 1 else str(Material.Kind(wanted).label) if _is_kind(wanted) else wanted
    return PartLine(name, Decimal(str(line.get("quantity", 1))), lies, wanted)


def book_of(farm: Farm) -> list[Material]:
    """Return the materials that can be used, by kind and name."""
    return list(Material.objects.of(farm).in_book().order_by("kind", "name", "pk"))


def history_of(job: Job) -> list[Told]:
    """Return what was done with a job, the last first."""
    events = job.events.select_related("by").order_by("-pk")
    return [Told(event, person(event.by) if event.by else "", _note(event)) for event in events]


def used_parts(job: Job) -> list[tuple[str, Decimal]]:
    """Return the materials a finished job took, with how much of each."""
    taken = job.parts.select_related("move__material").order_by("pk")
    return [(part.move.material.name, -part.move.quantity) for part in taken]


def checked_screws(job: Job) -> list[ScrewCheck]:
    """Return what the screws of a finished job did."""
    return list(job.screw_checks.order_by("pk"))


def _is_kind(text: str) -> bool:
    return text in Material.Kind.values


def _note(event: JobEvent) -> str:
    """Return what an event says beside who and when."""
    until = event.facts.get("until_on")
    moved = _("to %(day)s") % {"day": until} if until else ""
    sheet = {"sheet": event.facts.get("sheet"), "who": event.facts.get("typed_by")}
    typed = _("typed in by %(who)s from sheet %(sheet)s") % sheet if sheet["who"] else ""
    return " · ".join(filter(None, (moved, event.note, typed)))
