"""Crank and sag in words: what the page says of the effort at the handle and of the bar at the drive."""

from __future__ import annotations

import math
from dataclasses import dataclass

from django.utils.translation import gettext as _

from doors.mechanics.lift import HANDLE_FORCE_LEAST, HANDLE_FORCE_MOST
from doors.mechanics.tube import STANDARD_GRAVITY
from doors.wind.cranking import CrankReading
from farm.units import MISSING, format_length, format_measure, significant


@dataclass(frozen=True, slots=True)
class CrankLine:
    """One figure of the crank as the page prints it."""

    name: str
    value: str
    note: str = ""


def crank_lines(reading: CrankReading, units: str) -> list[CrankLine]:
    """Return weights, effort, turns and time."""
    lines = [CrankLine(_("What the crank lifts"), _weight(reading.total, units), _("bars, clamps, channel and film"))]
    if reading.crank is None:
        missing = _("tubes, film and drive of the door are needed for the crank")
        return [*lines, CrankLine(_("Force on the handle"), MISSING, missing)]
    effort = reading.crank
    torque = format_measure("moment", max(float(effort.torque_closed), float(effort.torque_open)), units)
    return [
        *lines,
        CrankLine(_("Torque at the bar, at most"), torque),
        CrankLine(
            _("Force on the handle, at most"), format_measure("force", float(effort.handle_force), units),
            _force_note(float(effort.handle_force), units),
        ),
        CrankLine(_("Turns of the crank to open"), significant(reading.turns or math.nan, 3)),
        CrankLine(_("Time to open"), _seconds(float(effort.seconds)), _("at an easy pace")),
        _let_go(bool(effort.runs_back)),
    ]  # fmt: skip


def sag_lines(reading: CrankReading, units: str) -> list[CrankLine]:
    """Return the sag at the drive with and without the strip."""
    if reading.sag is None or reading.overhang is None:
        missing = _("drive side, wall width, offset and tube are needed")
        return [CrankLine(_("Sag at the drive"), MISSING, missing)]
    bare, held = reading.sag.tip, reading.sag.tip_with_strip
    return [
        CrankLine(_("Bar beyond the last clamp"), format_length(reading.overhang, units)),
        CrankLine(_("Sag at the gearbox, no strip"), _sag(bare, units)),
        CrankLine(
            _("Sag at the gearbox, with the strip"), _sag(held, units),
            _("the rules ask for the strip here") if reading.has_strip else _("the rules do not ask for one here"),
        ),
    ]  # fmt: skip


def _weight(newtons: float | None, units: str) -> str:
    return format_measure("mass", None if newtons is None else newtons / STANDARD_GRAVITY, units)


def _force_note(force: float, units: str) -> str:
    words = {
        "least": format_measure("force", HANDLE_FORCE_LEAST, units),
        "most": format_measure("force", HANDLE_FORCE_MOST, units),
    }
    if force > HANDLE_FORCE_MOST:
        return _("more than the %(least)s to %(most)s that suit a hand: a slower gear or a longer handle helps") % words
    if force < HANDLE_FORCE_LEAST:
        return _("lighter than the %(least)s to %(most)s that suit a hand; friction and ice come on top") % words
    return _("within the %(least)s to %(most)s that suit a hand; friction and ice come on top") % words


def _let_go(runs_back: bool) -> CrankLine:
    name = _("When the handle is let go")
    if runs_back:
        why = _("this drive does not lock itself: a brake, ratchet or latch has to hold the door")
        return CrankLine(name, _("runs back"), why)
    why = _("by the work lost in the drive alone; worn, it may not. Keep a second hold")
    return CrankLine(name, _("stays where it is"), why)


def _seconds(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return _("%(minutes)d min %(seconds)02d s") % {"minutes": minutes, "seconds": rest} if minutes else f"{rest} s"


def _sag(metres: float, units: str) -> str:
    if math.isinf(metres):
        return _("tips over its last clamp")
    return format_length(metres, units, short=True)
