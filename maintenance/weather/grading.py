"""The words alerts grade themselves by, the same in GeoJSON and CAP 1.2."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Final

from maintenance.weather.reasons import Notes, shown

STATUSES: Final = ("Actual", "Exercise", "System", "Test", "Draft")
TYPES: Final = ("Alert", "Update", "Cancel", "Ack", "Error")


def graded(word: Any, known: tuple[str, ...], id: str, notes: Notes) -> str:
    """Return a word of the list; an unknown one is noted and counts as Unknown."""
    if isinstance(word, str) and word in known:
        return word
    notes.add("unknown_word", f"{id}: {shown(word)}")
    return "Unknown"


def sound_end(onset: datetime | None, end: datetime | None, id: str, notes: Notes) -> datetime | None:
    """Return the end of an event; None, with a note, for an end before its beginning."""
    if onset is not None and end is not None and end < onset:
        notes.add("ends_before", id)
        return None
    return end
