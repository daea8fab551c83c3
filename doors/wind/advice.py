"""What would raise a door's limit, in words: the core's findings with what each takes."""

from __future__ import annotations

import math
from dataclasses import dataclass

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from doors.mechanics.upgrade import Advice, advise, plan_upgrades
from doors.sizing import FOOT, Tube
from doors.wind.inputs import DoorInWind
from doors.words.wind import gust_text
from farm.units import METRIC, format_length

SINGLE_SHOWN = 6  # changes listed, each by itself
PLAN_STEPS = 3
SLACK = 1e-6  # of a unit: binary noise is not ordered


@dataclass(frozen=True, slots=True)
class AdviceLines:
    """Changes each by itself, and the same made one after the other."""

    single: list[str]
    plan: list[str]


def advice_lines(door: DoorInWind, stock: tuple[Tube, ...], units: str) -> AdviceLines:
    """Return what would raise the limit of a door, found by reading it again with each change.

    Parameters
    ----------
    door : DoorInWind
        As it hangs, or as it is asked for.
    stock : tuple of Tube
        Tubes of the farm's book.
    units : {"us", "metric"}
        The reader's.
    """
    asked = (door.opening, door.site, door.strengths, door.rules)
    single = advise(*asked, stock=stock)
    plan = plan_upgrades(*asked, stock=stock, steps=PLAN_STEPS)
    return AdviceLines(
        single=[advice_text(one, units) for one in single[:SINGLE_SHOWN]],
        plan=[advice_text(one, units) for one in plan] if len(plan) > 1 else [],
    )


def advice_text(advice: Advice, units: str) -> str:
    """Return one change, by how much it raises the limit, and what it takes."""
    taken = ", ".join(_takes(advice, units))
    words = {
        "change": _change(advice, units),
        "before": gust_text(advice.before, units),
        "after": gust_text(advice.after, units),
        "takes": taken,
    }
    if taken:
        return _("%(change)s: the limit goes from %(before)s to %(after)s. It takes %(takes)s.") % words
    return _("%(change)s: the limit goes from %(before)s to %(after)s.") % words


def _change(advice: Advice, units: str) -> str:
    size = format_length(advice.size, units, short=True)
    number = {"number": advice.count}
    if advice.change == "inner_supports":
        return (
            ngettext(
                "%(number)d more anti-billow tube with an inner stud",
                "%(number)d more anti-billow tubes with inner studs",
                advice.count,
            )
            % number
        )
    if advice.change == "hold_downs":
        return _("%(number)d hold-downs, at most %(size)s apart") % {**number, "size": size}
    if advice.change == "new_film":
        return _("New film in the door")
    if advice.change == "deeper_tubes":
        return _("Anti-billow tubes %(size)s in the ground") % {"size": size}
    part = {
        "larger_turning_tube": _("Turning bar"),
        "larger_sill_tube": _("Sill bar"),
        "larger_anti_billow_tube": _("Anti-billow tubes"),
    }[advice.change]
    return _("%(part)s: %(name)s") % {"part": part, "name": advice.name or size}


def _takes(advice: Advice, units: str) -> list[str]:
    """Return the tube, rods and studs that a change takes."""
    taken = []
    if advice.tube_length > 0:
        taken.append(_("%(length)s of tube") % {"length": _amount(advice.tube_length, units)})
    if advice.rods:
        taken.append(ngettext("%(number)d tie rod", "%(number)d tie rods", advice.rods) % {"number": advice.rods})
    if advice.stud_length > 0:
        taken.append(_("%(length)s of stud") % {"length": _amount(advice.stud_length, units)})
    return taken


def _amount(metres: float, units: str) -> str:
    """Return a length to order: whole feet, or tenths of a metre, rounded up."""
    if units == METRIC:
        return f"{number_format(math.ceil(metres * 10 - SLACK) / 10, 1)} m"
    return f"{math.ceil(metres / FOOT - SLACK)} ft"
