"""The week the demo farm has before it: a gale on the third day, wet snow behind it, one calm morning. Invented."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from typing import Final

from farm.models import Farm
from maintenance.messages.quiet import moment
from maintenance.models import Forecast
from maintenance.skies.codec import spells_to_json
from maintenance.storm.quantity import KELVIN, MPH
from maintenance.weather import Spell

SOURCE: Final = "typed"
INCH: Final = 0.0254  # m, exact
MEAN_SHARE: Final = 0.6  # -, mean wind over gust; invented, as gusts of 1.5 to 2 times the mean are common
S, SW, W, WNW, NW = 180.0, 225.0, 270.0, 292.5, 315.0


@dataclass(frozen=True, slots=True)
class From:
    """What holds from an hour of a day on: gust in mph, its direction, °F, and inches that fall in each hour."""

    day: int
    clock: str
    gust: float
    bearing: float
    warmth: float
    rain: float = 0.0
    snow: float = 0.0


# Day 0 is the day of the load. Rain is all water, that of the snow included: 6 in of wet snow hold 1.2 in.
ROWS: Final = (
    From(0, "00:00", 10, S, 33), From(0, "08:00", 12, S, 38), From(0, "11:00", 16, S, 44), From(0, "13:00", 18, S, 46),
    From(0, "17:00", 13, S, 38), From(0, "21:00", 11, S, 33),
    From(1, "00:00", 13, SW, 40), From(1, "06:00", 16, SW, 41), From(1, "09:00", 19, SW, 45),
    From(1, "12:00", 22, SW, 51), From(1, "14:00", 23, SW, 52), From(1, "16:00", 24, SW, 50),
    From(1, "17:00", 27, SW, 48), From(1, "18:00", 29, SW, 47), From(1, "19:00", 31, SW, 46),
    From(1, "21:00", 32, SW, 46), From(1, "23:00", 33, SW, 47),
    From(2, "03:00", 34, SW, 49, rain=0.02), From(2, "06:00", 35, SW, 51, rain=0.04),
    From(2, "09:00", 36, SW, 53, rain=0.05), From(2, "12:00", 38, SW, 54, rain=0.08),
    From(2, "13:00", 45, W, 49, rain=0.15), From(2, "14:00", 52, W, 45, rain=0.06),
    From(2, "15:00", 58, W, 42, rain=0.02), From(2, "16:00", 61, W, 40), From(2, "17:00", 60, W, 39),
    From(2, "18:00", 58, W, 38), From(2, "19:00", 57, W, 37), From(2, "20:00", 55, W, 36), From(2, "21:00", 52, W, 35),
    From(2, "22:00", 49, W, 35), From(2, "23:00", 46, W, 34),
    From(3, "00:00", 42, WNW, 34), From(3, "06:00", 41, WNW, 33, rain=0.10, snow=0.5),
    From(3, "12:00", 40, WNW, 34, rain=0.10, snow=0.5), From(3, "18:00", 34, WNW, 30),
    From(4, "00:00", 28, NW, 26), From(4, "04:00", 26, NW, 22, rain=0.025, snow=0.375),
    From(4, "12:00", 24, NW, 25), From(4, "18:00", 18, NW, 19),
    From(5, "00:00", 9, W, 21), From(5, "09:00", 8, W, 31), From(5, "12:00", 9, W, 37), From(5, "17:00", 7, W, 28),
    From(6, "00:00", 6, SW, 28), From(6, "06:00", 6, SW, 34), From(6, "07:00", 6, SW, 38),
    From(6, "08:00", 4, SW, 42), From(6, "10:00", 4, SW, 46), From(6, "11:30", 12, SW, 49),
    From(6, "16:00", 12, SW, 44), From(6, "20:00", 9, SW, 36),
)  # fmt: skip
HOUR: Final = timedelta(hours=1)


def week_from(on: date, farm: Farm) -> tuple[Spell, ...]:
    """Return the forecast in spells of an hour at most, by the farm's clock."""
    starts = [moment(on + timedelta(days=row.day), time.fromisoformat(row.clock), farm.zone) for row in ROWS]
    ends = [*starts[1:], moment(on + timedelta(days=7), time(0), farm.zone)]
    found: list[Spell] = []
    for row, start, end in zip(ROWS, starts, ends, strict=True):
        whole = timedelta(minutes=start.minute)
        marks = [start, *_hours(start - whole + HOUR, end), end]
        found += [_spell(row, begins, until) for begins, until in pairwise(marks)]
    return tuple(found)


def type_in(*, farm: Farm, on: date, now: datetime) -> Forecast:
    """Type the forecast in for a farm, as issued on the morning of the load."""
    return Forecast.objects.create(
        farm=farm, source=SOURCE, issued_at=now, fetched_at=now, spells=spells_to_json(week_from(on, farm))
    )


def _hours(first: datetime, end: datetime) -> list[datetime]:
    hours = []
    while first < end:
        hours.append(first)
        first += HOUR
    return hours


def _spell(row: From, start: datetime, end: datetime) -> Spell:
    share = (end - start) / HOUR
    return Spell(
        start.astimezone(UTC), end.astimezone(UTC), wind=row.gust * MEAN_SHARE * MPH, gust=row.gust * MPH,
        bearing_deg=row.bearing, temperature=KELVIN + (row.warmth - 32) / 1.8, rain=row.rain * INCH * share,
        snow=row.snow * INCH * share, thunder=False,
    )  # fmt: skip
