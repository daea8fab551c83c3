"""Action levels of a structure by the gust at it: what to do, what people may do, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from types import MappingProxyType
from typing import Final

from maintenance.storm.condition import Condition, Offset, OffsetRules, Posture, offset_of
from maintenance.storm.criteria import reaches
from maintenance.storm.quantity import MPH, Fact, Speed, StormError, check_number, check_speed
from maintenance.storm.spells import Basis, Spell, gust_of, without_holes

KEYS: Final = ("normal", "get_ready", "close_up", "batten", "storm", "extreme")
EXTREME: Final = len(KEYS) - 1

# What each level adds to those below it; common practice, no source.
ACTIONS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "normal": (),
        "get_ready": ("stow_loose", "latch_person_doors", "no_door_half_open", "finish_repairs"),
        "close_up": ("sides_down", "doors_down", "cords_on", "hold_downs_on", "tuck_wire_tails"),
        "batten": ("jamb_braces", "inflation_up", "shade_off", "blower_power", "spare_batteries", "photos_before"),
        "storm": ("film_decision", "everyone_out"),
        "extreme": ("film_off_early", "evacuate"),
    }
)
FILM_ACTIONS: Final = frozenset(
    {"sides_down", "cords_on", "tuck_wire_tails", "inflation_up", "blower_power", "film_decision", "film_off_early"}
)  # nothing to do where the film is off
PEOPLE: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "normal": (),
        "get_ready": ("no_new_film_jobs",),
        "close_up": ("handling_stops",),
        "batten": ("no_ladders", "pairs_only"),
        "storm": ("nobody_at_structures",),
        "extreme": ("stay_away",),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelRules:
    """A farm's levels; where a line names no source, common practice, no source."""

    get_ready: Speed = 25 * MPH
    close_up: Speed = 35 * MPH  # gusts that trouble tunnels, a county extension alert in Oregon
    batten: Speed = 46 * MPH  # gust of the US wind advisory
    storm: Speed = 58 * MPH  # gust of the US high wind warning
    extreme: Speed = 75 * MPH
    film_handling: Speed = 5 * MPH  # upper limit for spreading a cover, growers' diaries
    sheet_handling: Speed = 20 * MPH
    stay_out: Speed = 40 * MPH  # "high wind" for exposed work, OSHA note in 29 CFR 1910.269(x)
    offset: OffsetRules = field(default_factory=OffsetRules)

    def __post_init__(self) -> None:
        before = 0.0
        for key in KEYS[1:]:
            threshold = getattr(self, key)
            check_speed(f"levels.{key}", threshold)
            if threshold <= before:
                raise StormError(f"levels.{key}", threshold, "rising", before)
            before = threshold
        for name in ("film_handling", "sheet_handling", "stay_out"):
            check_speed(f"levels.{name}", getattr(self, name))

    @property
    def thresholds(self) -> tuple[float, ...]:
        """Gust from which each level holds, the first of them 0. [m/s]"""
        return (0.0, *(getattr(self, key) for key in KEYS[1:]))


@dataclass(frozen=True, slots=True)
class Wind:
    """How the gusts of a source become gusts at a structure.

    Attributes
    ----------
    factor : float
        Gust at the structure over the gust forecast, `local_factor`. [-]
    step : float
        The source's speeds are whole multiples of it, such as a knot; half of it is added to what a limit is
        compared with, see `reaches`. 0 for exact speeds. [m/s]
    upper : bool
        Act on the gust it may come to.
    """

    factor: float = 1.0
    step: float = 0.0
    upper: bool = False

    def __post_init__(self) -> None:
        check_number("wind.factor", self.factor, above=0.0)
        check_number("wind.step", self.step, least=0.0)

    def gust(self, spell: Spell) -> float | None:
        """Return the gust at the structure; None where not known. [m/s]"""
        speed = gust_of(spell, upper=self.upper).speed
        return None if speed is None else speed * self.factor

    def reaches(self, spell: Spell, limit: float) -> bool | None:
        """Return whether the gust of a spell comes to a limit; None where not known."""
        speed = self.gust(spell)
        return None if speed is None else reaches(speed, limit, step=self.step * self.factor)


@dataclass(frozen=True, slots=True)
class LevelReading:
    """The level of a structure in a forecast, and why.

    Attributes
    ----------
    level : int or None
        0 to 5; None where no gust is known at all.
    gust : float or None
        Highest gust at the structure. [m/s]
    at : datetime or None
        When the level is first reached.
    since : dict of int to datetime
        When each level from 1 up is first reached.
    margin : float or None
        What the highest gust lacks to the next level; None on the highest. [m/s]
    offset : Offset
        What moved the thresholds.
    reasons, unknown : tuple of Fact
        Why the level is what it is; what could not be judged, so that it is no calm.
    actions, people : tuple of str
        Keys, from the lowest level up.
    """

    level: int | None
    gust: float | None
    at: datetime | None
    since: Mapping[int, datetime]
    margin: float | None
    offset: Offset
    reasons: tuple[Fact, ...]
    unknown: tuple[Fact, ...]
    actions: tuple[str, ...]
    people: tuple[str, ...]

    @property
    def key(self) -> str:
        """Name of the level."""
        return "unknown" if self.level is None else KEYS[self.level]


