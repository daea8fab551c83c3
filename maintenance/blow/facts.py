"""Facts of the storm core as JSON and back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from typing import Any

from maintenance.storm.quantity import Fact


def facts_to_json(facts: Iterable[Fact]) -> list[dict[str, Any]]:
    """Return facts as a column keeps them, without what is empty."""
    return [
        {
            name: value
            for name, value in (
                ("key", one.key), ("value", one.value), ("limit", one.limit), ("at", written(one.at)),
                ("place", one.place),
            )
            if value not in (None, "")
        }
        for one in facts
    ]  # fmt: skip


def facts_from_json(rows: Iterable[Mapping[str, Any]]) -> tuple[Fact, ...]:
    """Return the facts of a column."""
    return tuple(
        Fact(one["key"], one.get("value"), one.get("limit"), moment(one.get("at")), one.get("place", ""))
        for one in rows
    )


def written(at: datetime | None) -> str | None:
    """Return a moment as JSON holds it."""
    return None if at is None else at.astimezone(UTC).isoformat()


def moment(text: str | None) -> datetime | None:
    """Return a moment that JSON held."""
    return None if not text else datetime.fromisoformat(text).astimezone(UTC)
