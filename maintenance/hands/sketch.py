"""A task's door in its end wall, small: which hole of which wall, without a figure."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from django.db.models import prefetch_related_objects
from django.utils.translation import gettext as _

from doors.rows import wall_view
from farm.elevations import draw_door, draw_frame, draw_wall
from farm.paper import Drawing, Paper, best_scale
from maintenance.models import StormTask

ACROSS: Final = 60.0  # mm
TALLEST: Final = 34.0  # mm
MARGIN: Final = 8.0  # mm


def load_walls(tasks: Iterable[StormTask]) -> None:
    """Load the walls of tasks with all doors in them, in few queries."""
    openings = [task.opening for task in tasks if task.opening is not None]
    if openings:
        prefetch_related_objects(openings, "end_wall__openings", "end_wall__tunnel")


def sketch_of(task: StormTask) -> Drawing | None:
    """Return a task's wall with its door drawn and the other doors empty; None where the wall is not measured."""
    opening = task.opening
    if opening is None or opening.offset_mm is None:
        return None
    view = wall_view(opening.end_wall.tunnel, opening.end_wall, {})
    if view is None:
        return None
    profile = view.profile
    scale = best_scale(profile.width, profile.ridge, ACROSS - 2 * MARGIN, TALLEST)
    left = (ACROSS - profile.width * 1000 / scale) / 2
    paper = Paper(scale, left, 3 + profile.ridge * 1000 / scale)
    draw_wall(paper, profile)
    for one in view.openings:
        if one.code == opening.code:
            draw_frame(paper, one, None, profile)
            draw_door(paper, one)
        else:
            paper.box(one.left, one.threshold, one.left + one.width, one.head, "hidden")
    name = _("Where %(door)s is in its end wall, seen from outside") % {"door": opening.code}
    return paper.finish(name, name, width=ACROSS, height=paper.y(0) + 5, to_scale=False)
