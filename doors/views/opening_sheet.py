"""The opening sheet: the door's drawings, cut list, marks, hardware, steps, checks and cautions."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any, Final

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from doors import sizing as core
from doors.differences import differences
from doors.drawn.drawings import elevation
from doors.drawn.marking import film_stages, mark_rows
from doors.drawn.sections import bar_strip, section
from doors.models import Door, Sizing
from doors.rows import wall_name
from doors.sheets import inputs_from_json, sheet_from_json
from doors.words.kinds import cautions_of
from doors.words.wording import (
    check_name,
    check_text,
    item_name,
    missing_text,
    part_name,
    place_name,
    reason_text,
    step_text,
)
from farm.access import FarmRequest, member
from farm.models import Opening
from farm.units import format_length

REVISIONS_SHOWN: Final = 8
# The order a reader needs checks in, and what each outcome is called.
OUTCOMES: Final[dict[str, str | Promise]] = {
    "fail": gettext_lazy("fails"),
    "blocked": gettext_lazy("not checked"),
    "warn": gettext_lazy("look twice"),
    "pass": gettext_lazy("holds"),
}


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One check as the page prints it."""

    name: str
    verdict: str
    word: str
    text: str


@member("viewer")
@require_safe
def opening(request: FarmRequest, pk: int) -> HttpResponse:
    """Show the sheet a door is cut and hung by: the one it was hung by, else the newest."""
    found, door = _rows(request, pk)
    current = door.sizing if door else None
    shown = door.as_built if door and door.as_built else current
    extra: dict[str, Any] = {"may_change": True}
    if shown and current and shown.pk != current.pk:
        extra |= {"newer": current, "differs_in": _differences(shown, current)}
    return _page(request, found, door, shown, extra)


@member("viewer")
@require_safe
def sheet(request: FarmRequest, pk: int, number: int) -> HttpResponse:
    """Show one kept revision of a sheet, as it was made."""
    found, door = _rows(request, pk)
    kept = get_object_or_404(Sizing.objects.of(request.farm), opening=found, number=number)
    return _page(request, found, door, kept, {"is_kept": True})


def _rows(request: FarmRequest, pk: int) -> tuple[Opening, Door | None]:
    door = Door.objects.of(request.farm).for_sheet().filter(opening_id=pk).first()
    if door is not None:
        return door.opening, door
    return get_object_or_404(Opening.objects.of(request.farm).with_place(), pk=pk), None


def _page(
    request: FarmRequest, found: Opening, door: Door | None, shown: Sizing | None, extra: dict[str, Any]
) -> HttpResponse:
    wall = found.end_wall
    context = {
        "what": _("%(code)s, %(kind)s") % {"code": found.code, "kind": found.get_kind_display()},
        "where": wall_name(wall.tunnel, wall),
        "opening": found,
        "tunnel": wall.tunnel,
        "wall": wall,
        "door": door,
        "notes": _notes(found),
        "sizing": shown,
        "revisions": Sizing.objects.of(request.farm).filter(opening=found).for_revisions()[:REVISIONS_SHOWN],
        **(_sheet_context(shown, request.farm.units) if shown else {}),
        **extra,
    }
    return render(request, "doors/opening.html", context)


def _notes(found: Opening) -> list[tuple[str, str]]:
    """Return what somebody wrote down of an opening, its wall and its tunnel, nearest first."""
    wall = found.end_wall
    places = (
        (found.code, found.notes),
        (_("End wall %(name)s") % {"name": wall_name(wall.tunnel, wall)}, wall.notes),
        (_("Tunnel %(code)s") % {"code": wall.tunnel.code}, wall.tunnel.notes),
    )
    return [(place, text) for place, text in places if text]


def _sheet_context(shown: Sizing, units: str) -> dict[str, Any]:
    """Return everything a sizing says, in the reader's units."""
    head = {
        "date": shown.made_at,
        "revision": _("%(number)d, core %(version)s") % {"number": shown.number, "version": shown.core_version},
        "reason": reason_text(shown.reason, units),
    }
    if not shown.result:  # the core could not take the opening at all
        return head
    read, given, rules = _read(shown)
    missing = [missing_text(gap) for gap in read.missing]
    printed: Callable[[float], str] = partial(format_length, units=units)
    drawing = elevation(given, read, printed)
    return head | {
        "scale": f"1:{drawing.scale}",
        "sheet": read,
        "given": given,
        "rules": rules,
        "elevation": drawing,
        "section": section(given, read, rules, printed),
        "strip": bar_strip(given, read, printed),
        "is_film": given.kind in core.FILM_ROLLS,
        "is_mid_bar": given.kind == core.DoorKind.MID_BAR,
        # A film door's own cautions stand in the template, with their warnings.
        "kind_cautions": () if given.kind in core.FILM_ROLLS else cautions_of(given.kind),
        "checks": _checks(read, units),
        "unchecked": [check_name(one.check) for one in read.checks if _waits(one, read)],
        "missing": [line for line in missing if line != head["reason"]],
        "cuts": [(part_name(cut.part), cut) for cut in read.cuts],
        "hardware": [(item_name(line.item), place_name(line.place), line.count) for line in read.hardware],
        "marks": mark_rows(read),
        "stages": film_stages(read.panel) if read.panel else (),
        "steps": [step_text(step, units) for step in read.steps],
    }


def _read(kept: Sizing) -> tuple[core.Sheet, core.Opening, core.Rules]:
    """Return a kept sizing with the inputs it was made from: the drawing shows those, not today's."""
    given, rules = inputs_from_json(kept.inputs)
    return sheet_from_json(kept.result), given, rules


def _checks(read: core.Sheet, units: str) -> list[CheckLine]:
    order = list(OUTCOMES)
    return [
        CheckLine(check_name(one.check), str(one.verdict), str(OUTCOMES[one.verdict]), check_text(one, units))
        for one in sorted(read.checks, key=lambda check: order.index(check.verdict))
        if not _waits(one, read)
    ]


def _waits(one: core.Check, read: core.Sheet) -> bool:
    """Return whether a check only waits for what the sheet names as missing, with all that it blocks."""
    return one.verdict == core.Verdict.BLOCKED and bool(read.missing)


def _differences(old: Sizing, new: Sizing) -> list[str]:
    if not old.result or not new.result:
        return [_("Verdict")]
    return differences(sheet_from_json(old.result), sheet_from_json(new.result))
