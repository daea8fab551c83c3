"""The kinds of door for one opening side by side, ready to print."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final
from urllib.parse import urlencode

from django.utils import formats
from django.utils.translation import gettext as _

from doors import sizing
from doors.book import CHOICES, STARTER_BOOK
from doors.inputs import opening_input
from doors.mechanics.assess import Site, read_wind
from doors.mechanics.choose import Option, choose
from doors.mechanics.post import Soil
from doors.mechanics.strength import Strengths
from doors.mechanics.tube import STANDARD_GRAVITY
from doors.models import Door, Material, Sizing
from doors.pricing import Book, code_of
from doors.proposals import drive_side
from doors.services import refusal_facts
from doors.words.kinds import cautions_of
from doors.words.wording import check_text, item_name, missing_text, part_name, refusal_text
from farm.fields import metres
from farm.formfields import plain
from farm.models import Farm, Opening

PLACE_CHECKS: Final = frozenset({"diagonals", "exit", "storm", "wall_left"})  # alike for every large door


@dataclass(frozen=True, slots=True, kw_only=True)
class Unpriced:
    """Something a door is made of that has no price.

    ``material`` is None where the book does not hold it; ``proposal`` is then what a new line of the book
    could be, as a query string.
    """

    name: str
    material: Material | None
    proposal: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class KindLine:
    """One kind of door as the page prints it; ``option`` holds its figures."""

    option: Option
    name: str
    word: str
    is_present: bool
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]
    lasts: str
    cost: str
    cost_parts: str
    cost_ratio: str
    unpriced: tuple[Unpriced, ...]
    mass: float | None  # kg
    gust: float | None  # m/s at the door

    @property
    def can_plan(self) -> bool:
        """Whether it makes sense to plan this kind here."""
        return self.option.fits and not self.is_present


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """All kinds of door for an opening, and what holds for every large one of them."""

    lines: tuple[KindLine, ...]
    place: tuple[str, ...]
    has_labour: bool
    has_prices: bool


def compare(
    *, farm: Farm, opening: Opening, door: Door, others: Sequence[Opening], materials: Sequence[Material],
    rules: sizing.Rules, strengths: Strengths,
) -> Comparison:  # fmt: skip
    """Return the kinds of door for an opening, those that fit first.

    Parameters
    ----------
    farm : Farm
        Its labour rate, soil and storm wind are read.
    opening, door : Opening, Door
        With end wall and tunnel, and with the door's materials; what was not chosen is taken from the book.
    others : sequence of Opening
        The other openings of the tunnel.
    materials : sequence of Material
        The farm's book.
    rules, strengths : Rules, Strengths
        The farm's.
    """
    book = Book(materials, door)
    complete_design(opening, door, book)
    given = opening_input(opening, door, others, farm)
    prices = book.prices(opening, farm)
    options = choose(given, prices=prices, rules=rules)
    site = Site(
        stud_depth=metres(opening.end_wall.stud_depth_mm),
        soil=Soil(farm.soil) if farm.soil else None,
        hold_down_spacing=metres(door.hold_down_spacing_mm),
    )
    gusts = {option.kind: _gust(given, option, site, strengths, rules) for option in options}
    lines = tuple(_line(option, opening, door, book, farm, gusts[option.kind]) for option in options)
    return Comparison(
        lines=lines,
        place=_place(options, farm.units),
        has_labour=farm.labour_rate is not None,
        has_prices=bool(prices.per_length or prices.per_area or prices.each or prices.complete),
    )


def complete_design(opening: Opening, door: Door, book: Book) -> None:
    """Choose from the book, on the row in memory only, whatever any kind of door would need and this one lacks."""
    for choices in CHOICES.values():
        for part, code in choices.items():
            if getattr(door, f"{part}_id") is None:
                setattr(door, part, book[code])
    door.drive_side = door.drive_side or drive_side(opening.end_wall)


def _place(options: Sequence[Option], units: str) -> tuple[str, ...]:
    """Return what the checks of the place say of every large door, once."""
    texts = [check_text(check, units) for option in options for check in option.reasons if check.check in PLACE_CHECKS]
    return tuple(dict.fromkeys(texts))


def _gust(given: sizing.Opening, option: Option, site: Site, strengths: Strengths, rules: sizing.Rules) -> float | None:
    """Return the gust that a new film door stands when it is held in every way it can be; None for other kinds."""
    if option.kind not in sizing.FILM_ROLLS or option.clear_height is None or not option.fits:
        return None
    limit = read_wind(replace(given, kind=option.kind), site, strengths, rules)[-1].limit
    return limit if math.isfinite(limit) else None


def _line(option: Option, opening: Opening, door: Door, book: Book, farm: Farm, gust: float | None) -> KindLine:
    return KindLine(
        option=option,
        name=str(Opening.Kind(option.kind).label),
        word=str(Sizing.Verdict(option.verdict).label),
        is_present=option.kind == opening.kind,
        reasons=tuple(_reasons(option, farm.units)),
        cautions=cautions_of(option.kind),
        lasts=_lasts(option, door),
        cost=_cost(option, farm),
        cost_parts=_cost_parts(option, farm),
        cost_ratio=_ratio(option),
        unpriced=_unpriced(option, book),
        mass=None if option.weight is None else option.weight / STANDARD_GRAVITY,
        gust=gust,
    )


def _reasons(option: Option, units: str) -> list[str]:
    if option.refusal is not None:
        return [refusal_text(refusal_facts(option.refusal), units)]
    wanted = [check for check in option.reasons if option.fits or check.verdict == sizing.Verdict.FAIL]
    own = [check_text(check, units) for check in wanted if check.check not in PLACE_CHECKS]
    return [*own, *(missing_text(gap) for gap in option.missing if sizing.blocks_cutting((gap,)))]


def _lasts(option: Option, door: Door) -> str:
    """Return how long film, panel or curtain lasts: as the film chosen is rated, else as the trade expects."""
    if option.kind in sizing.FILM_ROLLS and door.film and door.film.rated_life_years:
        years = formats.number_format(plain(door.film.rated_life_years))
        return _("%(years)s years, as your film is rated") % {"years": years}
    return _("%(range)s years") % {"range": _range(option.habit.life_years)}


def _cost(option: Option, farm: Farm) -> str:
    """Return the whole cost by the farm's prices; empty while something has none."""
    if option.parts_cost is None:
        return ""
    return _money(option.parts_cost + (option.labour_cost or 0.0), farm)


