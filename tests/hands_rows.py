"""Rows of a storm for tests: plain functions with keyword overrides. The deadline is five in the afternoon, UTC."""

from __future__ import annotations

import io
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import count
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from farm.models import Farm, Membership
from maintenance.models import Storm, StormPerson, StormTask
from tests.factories import make_opening, make_tunnel

# Tomorrow, by the real clock: pages plan by that one, and a deadline that is past leaves nothing to plan.
MORNING = datetime.now(UTC).replace(hour=8, minute=0, second=0, microsecond=0) + timedelta(days=1)
DEADLINE = MORNING + timedelta(hours=9)

_numbers = count(1)


def make_storm(farm: Farm, **values: Any) -> Storm:
    """Make a storm that comes tomorrow and whose work must be done by five today."""
    sizes: dict[str, Any] = {
        "state": "coming", "opened_at": MORNING, "begins_at": DEADLINE + timedelta(hours=2),
        "ends_at": DEADLINE + timedelta(hours=30), "peak_at": DEADLINE + timedelta(hours=20),
        "peak_gust_m_s": Decimal("27.27"), "level": 4, "deadline_at": DEADLINE,
        "start_by_at": DEADLINE - timedelta(hours=3), "assessed_at": MORNING,
    }  # fmt: skip
    return Storm.objects.create(farm=farm, **{**sizes, **values})


def make_task(storm: Storm, **values: Any) -> StormTask:
    """Make an open task of seven minutes for one person: a film door of a new tunnel."""
    opening = values.get("opening")
    if opening is None and "tunnel" not in values:
        opening = make_opening(make_tunnel(storm.farm).end_walls.get(end="B"))
    tunnel = values.pop("tunnel", None) or opening.end_wall.tunnel
    sizes = {"key": f"task-{next(_numbers)}", "kind": "film_door", "minutes": 7, "opening": opening}
    return StormTask.objects.create(storm=storm, tunnel=tunnel, **{**sizes, **values})


def here(storm: Storm, member: Membership, **values: Any) -> StormPerson:
    """Let somebody be here before a storm."""
    return StormPerson.objects.create(storm=storm, membership=member, **values)


def picture_file(kind: str = "PNG", size: tuple[int, int] = (40, 20), **how: Any) -> SimpleUploadedFile:
    """Return a picture as a browser sends it, each in a colour of its own."""
    colour = (next(_numbers) * 37 % 256, 80, 120)
    file = io.BytesIO()
    Image.new("RGB", size, colour).save(file, kind, **how)
    return SimpleUploadedFile(f"picture.{kind.lower()}", file.getvalue())
