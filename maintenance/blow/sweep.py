"""The pass over all farms: which of them a forecast asks to close anything, found by arrays and not farm by farm.

Farms of one cell share one forecast, read once. Each opening's closing line is held against it; what comes of that is
kept in one row for each farm. A farm in which anything is to be closed, that has a storm, or that cannot be judged
here because its lines are missing or out of date or its forecast cannot be read, is worked out in full afterwards:
see ``waiting.py``. Only a farm that is judged, and calm, is passed over.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

import numpy as np
from django.db.models import Exists, OuterRef, Q

from farm.models import Farm
from maintenance.blow.columns import read_columns
from maintenance.blow.reading import CLOSE_UP, wind_of
from maintenance.blow.strips import Strip, strips_of
from maintenance.models import ClosingLine, Forecast, Storm, StormRound, WeatherSource
from maintenance.skies.latest import chosen_forecasts
from maintenance.storm.fleet import UNKNOWN, Floats, first_over, highest_levels

FARMS: Final = 2_000  # at once; thirty openings each are a few megabytes
OPENINGS: Final = 20_000  # whose hours are looked at together
ANSWER: Final = ("level", "openings", "first_at", "worst_at", "peak_m_s")
WRITTEN: Final = (*ANSWER, "looked_at", "waits_since", "urgent_at", "claimed_at")


@dataclass(slots=True)
class _Farm:
    """What the pass knows of one farm."""

    row: StormRound
    source: WeatherSource
    forecast: Forecast | None
    is_ahead: bool
    is_drawn: bool
    strip: Strip | None = None
    answer: dict[str, Any] = field(default_factory=lambda: dict.fromkeys(ANSWER) | {"openings": 0})

    @property
    def upper(self) -> bool:
        return self.row.acts_on_upper or self.source.acts_on_upper

    @property
    def is_judged(self) -> bool:
        """Whether a calm answer can be trusted."""
        return self.is_drawn and self.strip is not None

    @property
    def is_due(self) -> bool:
        """Whether the farm is to be worked out in full."""
        if self.is_ahead:
            return True
        return self.forecast is not None and (not self.is_judged or (self.answer["level"] or 0) >= CLOSE_UP)


def chunks() -> Iterator[list[int]]:
    """Yield the farms to look at, those of one cell together: all that have a forecast, or a storm."""
    of_cell = WeatherSource.objects.filter(farm=OuterRef("pk"), cell__in=Forecast.objects.values("cell"))
    typed = Forecast.objects.filter(farm=OuterRef("pk"))
    ahead = Storm.objects.ahead().filter(farm=OuterRef("pk"))
    found = Farm.objects.filter(Q(Exists(of_cell)) | Q(Exists(typed)) | Q(Exists(ahead)))
    in_order = list(found.order_by("weather_source__cell", "pk").values_list("pk", flat=True))
    yield from (in_order[first : first + FARMS] for first in range(0, len(in_order), FARMS))


def sweep(*, farms: Collection[int], now: datetime) -> int:
    """Look at farms, keep what was found, and return how many wait to be worked out in full."""
    known = _known(sorted(set(farms)), now)
    by_forecast: dict[int, list[_Farm]] = {}
    for one in known:
        if one.forecast is not None:
            by_forecast.setdefault(one.forecast.pk, []).append(one)
    for pk, strip in strips_of(by_forecast, now):
        for one in by_forecast[pk]:
            one.strip = strip
    _judge([one for one in known if one.is_judged])
    return _keep(known, now)


def _known(farms: Sequence[int], now: datetime) -> list[_Farm]:
    sources = {one.farm_id: one for one in WeatherSource.objects.filter(farm__in=farms)}
    rows = {one.farm_id: one for one in StormRound.objects.filter(farm__in=farms)}
    every = [sources.get(pk) or WeatherSource(farm_id=pk) for pk in farms]
    forecasts = chosen_forecasts(sources=every, now=now)
    ahead = set(Storm.objects.ahead().filter(farm__in=farms).values_list("farm", flat=True))
    known = []
    for source in every:
        row = rows.get(source.farm_id) or StormRound(farm_id=source.farm_id)
        is_drawn = row.drawn_changes == row.changes and row.good_until is not None and now < row.good_until
        known.append(_Farm(row, source, forecasts.get(source.farm_id), source.farm_id in ahead, is_drawn))
    return known


# Judging ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Openings:
    """All openings of the farms judged: their farm's place in the list, and what they hold."""

    farm: np.ndarray[Any, np.dtype[np.intp]]
    factor: Floats
    step: Floats
    change: Floats
    limit: Floats


