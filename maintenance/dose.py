"""How much sun a sheet of film has taken, and when it will have taken what it is rated for.

Makers rate film by the sun's energy on a level square metre outdoors, often in kilolangleys, so the dose is that of
the open sky over the days a sheet lay out, whichever way it faces. Shade and heat are left out.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintenance.sunlight import BRIGHTEST, Floats, extraterrestrial_radiation, solar_radiation, within

Places: TypeAlias = NDArray[np.int64]
Days: TypeAlias = date | Sequence[date] | NDArray[np.datetime64]
Span: TypeAlias = tuple[date, date]  # half-open: the second day no longer counts

DEFAULT_UNCERTAINTY = 0.10  # -, common practice, no source: Eq. 35 without calibration, years unlike the mean
HORIZON = timedelta(days=14_610)  # 40 years
YEARLY_LIGHT_LOSS = (0.02, 0.05)  # -, ageing in the sun, without dirt: J. Bartok, Greenhouse Management, April 2014


@dataclass(frozen=True, slots=True)
class Climate:
    """The sun over a farm: where it is, and how often the sky is clear in each month.

    Raises
    ------
    ValueError
        If the latitude is not from -π/2 to π/2, a share of the daylight not from 0 to 1, there are not twelve, or
        the uncertainty is not from 0 to 0.9.
    """

    latitude: float  # rad, north positive
    sunshine: tuple[float, ...]  # -, hours of bright sunshine over hours of daylight, January to December
    uncertainty: float = DEFAULT_UNCERTAINTY  # -, of the estimate, up and down

    def __post_init__(self) -> None:
        """Refuse a place the formulas do not hold for."""
        within("latitude", self.latitude, -np.pi / 2, np.pi / 2)
        within("sunshine", self.sunshine, 0, 1)
        within("uncertainty", self.uncertainty, 0, 0.9)
        if np.shape(self.sunshine) != (12,):
            raise ValueError(f"sunshine has shape {np.shape(self.sunshine)}: must be one share for each of 12 months")


@dataclass(frozen=True, slots=True, eq=False)
class DoseTable:
    """The sun's energy since the first day, for every sheet of a farm; `dose_table` makes one."""

    first: date
    last: date  # no longer counted
    sums: Floats  # J/m², shape (3, days + 1): if the sun shines more than estimated, as estimated, less

    def between(self, start: Days, end: Days) -> Floats:
        """Return the estimated energy from each start up to, but not including, each end.

        Parameters
        ----------
        start, end : date or array_like of dates, shape (...)
            In the table.

        Returns
        -------
        ndarray, shape (...)
            [J/m²]

        Raises
        ------
        ValueError
            If a day is outside the table or an end comes before its start.
        """
        starts, ends = self.places(start), self.places(end)
        _in_order(start, end)
        return np.asarray(self.sums[1, ends] - self.sums[1, starts])

    def places(self, days: Days) -> Places:
        """Return how many days after the first each day is, or raise a ValueError if it is outside the table."""
        asked = np.asarray(days, dtype="datetime64[D]")
        outside = ~((asked >= np.datetime64(self.first)) & (asked <= np.datetime64(self.last)))
        if np.any(outside):
            raise ValueError(f"{asked[outside].flat[0]} is outside the table, {self.first} to {self.last}")
        return (asked - np.datetime64(self.first)).astype(np.int64)


def dose_table(climate: Climate, first: date, last: date, measured: Mapping[date, float] | None = None) -> DoseTable:
    """Return the running sum of the sun's energy on a level square metre.

    Parameters
    ----------
    climate : Climate
        What the sun is estimated from. [SI]
    first, last : date
        Half-open: the last day is not in it.
    measured : mapping of date to float, optional
        Replaces the estimate of its day, and is taken as exact; days outside the table are passed over.
        [J/m² per day]

    Returns
    -------
    DoseTable
        [J/m²]

    Raises
    ------
    ValueError
        If the last day is not after the first, or a measured day is not from 0 to 50e6.

    Notes
    -----
    A day has its month's relative sunshine. Less and more sun change all estimated days together, by the climate's
    uncertainty: shares of single days would even out over the years, a mistaken climate does not.
    """
    if not first < last:
        raise ValueError(f"the table's last day, {last}, must come after its first, {first}")
    days = np.arange(np.datetime64(first), np.datetime64(last))
    estimate = _estimate(climate, days)
    known = measured or {}
    readings = within("measured", list(known.values()), 0, BRIGHTEST)
    places = (np.array(list(known), dtype="datetime64[D]") - np.datetime64(first)).astype(np.int64)
    inside = (places >= 0) & (places < days.size)
    exact = np.zeros(days.size)
    exact[places[inside]] = readings[inside]
    estimate[places[inside]] = 0
    spread = np.array([[1 + climate.uncertainty], [1], [1 - climate.uncertainty]])
    return DoseTable(first, last, np.pad(np.cumsum(spread * estimate + exact, axis=1), ((0, 0), (1, 0))))


def dose(table: DoseTable, spans: Iterable[Span]) -> float:
    """Return the energy a sheet has taken on a level square metre over the spans it lay outdoors.

    Parameters
    ----------
    table : DoseTable
        That covers the spans.
    spans : iterable of (date, date)
        Half-open, in any order; a day in several counts once.

    Returns
    -------
    float
        [J/m²]

    Raises
    ------
    ValueError
        If a span is outside the table or ends before it starts.
    """
    starts, ends = _joined(_places(table, spans))
    return float(np.sum(table.sums[1, ends] - table.sums[1, starts]))


@dataclass(frozen=True, slots=True)
class EndOfLife:
    """The day on which a sheet takes the last of its rated dose; None beyond the horizon."""

    early: date | None  # if the sun shines more than estimated
    expected: date | None
    late: date | None  # if it shines less


