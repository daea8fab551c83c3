"""A forecast as the storm core takes it: spells one after the other, None for what is not known.

What a spell says holds from its start up to, not including, its end; a hole between two spells is not known.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from itertools import pairwise

from doors.mechanics.gusts import gust_from_mean
from maintenance.storm.quantity import StormError, check_number, check_order, check_speed

HOTTEST = 350.0  # K; no air on record is as warm, so a larger number is a wrong unit
DEEPEST = 20.0  # m of snow or rain in one spell; the same


class Basis(StrEnum):
    """What the gust of a spell was read from."""

    FORECAST = "forecast"
    UPPER = "upper"
    MEAN = "mean"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Spell:
    """The weather from ``start`` up to, not including, ``end``.

    Attributes
    ----------
    wind, gust, upper_gust : float or None
        Mean, expected gust and the gust it may come to. [m/s]
    bearing_deg : float or None
        Where the wind comes from. [degrees clockwise from north]
    temperature : float or None
        [K]
    rain : float or None
        All water fallen, melted snow included. [m]
    snow : float or None
        Depth of new snow. [m]
    thunder : bool or None
        Whether thunderstorms are forecast.
    """

    start: datetime
    end: datetime
    wind: float | None = None
    gust: float | None = None
    upper_gust: float | None = None
    bearing_deg: float | None = None
    temperature: float | None = None
    rain: float | None = None
    snow: float | None = None
    thunder: bool | None = None

    def __post_init__(self) -> None:
        check_order("spell", self.start, self.end)
        for name in ("wind", "gust", "upper_gust"):
            check_speed(f"spell.{name}", getattr(self, name))
        check_number("spell.bearing_deg", self.bearing_deg)
        check_number("spell.temperature", self.temperature, above=0.0, most=HOTTEST)
        for name in ("rain", "snow"):
            check_number(f"spell.{name}", getattr(self, name), least=0.0, most=DEEPEST)


@dataclass(frozen=True, slots=True)
class Gust:
    """The gust of a spell and what it was read from; None where not known. [m/s]"""

    speed: float | None
    basis: Basis


def gust_of(spell: Spell, *, upper: bool = False) -> Gust:
    r"""Return the gust to reckon with.

    Parameters
    ----------
    spell : Spell
        Of a forecast.
    upper : bool, default False
        Take the gust it may come to, where the source gives one.

    Returns
    -------
    Gust
        Never below the mean wind. Without a gust it is made from the mean; without either it is not known.

    Notes
    -----
    From the mean by the WMO's factor for a 3 s gust in an hour over roughly open land, :math:`1.75`, at the top of
    the usual range: a source that leaves out the gust has not said that there is none.

    References
    ----------
    Harper, Kepert and Ginger, WMO/TD-No. 1555 (2010), Table 1.1.
    """
    if upper and spell.upper_gust is not None:
        return Gust(max(spell.upper_gust, spell.gust or 0.0, spell.wind or 0.0), Basis.UPPER)
    if spell.gust is not None:
        return Gust(max(spell.gust, spell.wind or 0.0), Basis.FORECAST)
    if spell.wind is not None:
        return Gust(float(gust_from_mean(spell.wind, over=3600)), Basis.MEAN)
    return Gust(None, Basis.UNKNOWN)


def in_order(spells: Iterable[Spell]) -> tuple[Spell, ...]:
    """Return spells by their start.

    Raises
    ------
    StormError
        If two of them overlap: snow would fall twice.
    """
    known = tuple(sorted(spells, key=lambda spell: spell.start))
    for before, after in pairwise(known):
        if after.start < before.end:
            raise StormError("spell.start", after.start.isoformat(), "not_before", before.end.isoformat())
    return known


def without_holes(spells: Iterable[Spell]) -> tuple[Spell, ...]:
    """Return spells by their start, with a spell of nothing known in every hole."""
    known = in_order(spells)
    holes = tuple(Spell(a.end, b.start) for a, b in pairwise(known) if a.end < b.start)
    return tuple(sorted(known + holes, key=lambda spell: spell.start))