def _judge(farms: Sequence[_Farm]) -> None:
    """Find each farm's highest level, how many openings are to be closed, and when the first of them."""
    if not farms:
        return
    worst = [one.strip.worst(upper=one.upper) for one in farms if one.strip is not None]
    winds = [wind_of(one.source, one.forecast) for one in farms if one.forecast is not None]
    speed, thresholds = np.array([gust for gust, _ in worst]), np.array([one.row.thresholds_m_s for one in farms])
    held = _openings(farms, np.array([one.factor for one in winds]), np.array([one.step for one in winds]))
    level = highest_levels(
        speed[held.farm], step=held.step, factor=held.factor, change=held.change, limit=held.limit,
        thresholds=thresholds[held.farm],
    )  # fmt: skip
    highest = np.full(len(farms), UNKNOWN, dtype=np.int8)
    np.maximum.at(highest, held.farm, level)
    over = level >= CLOSE_UP
    counts = np.bincount(held.farm[over], minlength=len(farms))
    firsts = _firsts(farms, held, over, thresholds[:, CLOSE_UP - 1])
    for place, (one, (gust, at), wind) in enumerate(zip(farms, worst, winds, strict=True)):
        thunder = 1 if one.strip is not None and one.strip.has_thunder else 0
        one.answer = {
            "level": None if at is None else max(int(highest[place]), thunder), "openings": int(counts[place]),
            "first_at": firsts.get(place), "worst_at": at, "peak_m_s": None if at is None else gust * wind.factor,
        }  # fmt: skip


def _openings(farms: Sequence[_Farm], factor: Floats, step: Floats) -> _Openings:
    ids = np.array([one.row.farm_id for one in farms])
    rows = ClosingLine.objects.filter(farm__in=ids.tolist())
    of_farm, change, here, limit = read_columns(rows, "farm_id", "change_m_s", "factor", "limit_m_s")
    place = np.searchsorted(ids, of_farm)
    return _Openings(place, factor[place] * here, step[place], change, limit)


def _firsts(
    farms: Sequence[_Farm], held: _Openings, over: np.ndarray[Any, np.dtype[np.bool_]], close_up: Floats
) -> Mapping[int, datetime]:
    """Return by place when the first opening of a farm has to be closed."""
    (openings,) = over.nonzero()
    found: dict[int, datetime] = {}
    least = np.minimum(close_up[held.farm] + held.change, held.limit)
    groups: dict[tuple[int, bool], list[int]] = {}
    for opening in openings.tolist():
        one = farms[held.farm[opening]]
        groups.setdefault((one.forecast.pk if one.forecast else 0, one.upper), []).append(opening)
    for group in groups.values():
        for first in range(0, len(group), OPENINGS):
            these = np.array(group[first : first + OPENINGS])
            strip, upper = farms[held.farm[these[0]]].strip, farms[held.farm[these[0]]].upper
            assert strip is not None  # noqa: S101 - only farms with a strip are judged
            hours = first_over(
                strip.gusts(upper=upper), step=held.step[these], factor=held.factor[these], least=least[these]
            )
            for place, hour in zip(held.farm[these].tolist(), hours.tolist(), strict=True):
                at = strip.starts[hour]
                found[place] = min(at, found.get(place, at))
    return found


# Keeping ---------------------------------------------------------------------------


def _keep(farms: Sequence[_Farm], now: datetime) -> int:
    """Write what is new, mark who waits, and note for all that they were looked at."""
    written, due = [], 0
    for one in farms:
        has_changed = any(getattr(one.row, name) != value for name, value in one.answer.items())
        due += one.is_due
        if not (has_changed or one.is_due or one.row.pk is None):
            continue
        for name, value in one.answer.items():
            setattr(one.row, name, value)
        if one.is_due:
            one.row.waits_since, one.row.urgent_at = now, one.row.first_at or one.row.worst_at or now
            one.row.claimed_at = None  # whoever claimed it in the pass before is dead, or does no harm
        one.row.looked_at = now
        written.append(one.row)
    StormRound.objects.bulk_create(
        written, update_conflicts=True, unique_fields=["farm"], update_fields=WRITTEN, batch_size=FARMS
    )
    StormRound.objects.filter(farm__in=[one.row.farm_id for one in farms]).update(looked_at=now)
    return due
