"""How lines of the book of materials and counts of the store are checked against the farm, and saved."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any, Final

from django.contrib.auth.models import User
from django.utils.translation import gettext as _

from doors.exchange.transfer import Line
from doors.models import Material, StockMove
from doors.register import SIZED_BY
from farm.formfields import written
from farm.models import Farm, Opening

BATCH: Final = 500
LEAST: Final = {
    "gear_ratio": "0.01", "rated_life_years": "0.1", "rated_dose_kly": "0.1", "price": "0", "least_stock": "0",
}  # fmt: skip


class MaterialRegister:
    """Lines of the book by code; a file with codes and prices alone brings the prices up to date."""

    def __init__(self, farm: Farm) -> None:
        self.farm = farm
        self.materials = {material.code.casefold(): material for material in Material.objects.of(farm)}
        self.rows: dict[str, int] = {}

    def check(self, line: Line) -> None:
        code = str(line.values.get("code", ""))
        if not code:
            if not line.problems:
                line.refuse("code", _("Write a code; the book knows its lines by it."))
            return
        if not once(line, self.rows, code.casefold(), "code"):
            return
        known = line.existing = self.materials.get(code.casefold())
        for column in ("kind", "name"):
            if known is None and not line.cells.get(column):
                line.refuse(column, _("Write it; a new material needs its kind and its name."))
        values = {name: getattr(known, name) for name in MATERIAL_COLUMNS} if known else {}
        for column, text in _material_errors(values | line.values, self.farm.units):
            line.refuse(column, text)

    def save(self, lines: Sequence[Line]) -> list[int]:
        Material.objects.bulk_create(
            [Material(farm=self.farm, **line.values) for line in lines if line.existing is None],
            batch_size=BATCH,
        )
        changed: set[str] = set()
        for line in lines:
            if line.existing is not None:
                changed |= self._update(line.existing, line.values)
        if not changed & set(SIZED_BY):
            return []
        return list(Opening.objects.of(self.farm).in_use().order_by("pk").values_list("pk", flat=True))

    def _update(self, material: Material, values: Mapping[str, Any]) -> set[str]:
        """Save what differs, and return its columns; the code stays as the book spells it."""
        columns = {name for name, value in values.items() if name != "code" and getattr(material, name) != value}
        for name in columns:
            setattr(material, name, values[name])
        if columns:
            material.save(update_fields=sorted(columns))
        return columns


MATERIAL_COLUMNS: Final = ("diameter_mm", "wall_mm", "stock_length_mm", "price", "price_per", *LEAST)


def _material_errors(values: Mapping[str, Any], units: str) -> Iterator[tuple[str, str]]:
    """Yield what is impossible about a material, by its column in the file."""
    for name, least in LEAST.items():
        if values.get(name) is not None and values[name] < Decimal(least):
            text = _("%(number)s is too small. Write %(least)s or more.")
            yield name, text % {"number": values[name], "least": least}
    diameter, wall = values.get("diameter_mm"), values.get("wall_mm")
    if diameter is not None and wall is not None and wall * 2 >= diameter:
        text = _("A tube of %(diameter)s outside cannot have a wall of %(wall)s. Write less than %(limit)s.")
        sizes = {"diameter": diameter, "wall": wall, "limit": diameter / 2}
        yield "wall", text % {name: written(size, units) for name, size in sizes.items()}
    if values.get("price") is not None and not values.get("price_per"):
        yield "price_per", _("Choose what this price buys.")
    if values.get("price_per") == Material.PricePer.STOCK and values.get("stock_length_mm") is None:
        yield "price_per", _("Write the stock length, or choose another measure for the price.")


class CountRegister:
    """What was counted in the store; the difference to what the list says is a move, as when it is counted by hand."""

    def __init__(self, farm: Farm, today: date, by: User | None) -> None:
        self.farm, self.today, self.by = farm, today, by
        self.materials = {material.code.casefold(): material for material in Material.objects.of(farm)}
        self.rows: dict[str, int] = {}
        self.moves: dict[int, list[tuple[date, Decimal]]] = defaultdict(list)
        for pk, on, quantity in StockMove.objects.of(farm).values_list("material", "on", "quantity"):
            self.moves[pk].append((on, quantity))

    def check(self, line: Line) -> None:
        values = line.values
        material = self.materials.get(str(values.get("code", "")).casefold())
        if material is None:
            line.refuse("code", _("Not in the book of materials. Write the code of one that is."))
            return
        values["material"], on = material, values.setdefault("on", self.today)
        if on > self.today:
            line.refuse("on", _("This day has not come yet. Write today or an earlier day."))
        if "found" not in values:
            if not line.problems:
                line.refuse("counted", _("Write what you counted, 0 or more."))
        elif values["found"] < 0:
            line.refuse("counted", _("Write what you counted, 0 or more."))
        once(line, self.rows, f"{material.pk} {on}", "code")

    def save(self, lines: Sequence[Line]) -> list[int]:
        new = []
        for line in sorted(lines, key=lambda one: (one.values["on"], one.number)):
            material, on, found = (line.values[name] for name in ("material", "on", "found"))
            known = sum((quantity for day, quantity in self.moves[material.pk] if day <= on), Decimal(0))
            if found == known:
                continue
            self.moves[material.pk].append((on, found - known))
            new.append(StockMove(
                farm=self.farm, material=material, quantity=found - known, on=on, by=self.by,
                reason=StockMove.Reason.COUNTED, note=line.values.get("note", ""),
            ))  # fmt: skip
        StockMove.objects.bulk_create(new, batch_size=BATCH)
        return []


def once(line: Line, rows: dict[str, int], key: str, column: str) -> bool:
    """Note where a key stands in the file; refuse its second row."""
    if key in rows:
        line.refuse(column, _("Row %(row)s of this file is the same one. Delete one of them.") % {"row": rows[key]})
        return False
    rows[key] = line.number
    return True
