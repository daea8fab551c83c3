"""What a forecast says of a stretch of time, what a piece of work asks for, and where the two fall out."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from maintenance.calm.times import in_utc


@dataclass(frozen=True, slots=True, kw_only=True)
class Spell:
    """A stretch of a forecast in which the weather is taken as one.

    Attributes
    ----------
    start, end : datetime
        From, up to but excluding; with a zone.
    wind, gust : float or None
        Mean speed and gust at the site; None where the forecast does not say. [m/s]
    rain : float or None
        Water that falls in the spell, snow melted. [m]
    temperature : float or None
        Of the air. [K]

    Raises
    ------
    ValueError
        If a time has no zone, the end is not after the start, or a figure is negative or not finite.
    """

    start: datetime
    end: datetime
    wind: float | None = None
    gust: float | None = None
    rain: float | None = None
    temperature: float | None = None

    def __post_init__(self) -> None:
        in_utc((self.start, self.end))
        _require_figures(wind=self.wind, gust=self.gust, rain=self.rain, temperature=self.temperature)


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs:
    """What a piece of work asks of the weather; None where it does not mind.

    Attributes
    ----------
    most_wind, most_gust : float or None
        The most it can do with. [m/s]
    is_dry : bool
        True where no rain or snow may fall.
    least_temperature, most_temperature : float or None
        Both included. [K]
    needs_daylight : bool
        True where people must see.
    least_length : timedelta
        How long it takes without a break.

    Raises
    ------
    ValueError
        If a figure is negative or not finite, or the least temperature is above the most.
    """

    most_wind: float | None = None
    most_gust: float | None = None
    is_dry: bool = False
    least_temperature: float | None = None
    most_temperature: float | None = None
    needs_daylight: bool = False
    least_length: timedelta = timedelta(0)

    def __post_init__(self) -> None:
        least, most = self.least_temperature, self.most_temperature
        _require_figures(
            most_wind=self.most_wind, most_gust=self.most_gust, least_temperature=least, most_temperature=most
        )
        if least is not None and most is not None and least > most:
            raise ValueError(f"least_temperature {least} K is above most_temperature {most} K")
        if self.least_length < timedelta(0):
            raise ValueError(f"least_length must not be negative, not {self.least_length}")


def is_windy(spell: Spell, needs: Needs) -> bool:
    return _is_above(spell.wind, needs.most_wind) or _is_above(spell.gust, needs.most_gust)


def is_wet(spell: Spell, needs: Needs) -> bool:
    return needs.is_dry and spell.rain is not None and spell.rain > 0


def is_cold(spell: Spell, needs: Needs) -> bool:
    return _is_above(needs.least_temperature, spell.temperature)


def is_hot(spell: Spell, needs: Needs) -> bool:
    return _is_above(spell.temperature, needs.most_temperature)


def is_unknown(spell: Spell, needs: Needs) -> bool:
    """Return whether the forecast keeps silent on something the work asks for."""
    minds_temperature = needs.least_temperature is not None or needs.most_temperature is not None
    asked = (
        (needs.most_wind is not None, spell.wind),
        (needs.most_gust is not None, spell.gust),
        (needs.is_dry, spell.rain),
        (minds_temperature, spell.temperature),
    )
    return any(minds and figure is None for minds, figure in asked)


def _is_above(figure: float | None, limit: float | None) -> bool:
    return figure is not None and limit is not None and figure > limit


def _require_figures(**figures: float | None) -> None:
    for name, figure in figures.items():
        if figure is not None and not (math.isfinite(figure) and figure >= 0):
            raise ValueError(f"{name} must be finite and not negative, not {figure}")
