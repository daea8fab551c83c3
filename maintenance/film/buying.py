"""What film to buy for the next season: by material and roll width, from the plan's first year."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from doors.models import Material
from maintenance.film.plan import FilmPlan, Replacement


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """One film off one width of roll."""

    material: Material
    roll_width: float | None  # m; None: the book names no widths
    cuts: tuple[tuple[int, float, float], ...]  # how many, how wide and how long, the longest first [m]
    sheet_count: int
    length: float  # m, off the roll
    area: float  # m²
    cost: float | None
    order_by: date
    is_late: bool  # to be ordered before today
    in_store: Decimal | None  # as the store counts it; None: never counted


def purchases(plan: FilmPlan) -> list[Purchase]:
    """Return what the first year of a plan takes; sheets of unknown size or film are left out."""
    grouped: dict[tuple[str, int, float | None], list[Replacement]] = defaultdict(list)
    for row in plan.years[0].rows:
        if row.part.material is not None and row.size.piece is not None and row.size.layers:
            grouped[row.part.material.code, row.part.material.pk, row.size.roll_width].append(row)
    keys = sorted(grouped, key=lambda key: (key[0], key[1], key[2] or 0))
    return [_purchase(key[2], grouped[key], plan.on, plan.in_store) for key in keys]


def left_out(plan: FilmPlan) -> int:
    """Return how many sheets of the first year cannot be ordered yet: their film or their size is not known."""
    return sum(row.part.material is None or row.size.area is None for row in plan.years[0].rows)


def _purchase(
    roll_width: float | None, rows: Sequence[Replacement], on: date, in_store: Mapping[int, Decimal]
) -> Purchase:
    cuts: Counter[tuple[float, float]] = Counter()
    for row in rows:
        if row.size.piece is not None:
            cuts[row.size.piece.roll_width, row.size.piece.length] += row.size.layers or 0
    material = rows[0].part.material
    assert material is not None  # noqa: S101 - grouped by it
    costs = [row.film_cost for row in rows]
    order_by = min(row.order_by for row in rows if row.order_by is not None)
    return Purchase(
        material=material, roll_width=roll_width,
        cuts=tuple((count, *size) for size, count in sorted(cuts.items(), key=lambda cut: cut[0][::-1], reverse=True)),
        sheet_count=cuts.total(), length=sum(count * length for (_width, length), count in cuts.items()),
        area=sum(row.size.area or 0 for row in rows),
        cost=None if None in costs else sum(cost for cost in costs if cost is not None),
        order_by=order_by, is_late=order_by < on, in_store=in_store.get(material.pk),
    )  # fmt: skip
