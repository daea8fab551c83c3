"""Daylight to work by, from the sun's height: civil dawn and dusk, sunrise and sunset, anywhere on earth.

The heights come from astral; its own dawn and dusk fail at high latitudes, and name the wrong evening where the sun
sets after midnight.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import Final

from astral import Observer, sun

from maintenance.storm.quantity import Interval

SUNRISE: Final = -0.833  # degrees, the sun's upper edge at the horizon with mean refraction; NOAA general equations
CIVIL: Final = -6.0  # degrees, end of civil twilight: ground work outdoors needs no lamp
HALF_DAY: Final = timedelta(hours=12)
CLOSE: Final = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class Daylight:
    """One day, from solar noon back to the midnight before and on to the next. In UTC.

    Each edge is None where the sun does not cross that height on that side of noon: then ``is_light_all_day`` and
    ``is_dark_all_day`` say, for work, which of the two it is.
    """

    noon: datetime
    dawn: datetime | None
    sunrise: datetime | None
    sunset: datetime | None
    dusk: datetime | None
    noon_height: float  # degrees

    @property
    def is_dark_all_day(self) -> bool:
        """Whether civil twilight is never reached."""
        return self.noon_height <= CIVIL

    @property
    def is_light_all_day(self) -> bool:
        """Whether civil twilight lasts from midnight to midnight."""
        return not self.is_dark_all_day and self.dawn is None and self.dusk is None

    @property
    def work_light(self) -> Interval | None:
        """From civil dawn to civil dusk, or half a day either side of noon where it stays light; None in the dark."""
        if self.is_dark_all_day:
            return None
        return Interval(self.dawn or self.noon - HALF_DAY, self.dusk or self.noon + HALF_DAY)


def daylight_on(day: date, *, latitude: float, longitude: float, zone: tzinfo) -> Daylight:
    """Return the daylight around the solar noon of a local day.

    Parameters
    ----------
    day : date
        Of the farm's calendar.
    latitude, longitude : float
        North and east positive. [degrees]
    zone : tzinfo
        The farm's.
    """
    observer = Observer(latitude, longitude)
    noon = sun.noon(observer, day, tzinfo=zone).astimezone(UTC)
    dawn, sunrise = (_crossing(observer, noon, noon - HALF_DAY, height) for height in (CIVIL, SUNRISE))
    sunset, dusk = (_crossing(observer, noon, noon + HALF_DAY, height) for height in (SUNRISE, CIVIL))
    return Daylight(noon, dawn, sunrise, sunset, dusk, _height(observer, noon))


def work_light(days: Iterable[date], *, latitude: float, longitude: float, zone: tzinfo) -> tuple[Interval, ...]:
    """Return when there is light to work by on local days, the dark ones left out."""
    found = (daylight_on(day, latitude=latitude, longitude=longitude, zone=zone).work_light for day in days)
    return tuple(light for light in found if light is not None)


def _height(observer: Observer, moment: datetime) -> float:
    return sun.elevation(observer, moment, with_refraction=False)


def _crossing(observer: Observer, noon: datetime, midnight: datetime, height: float) -> datetime | None:
    """Return when the sun crosses a height between noon and a midnight, to the second; None where it does not."""
    if not _height(observer, midnight) < height < _height(observer, noon):
        return None
    above, below = noon, midnight
    while abs(above - below) > CLOSE:
        middle = above + (below - above) / 2
        above, below = (middle, below) if _height(observer, middle) > height else (above, middle)
    return above + (below - above) / 2
