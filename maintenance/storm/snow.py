"""Snow on a cover, by its water: depth says little, water and unevenness say much.

No published depth or load tells when to clear a film tunnel: its own design, or the farm's experience, does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from doors.mechanics.tube import STANDARD_GRAVITY
from doors.sizing import INCH, Length
from maintenance.storm.quantity import KELVIN, MPH, Fact, Pressure, Speed, Temperature, check_moment, check_number
from maintenance.storm.spells import Basis, Spell, gust_of, without_holes

WATER_DENSITY = 1000.0  # kg/m³, at 4 °C


@dataclass(frozen=True, slots=True, kw_only=True)
class SnowRules:
    """How a farm reads snow; common practice, no source, unless a line says otherwise."""

    dry_ratio: float = 12.0  # -, depth over water: a foot of dry snow may be 1 in of water, extension texts
    wet_ratio: float = 4.0  # -, 3 to 4 in of wet snow are 1 in of water, the same
    wet_from: Temperature = KELVIN - 1.0  # snow that falls warmer is taken as wet
    clear_at: Pressure = 240.0  # 5 lbf/ft², about 1 in of water
    drift_gust: Speed = 15 * MPH  # snow blows to one side from here
    side_depth: Length = 6 * INCH  # clear beside tunnels, a grower in high snow

    def __post_init__(self) -> None:
        check_number("snow.wet_ratio", self.wet_ratio, least=1.0)
        check_number("snow.dry_ratio", self.dry_ratio, least=self.wet_ratio)
        for name in ("wet_from", "clear_at", "drift_gust", "side_depth"):
            check_number(f"snow.{name}", getattr(self, name), least=0.0)


@dataclass(frozen=True, slots=True)
class Snowfall:
    """Snow of one spell: the depth, and the water in it. [m]"""

    at: datetime
    depth: float
    water: float
    is_estimated: bool


@dataclass(frozen=True, slots=True)
class SnowReading:
    """Snow on a cover over some days, nothing melted and nothing slid off.

    Attributes
    ----------
    falls : tuple of Snowfall
        And the rain that later falls on the snow.
    depth, water : float
        Of all that has fallen. [m]
    load : float
        On level ground; a cover carries no more where it lies even. [Pa]
    clear_by : datetime or None
        When the load comes to the farm's limit.
    facts : tuple of Fact
        What to see to, and what is not known.
    """

    falls: tuple[Snowfall, ...]
    depth: float
    water: float
    load: float
    clear_by: datetime | None
    facts: tuple[Fact, ...]


def water_load(water: float) -> float:
    r"""Return the load of a depth of water, or of the snow that melts to it. [Pa]

    Raises
    ------
    StormError
        If the depth is negative or not finite.

    Notes
    -----
    :math:`\rho g d`; 5.2 lbf/ft² for each inch.
    """
    check_number("water", water, least=0.0)
    return WATER_DENSITY * STANDARD_GRAVITY * water


def read_snow(
    spells: Sequence[Spell], rules: SnowRules | None = None, *, cleared_at: datetime | None = None
) -> SnowReading:
    """Return the snow that lies on a cover by the end of a forecast.

    Parameters
    ----------
    spells : sequence of Spell
        Over one or several days.
    rules : SnowRules, optional
        The farm's.
    cleared_at : datetime, optional
        What fell before is off.

    Returns
    -------
    SnowReading
        Rain counts once there is snow to hold it.
    """
    farm = rules or SnowRules()
    if cleared_at is not None:
        check_moment("cleared_at", cleared_at)
    known = tuple(one for one in without_holes(spells) if cleared_at is None or one.start >= cleared_at)
    falls: list[Snowfall] = []
    for spell in known:
        fall = _fall(spell, farm, lies=bool(falls))
        falls += [fall] if fall else []
    water = sum(fall.water for fall in falls)
    return SnowReading(
        falls=tuple(falls),
        depth=sum(fall.depth for fall in falls),
        water=water,
        load=water_load(water),
        clear_by=_clear_by(falls, farm),
        facts=(*_facts(known, falls, farm), *_unknown(known)),
    )


def _fall(spell: Spell, rules: SnowRules, *, lies: bool) -> Snowfall | None:
    depth, rain = spell.snow or 0.0, spell.rain
    if not depth and not (lies and rain):
        return None
    if rain:
        return Snowfall(spell.start, depth, rain, is_estimated=False)
    is_dry = spell.temperature is not None and spell.temperature < rules.wet_from
    return Snowfall(spell.start, depth, depth / (rules.dry_ratio if is_dry else rules.wet_ratio), is_estimated=True)


def _clear_by(falls: Sequence[Snowfall], rules: SnowRules) -> datetime | None:
    water = 0.0
    for fall in falls:
        water += fall.water
        if water_load(water) >= rules.clear_at:
            return fall.at
    return None


def _facts(spells: Sequence[Spell], falls: Sequence[Snowfall], rules: SnowRules) -> tuple[Fact, ...]:
    if not falls:
        return ()
    first, depth = falls[0].at, sum(fall.depth for fall in falls)
    facts = [Fact("clear_both_sides", at=first), Fact("shovel_lee_exit", at=first), Fact("clear_under_bar", at=first)]
    facts += [Fact("estimated_water", sum(fall.water for fall in falls))] if any(f.is_estimated for f in falls) else []
    facts += [Fact("rain_on_snow", fall.water, at=fall.at) for fall in falls if not fall.depth][:1]
    if depth >= rules.side_depth:
        facts.append(Fact("clear_beside", depth, rules.side_depth, first))
    after = [(gust_of(one).speed, one.start) for one in spells if one.start >= first]
    facts += [Fact("uneven", gust, rules.drift_gust, at) for gust, at in after if gust and gust >= rules.drift_gust][:1]
    frozen = [one for one in spells if one.start >= first and one.temperature is not None and one.temperature < KELVIN]
    facts += [Fact("bar_freezes_down", one.temperature, KELVIN, one.start) for one in frozen][:1]
    return tuple(facts)


def _unknown(spells: Sequence[Spell]) -> tuple[Fact, ...]:
    snow = [Fact("snow_unknown", at=one.start) for one in spells if one.snow is None][:1]
    gust = [Fact("gust_unknown", at=one.start) for one in spells if gust_of(one).basis == Basis.UNKNOWN][:1]
    return (*snow, *gust)
