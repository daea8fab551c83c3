"""The storms that were, as a table for a file."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any, Final

from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from doors.exchange.columns import Column
from doors.exchange.kinds import Kind
from maintenance.models import Storm


def _moment(name: str) -> Callable[[Any], str]:
    """Return what reads a moment, as the farm's clock shows it with its offset."""

    def read(storm: Storm) -> str:
        at: datetime | None = getattr(storm, name)
        return "" if at is None else timezone.localtime(at).isoformat(timespec="minutes")

    return read


STORMS: Final = Kind(
    "storms",
    _("Storms"),
    (
        Column("begins_at", read=_moment("begins_at")),
        Column("ends_at", read=_moment("ends_at")),
        Column("state", read=lambda storm: str(storm.get_state_display())),
        Column("level", "level"),
        Column("peak_at", read=_moment("peak_at")),
        Column("highest_gust_forecast_m_s", "peak_gust_m_s"),
        Column("highest_gust_that_came_m_s", "actual_gust_m_s"),
        Column("be_done_by", read=_moment("deadline_at")),
        Column("first_seen_at", read=_moment("opened_at")),
        Column("closed_at", read=_moment("closed_at")),
        Column("cost", "cost"),
        Column("what_we_learnt", "note"),
    ),
    lambda _farm: {},
)
