"""Where a task before a storm is done, on the farm's plan. [m]"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Literal

from farm.fields import metres
from farm.geometry import footprint, opening_on_plan
from farm.geometry.limits import Floats
from farm.models import EndWall, Opening, Tunnel
from maintenance.models import StormTask

Place = tuple[float, float]
SIDES: Final = {"left": (0, 3), "right": (1, 2)}  # corners of a footprint, facing along the axis
ENDS: Final = {"A": (0, 1), "B": (2, 3)}


def place_of(task: StormTask) -> Place:
    """Return where a task is done; its tunnel's middle where more is not known, the plan's origin where nothing is."""
    tunnel = task.tunnel
    middle = metres(tunnel.east_mm), metres(tunnel.north_mm)
    if middle[0] is None or middle[1] is None:
        return 0.0, 0.0
    width, length = metres(tunnel.width_mm), metres(tunnel.length_mm)
    if not width or not length or tunnel.axis_bearing_deg is None:
        return middle[0], middle[1]
    corners = footprint(middle[0], middle[1], width, length, float(tunnel.axis_bearing_deg))
    wall = _wall_of(task)
    if task.opening is not None and (jambs := _jambs(corners, task.opening)) is not None:
        points: Sequence[Floats] = jambs
    elif wall is not None:
        points = [corners[index] for index in ENDS[wall.end]]
    elif task.side in SIDES:
        points = [corners[index] for index in SIDES[task.side]]
    else:
        return middle[0], middle[1]
    east, north = (math.fsum(float(point[axis]) for point in points) / len(points) for axis in (0, 1))
    return east, north


def _wall_of(task: StormTask) -> EndWall | None:
    if task.opening is not None:
        return task.opening.end_wall
    return task.repair.end_wall if task.repair is not None else None


def _jambs(corners: Floats, opening: Opening) -> list[Floats] | None:
    offset, width = metres(opening.offset_mm), metres(opening.rough_width_mm)
    if offset is None or not width:
        return None
    try:
        return list(opening_on_plan(corners, _end(opening.end_wall), offset, width))
    except ValueError:  # a wall measured anew, narrower than its door
        return None


def _end(wall: EndWall) -> Literal["A", "B"]:
    return "A" if wall.end == Tunnel.End.A else "B"
