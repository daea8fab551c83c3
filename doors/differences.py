"""What two sheets of one opening differ in, named by the parts an installer would have to change."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from typing import Any

from django.utils.translation import gettext as _

from doors.sizing import Cut, Sheet
from doors.words.wording import capitalised, item_name, mark_name, part_name, place_name

UNNAMED = frozenset({"channel", "wire"})
SAME = 5e-5  # m; a twentieth of a millimetre is nothing on a tape


def differences(old: Sheet, new: Sheet) -> list[str]:
    """Return the names of what changed between two sheets; empty where both would be built alike."""
    return list(dict.fromkeys(_changed(old, new)))


def _changed(old: Sheet, new: Sheet) -> Iterator[str]:
    if old.kind != new.kind:
        yield _("Kind of door")
    if old.verdict != new.verdict:
        yield _("Verdict")
    cuts = {line.part: line for line in new.cuts}
    for key in _keys_that_differ({line.part: _named(line, cuts.get(line.part)) for line in old.cuts}, cuts):
        yield part_name(key)
    for item, place in _keys_that_differ(
        {(line.item, line.place): line for line in old.hardware},
        {(line.item, line.place): line for line in new.hardware},
    ):
        yield f"{item_name(item)} ({place_name(place)})"
    for part, mark in _keys_that_differ(
        {(row.part, row.mark): row for row in old.rows}, {(row.part, row.mark): row for row in new.rows}
    ):
        yield f"{part_name(part)}: {mark_name(mark)}"
    if not same(old.panel, new.panel):
        yield _("Film at each stage")
    if not same(old.roll, new.roll):
        yield _("Roll and turns")
    if not same((old.clear_width, old.clear_height), (new.clear_width, new.clear_height)):
        yield capitalised(_("clear opening"))


def _named(old: Cut, new: Cut | None) -> Cut:
    """Return a line of the cut list; one whose material core 1.0 was not told the name of takes today's."""
    return replace(old, material=new.material) if new and old.material in UNNAMED else old


def _keys_that_differ(old: dict[Any, Any], new: dict[Any, Any]) -> list[Any]:
    return [key for key in {**old, **new} if not same(old.get(key), new.get(key))]


def same(one: Any, other: Any) -> bool:
    """Return whether two values of a sheet are equal to within what a tape can tell."""
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= SAME
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(same, one, other))
    if is_dataclass(one) and type(one) is type(other):
        return all(same(getattr(one, field.name), getattr(other, field.name)) for field in fields(one))
    return bool(one == other)
