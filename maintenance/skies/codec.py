"""Forecasts as JSON and back: spells in SI with times in UTC, null for what is not known; remarks by their keys."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from typing import Any

from maintenance.weather import MESSAGES, Remark, Spell


def spells_to_json(spells: Iterable[Spell]) -> list[dict[str, Any]]:
    """Return spells as a column keeps them."""
    return [{**asdict(spell), "start": _written(spell.start), "end": _written(spell.end)} for spell in spells]


def spells_from_json(rows: Iterable[Mapping[str, Any]]) -> tuple[Spell, ...]:
    """Return the spells of a column; whatever it holds besides is passed over, what it lacks is not known."""
    return tuple(_spell(row) for row in rows)


def remarks_to_json(remarks: Iterable[Remark]) -> list[dict[str, Any]]:
    """Return remarks as a column keeps them."""
    return [{"reason": remark.reason, "params": dict(remark.params)} for remark in remarks]


def remarks_from_json(rows: Sequence[Mapping[str, Any]]) -> tuple[Remark, ...]:
    """Return the remarks of a column, without those that nobody knows the words of any more."""
    return tuple(Remark(row["reason"], row.get("params", {})) for row in rows if row.get("reason") in MESSAGES)


def _spell(row: Mapping[str, Any]) -> Spell:
    return Spell(
        _read(row["start"]), _read(row["end"]), wind=row.get("wind"), gust=row.get("gust"),
        upper_gust=row.get("upper_gust"), bearing_deg=row.get("bearing_deg"), temperature=row.get("temperature"),
        rain=row.get("rain"), snow=row.get("snow"), thunder=row.get("thunder"),
    )  # fmt: skip


def _written(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat()


def _read(text: str) -> datetime:
    return datetime.fromisoformat(text).astimezone(UTC)
