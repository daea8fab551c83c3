"""The invented demo farm in a November storm: its forecast, its structures, its crew. Local time is UTC-5."""

from datetime import UTC, datetime, timedelta

from doors.sizing import FOOT, DoorKind
from maintenance.storm.quantity import MINUTE, MPH, Interval
from maintenance.storm.spells import Spell
from maintenance.storm.work import Door, Repair, Structure
from maintenance.storm.work_time import Shift

MONDAY = datetime(2026, 11, 16, 5, tzinfo=UTC)  # midnight at the farm
S, SW, W, WNW, NW = 180.0, 225.0, 270.0, 292.5, 315.0

# day, hour, gust in mph, where the wind comes from
ROWS = (
    (1, 0, 12, S), (1, 8, 18, S), (1, 17, 14, S),
    (2, 0, 15, SW), (2, 12, 22, SW), (2, 17, 27, SW), (2, 19, 31, SW), (2, 23, 33, SW),
    (3, 6, 35, SW), (3, 12, 38, SW), (3, 14, 52, W), (3, 15, 58, W), (3, 16, 61, W), (3, 18, 58, W), (3, 20, 55, W),
    (4, 0, 42, WNW), (4, 18, 34, WNW), (5, 0, 28, NW), (6, 0, 9, W), (6, 23, 12, W),
)  # fmt: skip


def at(day, hour, minute=0):
    """Return a moment at the farm in UTC; day 1 is Tuesday."""
    return MONDAY + timedelta(days=day, hours=hour, minutes=minute)


def forecast(rows=ROWS, until=None, **changes):
    ends = [at(day, hour) for day, hour, *_ in rows[1:]] + [until or at(7, 12)]
    return tuple(
        Spell(at(day, hour), end, gust=gust * MPH, bearing_deg=bearing, **changes)
        for (day, hour, gust, bearing), end in zip(rows, ends, strict=True)
    )


def shifts(end=17, people=4, days=range(1, 5)):
    return tuple(Shift(at(day, 7), at(day, end), people) for day in days)


def daylight(days=range(1, 5)):
    """Civil dawn 06:27 and dusk 17:16."""
    return tuple(Interval(at(day, 6, 27), at(day, 17, 16)) for day in days)


def film_door(code, feet):
    wall = {"W": 270.0, "E": 90.0}[code[-1]]
    return Door(place=code, kind=DoorKind.MID_BAR, width=feet * FOOT, bearing=wall)


def person_door(code):
    return Door(place=f"{code}-E person", kind=DoorKind.PERSON, width=3 * FOOT, bearing=90.0)


REPAIRS = {
    "T04": Repair(place="T04-W", time=40 * MINUTE, bearing=270.0, needs_dry=True, note="tape lifting"),
    "T08": Repair(place="T08-W", time=45 * MINUTE, bearing=270.0, note="clamp 4 spun"),
    "T09": Repair(place="T09-W", time=50 * MINUTE, bearing=270.0, note="guide post leans"),
    "T11": Repair(place="T11-W", time=25 * MINUTE, bearing=270.0, note="handle pin missing"),
    "T06": Repair(place="T06-N", time=30 * MINUTE, bearing=0.0, note="cord missing"),
}


def structure(number):
    code = f"T{number:02}"
    if number <= 4:
        doors = (film_door(f"{code}-W", 12), film_door(f"{code}-E", 12), person_door(code))
    elif number <= 9:
        doors = (film_door(f"{code}-W", 10), person_door(code))
    elif number <= 11:
        sliding = Door(place=f"{code}-E", kind=DoorKind.SLIDING_PAIR, width=10 * FOOT, bearing=90.0)
        doors = (film_door(f"{code}-W", 20), sliding, person_door(code))
    else:
        doors = (film_door(f"{code}-W", 22), film_door(f"{code}-E", 16))
    return Structure(
        code=code,
        doors=doors,
        sides=((f"{code}-N", 0.0), (f"{code}-S", 180.0)),
        is_inflated=number <= 4,
        has_shade=number == 7,
        repairs=(REPAIRS[code],) if code in REPAIRS else (),
    )


FARM = tuple(structure(number) for number in range(1, 13))
