"""Where something is: the code of the place, and the spot in it."""

from __future__ import annotations

from typing import Protocol

from django.utils.translation import gettext as _

from doors.models import Component
from farm.models import EndWall, Opening, Tunnel
from farm.naming import point
from maintenance.models import Job, Plan, Repair


class Placed(Protocol):
    """A row that says where it is by the narrowest of three columns."""

    @property
    def tunnel(self) -> Tunnel | None: ...
    @property
    def end_wall(self) -> EndWall | None: ...
    @property
    def opening(self) -> Opening | None: ...


def place_code(row: Placed) -> str:
    """Return the code of a row's place; tunnel, end wall and opening must be loaded."""
    if row.opening:
        return row.opening.code
    if row.end_wall:
        return f"{row.end_wall.tunnel.code}-{point(row.end_wall.bearing_deg, row.end_wall.end)}"
    return row.tunnel.code if row.tunnel else _("the farm")


def place_of(row: Plan | Repair | Component) -> str:
    """Return where a plan, a fault or a part is, such as “T08-W, right jamb, clamp 4”."""
    spot = _spot(row)
    return f"{place_code(row)}, {spot}" if spot else place_code(row)


def place_of_job(job: Job) -> str:
    """Return where a job is done; a fault knows its spot, which its plan does not."""
    repair = repair_of(job)
    return f"{place_code(job.plan)}, {repair.spot}" if repair and repair.spot else place_of(job.plan)


def repair_of(job: Job) -> Repair | None:
    """Return the fault that a job mends, where there is one; it must be loaded."""
    found: Repair | None = getattr(job, "repair", None)
    return found


def _spot(row: Plan | Repair | Component) -> str:
    if isinstance(row, Plan):
        return row.component.spot if row.component else ""
    return row.spot
