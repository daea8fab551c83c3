"""What every source of weather gives: spells of a forecast, alerts, readings.

Speeds are in m/s, temperatures in K, rain and snow in metres of water and of snow fallen within the spell, times
aware and in UTC. None means not known, never calm.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final, Literal

from maintenance.weather.reasons import Remark

Status = Literal["Actual"]
MessageType = Literal["Alert", "Update", "Cancel"]

SEVERITIES: Final = ("Extreme", "Severe", "Moderate", "Minor", "Unknown")  # CAP 1.2, 3.2.2, worst first
CERTAINTIES: Final = ("Observed", "Likely", "Possible", "Unlikely", "Unknown")
URGENCIES: Final = ("Immediate", "Expected", "Future", "Past", "Unknown")


@dataclass(frozen=True, slots=True)
class Spell:
    """The weather from ``start`` up to, not including, ``end``.

    Attributes
    ----------
    wind, gust, upper_gust : float or None
        Mean, expected gust and the gust it may come to. [m/s]
    bearing_deg : float or None
        Where the wind comes from, 0 to 360 clockwise from north. [°]
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


@dataclass(frozen=True, slots=True)
class Place:
    """Where a forecast holds: the source's own cell, not the spot that was asked for."""

    latitude: float | None = None
    longitude: float | None = None
    cell: str = ""
    time_zone: str = ""


@dataclass(frozen=True, slots=True)
class Forecast:
    """Spells one after the other without holes: a stretch the source leaves out is a spell of None."""

    source: str
    issued_at: datetime | None
    fetched_at: datetime
    place: Place
    spells: tuple[Spell, ...]
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True, slots=True)
class GridAddress:
    """Where in the grid of which office a place lies."""

    office: str
    x: int
    y: int
    time_zone: str = ""

    @property
    def cell(self) -> str:
        return f"{self.office}/{self.x},{self.y}"


Point = tuple[float, float]  # latitude, longitude [°]


@dataclass(frozen=True, slots=True)
class Area:
    """Where an alert holds: in words, by codes, by outlines; circles are a centre and a radius [m]."""

    description: str
    polygons: tuple[tuple[Point, ...], ...] = ()
    circles: tuple[tuple[Point, float], ...] = ()
    same: tuple[str, ...] = ()
    ugc: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Alert:
    """An official alert.

    Attributes
    ----------
    ends : datetime or None
        End of the event; None when the source names none. Never ``expires``.
    expires : datetime or None
        By when the message must be renewed; says nothing about the storm.
    replaces : tuple of str
        Ids of the messages this one takes the place of.
    """

    id: str
    event: str
    status: Status
    message_type: MessageType
    severity: str
    certainty: str
    urgency: str
    sent: datetime | None
    onset: datetime | None
    ends: datetime | None
    expires: datetime | None
    headline: str = ""
    description: str = ""
    instruction: str = ""
    language: str = ""
    sender: str = ""
    areas: tuple[Area, ...] = ()
    replaces: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Alerts:
    """The alerts of one document; ``next_page`` is the address of the rest, if there is one."""

    source: str
    fetched_at: datetime
    alerts: tuple[Alert, ...]
    next_page: str | None = None
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True, slots=True)
class Reading:
    """What the farm's own anemometer measured."""

    at: datetime
    gust: float
    mean: float | None = None
    bearing_deg: float | None = None
    remarks: tuple[Remark, ...] = ()


def standing(alerts: Iterable[Alert], *, now: datetime) -> list[Alert]:
    """Return the alerts that hold: not replaced, not cancelled, and their event not over."""
    known = list(alerts)
    replaced = {old for alert in known for old in alert.replaces if old != alert.id}
    return [
        alert
        for alert in known
        if alert.id not in replaced and alert.message_type != "Cancel" and (alert.ends is None or alert.ends > now)
    ]
