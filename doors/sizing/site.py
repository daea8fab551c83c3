"""How an opening suits its place: square, an exit beside it, the storm wind, its share of the wall, its width.

None of these checks stops the cutting. All but the diagonals are standing notes that leave the verdict as it is, and a
measurement that is missing changes nothing: a warning on every door of a farm would be read by nobody.
"""

from __future__ import annotations

import math

from doors.sizing.fit import blocked, check
from doors.sizing.opening import FILM_ROLLS, DoorKind, Exit, Opening
from doors.sizing.quantity import SAME
from doors.sizing.rules import Rules
from doors.sizing.sheet import Check, Verdict
from doors.sizing.sheet import Figures as Facts

WITHIN_STORM = math.radians(45.0)  # rad; a wall that faces the storm wind this closely; common practice, no source
WIDER_BY = 2  # size steps a door may be wider than what passes needs; common practice, no source
NOTES = frozenset({"exit", "storm", "wall_left", "wider"})  # standing notes: said, but no verdict on the door


def site_checks(opening: Opening, clear_width: float | None, rules: Rules) -> tuple[Check, ...]:
    """Return the checks of an opening in its place; ``clear_width`` is that of its kind of door. [m]"""
    checks = (
        diagonals(opening, rules),
        exit_door(opening),
        storm(opening),
        wall_left(opening, rules),
        wider(opening, clear_width, rules),
    )
    return tuple(made for made in checks if made is not None)


def is_note(made: Check) -> bool:
    """Return whether a check has no say in the verdict: a standing note, or diagonals that nobody measured."""
    return made.check in NOTES or (made.check == "diagonals" and made.verdict == Verdict.BLOCKED)


def diagonals(opening: Opening, rules: Rules) -> Check | None:
    """Check both measured diagonals against each other, and against width and height.

    Returns
    -------
    Check or None
        None where neither was measured.

    Notes
    -----
    An opening is square where they agree; then each is the root of the sum of the squares of width and height.
    """
    first, second = opening.site.diagonal_1, opening.site.diagonal_2
    if first is None and second is None:
        return None
    if first is None or second is None:
        return blocked("diagonals", "site.diagonal_1" if first is None else "site.diagonal_2")
    square = math.hypot(opening.rough_width, opening.rough_height)
    facts = {"first": first, "second": second, "square": square, "apart": abs(first - second),
             "tolerance": rules.diagonal_tolerance}  # fmt: skip
    if abs(first - second) > rules.diagonal_tolerance + SAME:
        return check("diagonals", Verdict.WARN, "out_of_square", facts)
    if abs((first + second) / 2 - square) > rules.diagonal_tolerance + SAME:
        return check("diagonals", Verdict.WARN, "diagonals_odd", facts)
    return check("diagonals", Verdict.PASS, "square", facts)


def exit_door(opening: Opening) -> Check | None:
    """Check that the tunnel has a side-hinged person door: a closed film, sliding or coil door is not an exit."""
    if opening.kind == DoorKind.PERSON:
        return None
    if opening.site.exit is None:
        return blocked("exit", "site.exit")
    if opening.site.exit == Exit.NONE:
        return check("exit", Verdict.WARN, "no_exit", {})
    return check("exit", Verdict.PASS, f"exit_in_{opening.site.exit}", {})


def storm(opening: Opening) -> Check | None:
    """Check whether a large door stands in the wall that meets the storm wind."""
    if opening.kind == DoorKind.PERSON:
        return None
    angle = opening.site.storm_angle
    if angle is None:
        return blocked("storm", "site.storm_angle")
    faces = angle <= WITHIN_STORM + SAME
    facts = Facts(numbers={"degrees": math.degrees(angle), "within": math.degrees(WITHIN_STORM)})
    return Check(
        check="storm", verdict=Verdict.WARN if faces else Verdict.PASS, reason="windward" if faces else "lee",
        figures=facts,
    )  # fmt: skip


def wall_left(opening: Opening, rules: Rules) -> Check | None:
    """Check that a large door leaves enough wall at both sides to brace the end.

    Returns
    -------
    Check or None
        None for people's doors, or where it is not known where the opening stands: the jambs' check says so.
    """
    wall = opening.wall.width
    if opening.kind == DoorKind.PERSON or opening.offset is None or wall is None:
        return None
    left, right = opening.offset, wall - opening.offset - opening.rough_width
    facts = {"left": left, "right": right, "least": rules.wall_beside}
    if min(left, right) < rules.wall_beside - SAME:
        return check("wall_left", Verdict.WARN, "little_wall", facts)
    return check("wall_left", Verdict.PASS, "enough_wall", facts)


def wider(opening: Opening, clear_width: float | None, rules: Rules) -> Check | None:
    """Check that a door is no wider than what passes needs with its recommended margins.

    Returns
    -------
    Check or None
        None for people's doors, where nothing that must pass was named, or where the clear width is not known.
    """
    if opening.kind == DoorKind.PERSON or opening.machine is None or clear_width is None:
        return None
    needed = opening.machine.width + 2 * rules.machine_side_good
    over = clear_width - needed
    # No film door is usually narrower than the least of its kind, whatever passes.
    enough = opening.rough_width - math.floor(over / rules.size_step + SAME) * rules.size_step
    enough = max(enough, rules.film_door_least if opening.kind in FILM_ROLLS else 0.0)
    facts = {"clear": clear_width, "needed": needed, "over": over, "enough": enough}
    is_wider = over > WIDER_BY * rules.size_step + SAME and enough < opening.rough_width - SAME
    outcome = (Verdict.WARN, "wider_than_needed") if is_wider else (Verdict.PASS, "as_wide_as_needed")
    return check("wider", *outcome, facts, machine=opening.machine.name)
