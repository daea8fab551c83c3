"""What the parts of a door cost by the farm's book of materials."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from functools import cache
from typing import Final

import pint

from doors.book import HARDWARE, TIMBER
from doors.mechanics.choose import Prices
from doors.models import Door, Material
from doors.sizing import DoorKind
from farm.models import Farm, Opening

Per = Material.PricePer
LENGTHS: Final = {Per.M: "metre", Per.FT: "foot"}
AREAS: Final = {Per.M2: "metre ** 2", Per.FT2: "foot ** 2"}
MM_PER_METRE: Final = 1000
# Which of a door's own choices each part is cut from.
CHOSEN: Final = {
    "turning_bar": "turning_tube", "sill_bar": "sill_tube", "guide_post": "post_tube",
    "anti_billow_tube": "anti_billow_tube", "film_panel": "film", "drive_strip": "film", "leaf_film": "film",
    **{f"{place}_channel": "channel" for place in ("header", "jamb", "sill")},
    **{f"{place}_wire": "wire" for place in ("header", "jamb", "sill")},
}  # fmt: skip
CHOSEN_HARDWARE: Final = {"tie_rod": "rod", "gearbox_left": "drive", "gearbox_right": "drive"}
CLAMPED: Final = {"turning_bar": "turning_tube", "drive_strip": "turning_tube", "sill_bar": "sill_tube"}
SHEETS: Final = frozenset({"film_panel", "drive_strip", "leaf_film"})


class Book:
    """The materials a farm buys, and which of them the parts of one door are."""

    def __init__(self, materials: Iterable[Material], door: Door) -> None:
        self._by_code: dict[str, Material] = {}
        self._clamps: dict[Decimal, Material] = {}
        self._door = door
        for material in materials:
            self._by_code[material.code] = material
            if material.kind == Material.Kind.CLAMP and material.diameter_mm is not None:
                self._clamps.setdefault(material.diameter_mm, material)

    def __getitem__(self, code: str) -> Material | None:
        return self._by_code.get(code)

    def material(self, key: str) -> Material | None:
        """Return what a part is bought as: the key of a part that is cut, or hardware as ``item:place``."""
        item, _colon, place = key.partition(":")
        if item == "clamp":
            tube: Material | None = getattr(self._door, CLAMPED[place])
            return self._clamps.get(tube.diameter_mm) if tube and tube.diameter_mm is not None else None
        choice = CHOSEN_HARDWARE.get(item) if place else CHOSEN.get(item)
        if choice is not None:
            chosen: Material | None = getattr(self._door, choice)
            return chosen
        code = code_of(key)
        return self._by_code.get(code) if code else None

    def prices(self, opening: Opening, farm: Farm) -> Prices:
        """Return the prices of everything a door of any kind for this opening is made of."""
        cut = [*CHOSEN, *TIMBER]
        clamps = [f"clamp:{place}" for place in CLAMPED]
        items = [f"{item}:" for item in (*CHOSEN_HARDWARE, *HARDWARE)]
        area = float(opening.rough_width_mm * opening.rough_height_mm) / MM_PER_METRE**2
        each = {key: self._each(key) for key in clamps} | {key.rstrip(":"): self._each(f"{key}any") for key in items}
        return Prices(
            per_length=_known((key, per_metre(self.material(key))) for key in cut if key not in SHEETS),
            per_area=_known((key, per_square_metre(self.material(key))) for key in SHEETS),
            each=_known(each.items()),
            complete=_known([(DoorKind.COIL, whole(self["DOOR-COIL"], area))]),
            labour=None if farm.labour_rate is None else float(farm.labour_rate),
        )

    def _each(self, key: str) -> float | None:
        return per_piece(self.material(key))


def code_of(key: str) -> str | None:
    """Return the code the starter book gives a part that no door chooses for itself."""
    item, colon, _place = key.partition(":")
    return (HARDWARE if colon else TIMBER).get(item)


def per_metre(material: Material | None) -> float | None:
    """Return the price of a metre of tube, channel, wire or timber; None where it has none. [1/m]"""
    if material is None or material.price is None:
        return None
    if material.price_per in LENGTHS:
        return float(material.price) / _si(LENGTHS[Per(material.price_per)])
    if material.price_per in (Per.STOCK, Per.EACH) and material.stock_length_mm:
        return float(material.price) / float(material.stock_length_mm) * MM_PER_METRE
    return None


def per_square_metre(material: Material | None) -> float | None:
    """Return the price of a square metre of film; a price by the length needs the one width it is sold in. [1/m²]"""
    if material is None or material.price is None:
        return None
    if material.price_per in AREAS:
        return float(material.price) / _si(AREAS[Per(material.price_per)])
    if material.price_per in LENGTHS and len(material.roll_widths_mm) == 1:
        width = float(material.roll_widths_mm[0]) / MM_PER_METRE
        return float(material.price) / _si(LENGTHS[Per(material.price_per)]) / width
    return None


def per_piece(material: Material | None) -> float | None:
    """Return the price of one piece; one sold by the length needs its stock length."""
    if material is None or material.price is None:
        return None
    if material.price_per in (Per.EACH, Per.STOCK):
        return float(material.price)
    metre = per_metre(material)
    length = material.stock_length_mm
    return None if metre is None or length is None else metre * float(length) / MM_PER_METRE


def whole(material: Material | None, area: float) -> float | None:
    """Return the price of a door bought complete for an opening of this area. [m²]"""
    square = per_square_metre(material)
    return per_piece(material) if square is None else square * area


@cache
def _si(unit: str) -> float:
    """Return how many of the SI unit make one of this unit."""
    return float(pint.application_registry.Quantity(1.0, unit).to_base_units().magnitude)


def _known(prices: Iterable[tuple[str, float | None]]) -> Mapping[str, float]:
    return dict(_with_price(prices))


def _with_price(prices: Iterable[tuple[str, float | None]]) -> Iterator[tuple[str, float]]:
    for key, price in prices:
        if price is not None:
            yield str(key), price
