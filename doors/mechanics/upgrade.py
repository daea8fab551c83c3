"""What would make a door stand more wind, found by reading the changed door again."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from doors.mechanics.assess import Site, read_wind
from doors.mechanics.strength import Strengths
from doors.mechanics.tube import section
from doors.sizing.figures import work_out
from doors.sizing.layout import supports
from doors.sizing.opening import DoorKind, Opening, Tube
from doors.sizing.quantity import FOOT, INCH, Length, SizingError
from doors.sizing.rules import Rules
from doors.sizing.size import given_of

WORTHWHILE = 1.03  # -; advice that raises the limit by less is not given; our own planning rule
SOME = 1 + 1e-6  # -; a step of a plan may gain less, where it opens the way for the next
MOST_INNER = 4  # -; inner supports tried
HOLD_DOWN_SPACINGS = (4 * FOOT, 3 * FOOT)  # m; common practice, no source
DEEPER = (36 * INCH, 48 * INCH)  # m; common practice, no source
TUBES = ("turning_tube", "sill_tube", "anti_billow_tube")


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """A change that raises the limit of the most secured state, found by reading the changed door again.

    ``tube_length``, ``rods`` and ``stud_length`` are what it takes: stock of anti-billow tube, tie rods, studs.
    """

    change: str
    count: int = 1
    size: Length | None = None
    name: str = ""
    before: float = np.nan  # m/s
    after: float = np.nan  # m/s
    tube_length: Length = 0.0
    rods: int = 0
    stud_length: Length = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Upgrade:
    """An advice and the door once it is followed."""

    advice: Advice
    opening: Opening
    site: Site
    rules: Rules


def advise(
    opening: Opening, site: Site, strengths: Strengths, rules: Rules, *, stock: tuple[Tube, ...] = ()
) -> tuple[Advice, ...]:
    """Return changes that raise the limit gust of the door when shut and held, best first.

    Parameters
    ----------
    opening, site, strengths, rules
        As `doors.mechanics.assess.read_wind`.
    stock : tuple of Tube
        Tubes the farm has or buys, tried in place of those chosen. [m]

    Returns
    -------
    tuple of Advice
        Each by itself; empty where the limit is not known. Of one change in several sizes or counts, a dearer one
        is given only where it raises the limit by 3 % over the cheaper.
    """
    return tuple(upgrade.advice for upgrade in upgrades(opening, site, strengths, rules, stock=stock))


def plan_upgrades(
    opening: Opening, site: Site, strengths: Strengths, rules: Rules, *, stock: tuple[Tube, ...] = (), steps: int = 3
) -> tuple[Advice, ...]:
    """Return changes to make one after the other: each time the one that then raises the limit most.

    Parameters
    ----------
    opening, site, strengths, rules, stock
        As `advise`.
    steps : int, default 3
        Most changes.

    Returns
    -------
    tuple of Advice
        ``before`` of each is ``after`` of the one ahead of it, and the last raises the limit by more than 3 %. One
        before it may gain less: where two links are equally weak, only both changes together help.

    Notes
    -----
    Greedy: each step is the best by itself. Another order or pair might do better.
    """
    plan: list[Advice] = []
    while len(plan) < steps:
        found = upgrades(opening, site, strengths, rules, stock=stock, least=SOME)
        if not found:
            break
        plan.append(found[0].advice)
        opening, site, rules = found[0].opening, found[0].site, found[0].rules
    while plan and plan[-1].after <= plan[-1].before * WORTHWHILE:
        plan.pop()
    return tuple(plan)


def upgrades(
    opening: Opening,
    site: Site,
    strengths: Strengths,
    rules: Rules,
    *,
    stock: tuple[Tube, ...] = (),
    least: float = WORTHWHILE,
) -> tuple[Upgrade, ...]:
    """Return the advice of `advise` that multiplies the limit by more than ``least``, each with its door."""
    before = read_wind(opening, site, strengths, rules)[-1].limit
    best: dict[str, float] = {}
    found = []
    for trial in _trials(opening, site, rules, stock):
        change = trial.advice.change
        try:
            after = read_wind(trial.opening, trial.site, strengths, trial.rules)[-1].limit
        except SizingError:  # the change leaves no door that can be made
            continue
        floor = best[change] * WORTHWHILE if change in best else before * least
        if after > floor:  # false where the limit is not known
            best[change] = after
            advice = dataclasses.replace(trial.advice, before=before, after=after)
            found.append(dataclasses.replace(trial, advice=advice))
    return tuple(sorted(found, key=_best_first))


def _best_first(upgrade: Upgrade) -> tuple[float, float, int]:
    return -upgrade.advice.after, upgrade.advice.tube_length, upgrade.advice.count


def _trials(opening: Opening, site: Site, rules: Rules, stock: tuple[Tube, ...]) -> Iterator[Upgrade]:
    """Yield the changed doors worth reading; of one change the cheaper first."""
    yield from _more_supports(opening, site, rules)
    yield from _other_tubes(opening, site, rules, stock)
    if site.film_left < 1:
        renewed = dataclasses.replace(site, film_left=1.0)
        yield Upgrade(advice=Advice(change="new_film"), opening=opening, site=renewed, rules=rules)
    for spacing in HOLD_DOWN_SPACINGS:
        if site.hold_down_spacing is None or spacing < site.hold_down_spacing:
            advice = Advice(change="hold_downs", count=_spaces(opening.rough_width, spacing) + 1, size=spacing)
            held = dataclasses.replace(site, hold_down_spacing=spacing)
            yield Upgrade(advice=advice, opening=opening, site=held, rules=rules)
    for depth in DEEPER:
        if depth > rules.post_embedment:
            tubes = _inner(opening, rules) + 2
            extra = tubes * (depth - rules.post_embedment)
            deeper = dataclasses.replace(rules, post_embedment=depth)
            advice = Advice(change="deeper_tubes", count=tubes, size=depth, tube_length=extra)
            yield Upgrade(advice=advice, opening=opening, site=site, rules=deeper)


def _more_supports(opening: Opening, site: Site, rules: Rules) -> Iterator[Upgrade]:
    """Yield doors with more anti-billow tubes, each with a stud behind it."""
    have, tube = _inner(opening, rules), _billow_length(opening, rules)
    for inner in range(have + 1, MOST_INNER + 1):
        added = inner - have
        advice = Advice(
            change="inner_supports",
            count=added,
            tube_length=added * tube,
            rods=added,
            stud_length=added * opening.rough_height,
        )
        closer = dataclasses.replace(rules, wide_from=0.0, support_spacing=opening.rough_width / (inner + 1))
        yield Upgrade(advice=advice, opening=opening, site=site, rules=closer)


def _other_tubes(opening: Opening, site: Site, rules: Rules, stock: tuple[Tube, ...]) -> Iterator[Upgrade]:
    """Yield doors with stronger tubes, the lighter first."""
    for part in TUBES:
        now: Tube | None = getattr(opening.design, part)
        if now is None or (part == "sill_tube" and opening.kind == DoorKind.BOTTOM_BAR):
            continue
        count, length = _length_of(part, opening, rules)
        stronger = [tube for tube in stock if _modulus(tube) > _modulus(now)]
        for tube in sorted(stronger, key=lambda tube: (float(section(tube.diameter, tube.wall).area), tube.name)):
            swapped: dict[str, Any] = {part: tube}
            design = dataclasses.replace(opening.design, **swapped)
            advice = Advice(
                change=f"larger_{part}", count=count, name=tube.name, size=tube.diameter, tube_length=count * length
            )
            changed = dataclasses.replace(opening, design=design)
            yield Upgrade(advice=advice, opening=changed, site=site, rules=rules)


def _length_of(part: str, opening: Opening, rules: Rules) -> tuple[int, float]:
    """Return how many of a part the door has and how long each is; 0 where that was not measured. [m]"""
    if part == "anti_billow_tube":
        return _inner(opening, rules) + 2, _billow_length(opening, rules)
    figures = work_out(given_of(opening, None), rules, winds_at_mid_height=opening.kind == DoorKind.MID_BAR)
    bar = figures.turning_bar if part == "turning_tube" else figures.sill_bar
    return 1, float(np.nan_to_num(bar.length))


def _billow_length(opening: Opening, rules: Rules) -> float:
    hole = (opening.threshold or 0.0) + opening.rough_height + (opening.header_depth or 0.0) / 2
    return rules.post_embedment + hole + rules.tube_hole_from_top


def _modulus(tube: Tube) -> float:
    return float(section(tube.diameter, tube.wall).modulus)


def _inner(opening: Opening, rules: Rules) -> int:
    return int(supports(opening.rough_width, rules).count) - 2


def _spaces(width: float, spacing: float) -> int:
    return int(np.ceil(width / spacing * (1 - 1e-9)))
