"""What nobody measured or chose, and which links of a door's load path cannot be worked out without it."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from doors.mechanics.assess import read_wind
from doors.mechanics.post import Soil
from doors.sizing import Film, Rod, Tube
from doors.wind.inputs import DoorInWind


@dataclass(frozen=True, slots=True)
class Gap:
    """An input nobody gave, and the links that cannot be worked out without it."""

    field: str
    links: tuple[str, ...]


def gaps(door: DoorInWind) -> tuple[Gap, ...]:
    """Return what nobody gave, each with the links it alone leaves unknown.

    Every link is worked out with stand-ins for all the other gaps; only which of them stay unknown is looked at.
    """
    lacking = [field for field in FIELDS if FIELDS[field].is_lacking(door)]
    found = []
    for field in lacking:
        others = door
        for other in lacking:
            others = others if other == field else FIELDS[other].fill(others)
        names = _unknown(others)
        if names:
            found.append(Gap(field, names))
    return tuple(found)


def _unknown(door: DoorInWind) -> tuple[str, ...]:
    states = read_wind(door.opening, door.site, door.strengths, door.rules)
    names = (link.name for state in states for link in state.links if np.isnan(link.pressure))
    return tuple(dict.fromkeys(names))


@dataclass(frozen=True, slots=True)
class _Field:
    """One input of the reading: whether it lacks, and the door with a stand-in for it."""

    is_lacking: Callable[[DoorInWind], bool]
    fill: Callable[[DoorInWind], DoorInWind]


def _of_opening(name: str, stand_in: float) -> _Field:
    return _Field(
        lambda door: getattr(door.opening, name) is None,
        lambda door: dataclasses.replace(door, opening=dataclasses.replace(door.opening, **_change(name, stand_in))),
    )


def _of_wall(name: str, stand_in: float) -> _Field:
    return _Field(
        lambda door: getattr(door.opening.wall, name) is None,
        lambda door: _with_opening(door, wall=dataclasses.replace(door.opening.wall, **_change(name, stand_in))),
    )


def _of_design(name: str, stand_in: object) -> _Field:
    return _Field(
        lambda door: getattr(door.opening.design, name) is None,
        lambda door: _with_opening(door, design=dataclasses.replace(door.opening.design, **_change(name, stand_in))),
    )


def _with_opening(door: DoorInWind, **changes: Any) -> DoorInWind:
    return dataclasses.replace(door, opening=dataclasses.replace(door.opening, **changes))


_TUBE = Tube(diameter=0.03, wall=0.002)
# Any sound values do: they only show which links hang on what is still lacking, and no figure comes of them.
FIELDS: Mapping[str, _Field] = {
    "threshold": _of_opening("threshold", 0.0),
    "header_depth": _of_opening("header_depth", 0.1),
    "wall.header_thickness": _of_wall("header_thickness", 0.05),
    "wall.stud_face": _of_wall("stud_face", 0.05),
    "stud_depth": _Field(
        lambda door: door.stud_depth is None, lambda door: dataclasses.replace(door, stud_depth=0.1)
    ),
    "soil": _Field(lambda door: door.soil is None, lambda door: dataclasses.replace(door, soil=Soil.SAND)),
    "design.turning_tube": _of_design("turning_tube", _TUBE),
    "design.sill_tube": _of_design("sill_tube", _TUBE),
    "design.anti_billow_tube": _of_design("anti_billow_tube", _TUBE),
    "design.film": _of_design("film", Film(thickness=0.00015)),
    "design.rod": _of_design(
        "rod", Rod(diameter=0.01, length=0.3, nut_height=0.008, washer_thickness=0.002)
    ),
    "film_age": _Field(lambda door: door.film_left is None, lambda door: dataclasses.replace(door, film_years=0.0)),
}  # fmt: skip


def _change(name: str, value: object) -> dict[str, Any]:
    return {name: value}
