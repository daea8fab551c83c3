"""Doors in the wind for tests of what stands around the mechanics: plain functions, keyword overrides."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from doors.mechanics.post import Soil
from doors.mechanics.strength import Strengths
from doors.mechanics.wind_data import Exposure
from doors.sizing import DoorKind, Rules
from doors.wind.inputs import DoorInWind
from tests.openings import make_opening

INCH = 0.0254  # m, exact
MPH = 0.44704  # m/s, exact


def make_door(*, opening: dict[str, Any] | None = None, **changes: Any) -> DoorInWind:
    """A 12 x 9 ft mid-bar door in sand with 3 1/2 in studs and new film, nothing missing, without hold-downs."""
    values: dict[str, Any] = {
        "opening": make_opening(**(opening or {})),
        "rules": Rules(),
        "strengths": Strengths(),
        "exposure": Exposure.C,
        "stud_depth": 3.5 * INCH,
        "soil": Soil.SAND,
        "film_years": 0.0,
        "rated_years": 4.0,
    }
    return DoorInWind(**(values | changes))


def make_bottom_bar(**changes: Any) -> DoorInWind:
    """The same opening with the bar at the bottom."""
    door = make_door(**changes)
    return replace(door, opening=replace(door.opening, kind=DoorKind.BOTTOM_BAR))