def end_of_life(
    table: DoseTable, rated_dose: float, spans: Iterable[Span], on: date, laid_up: Collection[int] = ()
) -> EndOfLife:
    """Return when a sheet reaches its rated dose if it stays outdoors from a day on.

    Parameters
    ----------
    table : DoseTable
        From before the spans to ``on + HORIZON`` or later.
    rated_dose : float
        [J/m²]
    spans : iterable of (date, date)
        In which it has been outdoors, as in `dose`; whatever they hold after ``on`` counts too.
    on : date
        From which it stays outdoors.
    laid_up : collection of int, default none
        Months, 1 to 12, in which it is off every year from then on.

    Returns
    -------
    EndOfLife
        Past days if the dose is reached already; None beyond 40 years.

    Raises
    ------
    ValueError
        If the rated dose is not above zero or not finite, a month is not from 1 to 12, a span is outside the table or
        ends before it starts, or the table ends before the horizon.
    """
    if not 0 < rated_dose < np.inf:
        raise ValueError(f"rated_dose is {rated_dose}: must be above 0 and finite")
    if not set(laid_up) <= set(range(1, 13)):
        raise ValueError(f"laid_up is {sorted(laid_up)}: must be months from 1 to 12")
    if table.last < on + HORIZON:
        raise ValueError(f"the table ends on {table.last}: must reach {on + HORIZON}, the horizon from {on}")
    ahead = table.places(_outdoors(on, on + HORIZON, frozenset(laid_up)))
    starts, ends = _joined(np.concatenate((_places(table, spans), ahead)))
    return EndOfLife(*(_reached(table.first, sums, starts, ends, rated_dose) for sums in table.sums))


def light_left(years: ArrayLike, yearly_loss: ArrayLike) -> Floats:
    r"""Return the share of the light a new sheet lets through that an aged one still does.

    Parameters
    ----------
    years : array_like, shape (...)
        In use. [years]
    yearly_loss : array_like, shape (...)
        From 0 to 1; `YEARLY_LIGHT_LOSS` has the usual range. [- per year]

    Returns
    -------
    ndarray, shape (...)
        :math:`(1 - \text{loss})^{\text{years}}`. [-]

    Raises
    ------
    ValueError
        If an input is outside its limits.

    Notes
    -----
    The loss of each year is a share of what the year before left. Dirt and smog come on top: for an arid climate
    27 to 32 % in one year have been published.
    """
    aged = within("years", years, 0, np.inf)
    return np.asarray((1 - within("yearly_loss", yearly_loss, 0, 1)) ** aged)


def _estimate(climate: Climate, days: NDArray[np.datetime64]) -> Floats:
    """Return the energy of each day. [J/m²]"""
    years = days.astype("datetime64[Y]")
    first = years.astype("datetime64[D]")
    length = ((years + 1).astype("datetime64[D]") - first).astype(np.float64)
    number = (days - first).astype(np.float64) + 1
    months = days.astype("datetime64[M]").astype(np.int64) % 12
    shone = np.asarray(climate.sunshine, dtype=np.float64)[months]
    return solar_radiation(extraterrestrial_radiation(climate.latitude, number, length), shone)


def _places(table: DoseTable, spans: Iterable[Span]) -> Places:
    """Return the spans' first and last places in the table, shape (n, 2)."""
    days = np.array(list(spans), dtype="datetime64[D]").reshape(-1, 2)
    places = table.places(days)
    _in_order(days[:, 0], days[:, 1])
    return places


def _in_order(start: Days, end: Days) -> None:
    """Raise a ValueError for the first span that ends before it starts."""
    starts, ends = np.broadcast_arrays(np.asarray(start, dtype="datetime64[D]"), np.asarray(end, dtype="datetime64[D]"))
    wrong = ends < starts
    if np.any(wrong):
        raise ValueError(f"a span ends on {ends[wrong].flat[0]}, before it starts on {starts[wrong].flat[0]}")


def _joined(places: Places) -> tuple[Places, Places]:
    """Return starts and ends in order, of spans joined where they overlap or touch."""
    places = places[np.argsort(places[:, 0], kind="stable")]
    starts, ends = places[:, 0], np.maximum.accumulate(places[:, 1])
    opens, closes = np.ones(starts.size, dtype=bool), np.ones(starts.size, dtype=bool)
    opens[1:] = closes[:-1] = starts[1:] > ends[:-1]
    return starts[opens], ends[closes]


@lru_cache(maxsize=64)  # the sheets of a farm share their habits
def _outdoors(first: date, last: date, laid_up: frozenset[int]) -> NDArray[np.datetime64]:
    """Return the spans of days outside the months laid up, shape (n, 2)."""
    months = np.arange(np.datetime64(first), np.datetime64(last)).astype("datetime64[M]").astype(np.int64) % 12 + 1
    out = np.pad(~np.isin(months, sorted(laid_up)), 1)
    turns = np.flatnonzero(out[1:] != out[:-1])
    return np.asarray(np.datetime64(first) + turns.reshape(-1, 2))


def _reached(first: date, sums: Floats, starts: Places, ends: Places, rated_dose: float) -> date | None:
    """Return the day in the spans that takes the last of the rated dose."""
    taken = np.append(0.0, np.cumsum(sums[ends] - sums[starts]))
    span = int(np.searchsorted(taken, rated_dose)) - 1
    if span == starts.size:
        return None
    full = np.searchsorted(sums, sums[starts[span]] + rated_dose - taken[span])
    place = np.clip(full, starts[span] + 1, ends[span]) - 1  # a sum's last digit must not leave the span
    return first + timedelta(days=int(place))