def _cost_parts(option: Option, farm: Farm) -> str:
    if option.parts_cost is None:
        return ""
    parts = {"parts": _money(option.parts_cost, farm)}
    if option.labour_cost is None:
        return _("parts only")
    hours = formats.number_format(option.habit.hours)
    words = {**parts, "labour": _money(option.labour_cost, farm), "hours": hours}
    return _("parts %(parts)s, labour %(labour)s for %(hours)s h") % words


def _ratio(option: Option) -> str:
    low, high = option.habit.cost_ratio
    if low == high == 1:
        return _("as much as a person door")
    return _("%(range)s times a person door") % {"range": _range((low, high))}


def _range(limits: tuple[float, float]) -> str:
    low, high = (formats.number_format(limit) for limit in limits)
    return low if low == high else _("%(low)s to %(high)s") % {"low": low, "high": high}


def _money(amount: float, farm: Farm) -> str:
    return f"{formats.number_format(round(amount))} {farm.currency}"


def _unpriced(option: Option, book: Book) -> tuple[Unpriced, ...]:
    """Return what lacks a price, each material once."""
    found: dict[str, Unpriced] = {}
    for key in option.unpriced:
        material = book.material(key)
        item, colon, _place = key.partition(":")
        name = str(material) if material else item_name(item) if colon else part_name(item)
        proposal = "" if material else _proposal(code_of(key))
        found.setdefault(name, Unpriced(name=name, material=material, proposal=proposal))
    return tuple(found.values())


def _proposal(code: str | None) -> str:
    line = next((line for line in STARTER_BOOK if line["code"] == code), None)
    return urlencode({name: str(line[name]) for name in ("code", "kind", "name")}) if line else ""
