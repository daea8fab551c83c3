"""The film plan as a table for a file."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Final

from django.utils.translation import gettext as _

from doors.exchange.spreadsheets import Cell
from farm.units import measure_in
from maintenance.film.plan import FilmPlan, Replacement

MONEY: Final = Decimal("0.01")
TENTH: Final = Decimal("0.1")
IN_FT2: Final = ("in", "ft2", "lb")
METRIC: Final = ("mm", "m2", "kg")


def headers(units: str) -> list[str]:
    """Return the columns' names; a quantity's ends in its unit."""
    length, area, mass = IN_FT2 if units == "us" else METRIC
    return [
        "plan_year", "on", "part", "where_exactly", "film", "layers", "fitted_on", "age_years", "expected_end",
        "latest_end", "ends_by", "end_by_sun", "when", "replace_on", "order_by", f"sheet_width_{length}",
        f"sheet_length_{length}", f"covers_{area}", f"roll_width_{length}", f"roll_length_{length}", f"buy_{area}",
        f"weight_of_a_layer_{mass}", "film_cost", "people", "person_hours", "work_cost", "currency", "in_store",
        "not_known",
    ]  # fmt: skip


def rows(plan: FilmPlan, units: str, currency: str) -> Iterator[list[Cell]]:
    """Yield a row for each sheet, the first to be replaced on top."""
    for row in plan.rows:
        yield [*_when(row), *_what(row, units), *_cost(row), currency, *_rest(row, plan)]


def _when(row: Replacement) -> list[Cell]:
    part, ends, sun = row.part, row.ends, row.age.by_dose
    return [
        None if row.year is None else row.year + 1, row.place, part.get_kind_display(), part.spot,
        part.material.name if part.material else None, row.size.layers, part.fitted_on,
        round(Decimal(row.age.days) / Decimal("365.25"), 1), ends.early if ends else None,
        ends.late if ends else None, ends.by if ends else None, sun.expected if sun else None,
        {"now": _("now"), "planned": _("planned"), "unknown": _("not known")}[row.when],
        row.replace_on, row.order_by,
    ]  # fmt: skip


def _what(row: Replacement, units: str) -> list[Cell]:
    size = row.size
    sheet = (size.sheet.width, size.sheet.length) if size.sheet else (None, None)
    lengths = [*sheet, size.roll_width, size.piece.length if size.piece else None]
    width, length, roll_width, roll_length = (_length(value, units) for value in lengths)
    mass = None if size.mass is None else _tenth(measure_in("mass", size.mass, units)[0])
    return [width, length, _area(size.covers, units), roll_width, roll_length, _area(size.area, units), mass]


def _cost(row: Replacement) -> list[Cell]:
    hours = None if row.person_hours is None else _tenth(row.person_hours)
    return [_money(row.film_cost), row.crew, hours, _money(row.work_cost)]


def _rest(row: Replacement, plan: FilmPlan) -> list[Cell]:
    lies = plan.in_store.get(row.part.material_id) if row.part.material_id else None
    return [lies, " ".join(str(reason) for reason in row.missing)]


def _length(value: float | None, units: str) -> Decimal | None:
    return None if value is None else _tenth(value / 0.0254 if units == "us" else value * 1000)


def _area(value: float | None, units: str) -> Decimal | None:
    return None if value is None else _tenth(measure_in("area", value, units)[0])


def _tenth(value: float) -> Decimal:
    return Decimal(value).quantize(TENTH)


def _money(value: float | None) -> Decimal | None:
    return None if value is None else Decimal(value).quantize(MONEY)
