"""Places to keep out of: a danger that was reported stands until its repair is closed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from farm.models import Farm
from maintenance.models import Repair
from maintenance.querysets import RepairQuerySet
from maintenance.words.places import place_of


@dataclass(frozen=True, slots=True)
class Danger:
    """One place to keep out of."""

    repair: Repair
    place: str
    text: str
    since: datetime | None
    who: str


def dangerous(farm: Farm) -> RepairQuerySet:
    """Return the repairs that keep people out of a place."""
    return Repair.objects.of(farm).unmended().filter(is_danger=True)


def dangers_of(farm: Farm) -> list[Danger]:
    """Return the places to keep out of, the newest first, in one query."""
    found = dangerous(farm).select_related(
        "tunnel", "end_wall__tunnel", "opening__end_wall__tunnel"
    )  # fmt: skip
    return [
        Danger(repair, place_of(repair), " ".join(repair.note.split()), repair.found_at, repair.found_by)
        for repair in found.order_by("-found_on", "-pk")
    ]


def danger_json(danger: Danger) -> dict[str, Any]:
    """Return what a phone says of a danger."""
    since = danger.since.isoformat() if danger.since else danger.repair.found_on.isoformat()
    return {"repair": danger.repair.pk, "text": danger.text, "since": since, "who": danger.who}