def read_level(
    spells: Sequence[Spell], condition: Condition, rules: LevelRules | None = None, wind: Wind | None = None
) -> LevelReading:
    """Return the level of one structure over a stretch of forecast.

    Parameters
    ----------
    spells : sequence of Spell
        The stretch to judge.
    condition : Condition
        The structure today. Its own limit is held against the gust as it is, without the offset.
    rules : LevelRules, optional
        The farm's.
    wind : Wind, optional
        How the source's gusts become gusts here.

    Returns
    -------
    LevelReading
        Thunder alone makes it at least level 1: squalls are in no hourly forecast.
    """
    farm, here = rules or LevelRules(), wind or Wind()
    offset = offset_of(condition, farm.offset)
    known = without_holes(spells)
    steps = [(spell, _step(spell, condition, offset, farm, here)) for spell in known]
    judged = [(spell, step) for spell, step in steps if step is not None]
    level = max((step for _, step in judged), default=None)
    gusts = [gust for gust in map(here.gust, known) if gust is not None]
    highest = max(gusts, default=None)
    since: dict[int, datetime] = {}
    for spell, step in judged:
        for reached in range(1, step + 1):
            since.setdefault(reached, spell.start)
    return LevelReading(
        level=level,
        gust=highest,
        at=since.get(level) if level else (judged[0][0].start if judged else None),
        since=MappingProxyType(since),
        margin=_margin(highest, level, condition, offset, farm),
        offset=offset,
        reasons=_reasons(known, condition, offset, farm, here, level),
        unknown=_unknown(known, offset),
        actions=actions_of(level or 0, condition.posture, is_stormy=any(spell.thunder for spell in known)),
        people=_people(level or 0, is_stormy=any(spell.thunder for spell in known)),
    )


def actions_of(level: int, posture: Posture = Posture.CLOSED, *, is_stormy: bool = False) -> tuple[str, ...]:
    """Return the keys of what to do up to a level, with what the storm posture and thunder change."""
    keys = [key for name in KEYS[: level + 1] for key in ACTIONS[name]]
    if posture == Posture.FILM_OFF:
        keys = [key for key in keys if key not in FILM_ACTIONS]
    if level >= KEYS.index("close_up"):
        keys += {Posture.CLOSED_FAN: ["shut_intakes", "exhaust_fan_on"], Posture.OTHER: ["posture_by_notes"]}.get(
            posture, []
        )
    return (*keys, *(("no_open_door_unattended",) if is_stormy else ()))


def _people(level: int, *, is_stormy: bool) -> tuple[str, ...]:
    keys = [key for name in KEYS[: level + 1] for key in PEOPLE[name]]
    return (*keys, *(("shelter_at_thunder",) if is_stormy else ()))


def _own_limit(condition: Condition) -> float | None:
    """Return the gust that the structure's doors stand; with the film off they hang in no wall."""
    return None if condition.posture == Posture.FILM_OFF else condition.limit


def _step(spell: Spell, condition: Condition, offset: Offset, rules: LevelRules, wind: Wind) -> int | None:
    least, gust, step = 1 if spell.thunder else None, wind.gust(spell), wind.step * wind.factor
    if gust is None:
        return least
    limit = _own_limit(condition)
    if limit is not None and reaches(gust, limit, step=step):
        return EXTREME
    reached = sum(reaches(gust, threshold + offset.change, step=step) for threshold in rules.thresholds[1:])
    return max(reached, least or 0)


def _margin(
    gust: float | None, level: int | None, condition: Condition, offset: Offset, rules: LevelRules
) -> float | None:
    if gust is None or level is None or level == EXTREME:
        return None
    limit, following = _own_limit(condition), rules.thresholds[level + 1] + offset.change
    return (following if limit is None else min(following, limit)) - gust


def _reasons(
    spells: Sequence[Spell],
    condition: Condition,
    offset: Offset,
    rules: LevelRules,
    wind: Wind,
    level: int | None,
) -> tuple[Fact, ...]:
    facts: list[Fact] = []
    rated = [(gust, spell) for spell in spells if (gust := wind.gust(spell)) is not None]
    if rated:
        gust, spell = max(rated, key=lambda pair: pair[0])  # the first of equals
        threshold = rules.thresholds[level or 0] + (offset.change if level else 0.0)
        facts.append(Fact("gust", gust, threshold, spell.start))
        basis = gust_of(spell, upper=wind.upper).basis
        facts += [Fact(f"gust_from_{basis}", gust, at=spell.start)] if basis != Basis.FORECAST else []
        limit = _own_limit(condition)
        over = [one for _, one in rated if limit is not None and wind.reaches(one, limit)]
        facts += [Fact("own_limit", gust, limit, over[0].start)] if over else []
    if wind.factor != 1.0:
        facts.append(Fact("local_factor", wind.factor))
    thunder = next((one for one in spells if one.thunder), None)
    if thunder:
        facts.append(Fact("thunder", at=thunder.start))
    return (*facts, *offset.reasons)


def _unknown(spells: Sequence[Spell], offset: Offset) -> tuple[Fact, ...]:
    gap = next((spell for spell in spells if gust_of(spell).basis == Basis.UNKNOWN), None)
    return (*((Fact("gust_unknown", at=gap.start),) if gap else ()), *offset.unknown)
