"""When each sheet of film ends, when to change it, and what that takes: film, weight, money, work, days to order."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final, Literal

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from doors.models import Component, StockMove
from farm.models import Farm, Tunnel
from maintenance import sheeting
from maintenance.ages.ageing import DAYS_PER_YEAR, FILMS, Age, ages
from maintenance.film.sizes import FilmSize, sizes_of, tunnel_of
from maintenance.models import Routine
from maintenance.words.places import place_code

YEARS: Final = 3
Kind = Component.Kind
When = Literal["now", "planned", "unknown"]
ORDER: Final = {"now": 0, "planned": 1, "unknown": 2}
NO_END: Final = _("The book gives this film neither a rated life nor a rated dose that can be reckoned with.")
NO_ROUTINE: Final = _("No routine in use says how long replacing takes.")
NO_RATE: Final = _("The farm has not said what an hour of labour costs.")


@dataclass(frozen=True, slots=True)
class Ends:
    """When a sheet's life ends: as expected, at the latest, and by which measure first."""

    early: date
    late: date | None  # None: beyond what is foreseen
    by: Literal["age", "sun"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Replacement:
    """One sheet in service and what replacing it takes; what is not known is None."""

    part: Component
    place: str
    age: Age
    ends: Ends | None
    when: When
    replace_on: date | None  # the day of planning where it is to be now
    year: int | None  # twelve months from the day of planning, from 0; None: not known when
    order_by: date | None
    size: FilmSize
    person_minutes: int | None
    crew: int | None
    labour_rate: Decimal | None  # an hour

    @property
    def age_years(self) -> float:
        """How old it is. [years]"""
        return self.age.days / DAYS_PER_YEAR

    @property
    def film_cost(self) -> float | None:
        """What the film costs."""
        return self.size.cost

    @property
    def person_hours(self) -> float | None:
        """The work. [h]"""
        return None if self.person_minutes is None else self.person_minutes / 60

    @property
    def work_cost(self) -> float | None:
        """What the work costs."""
        if self.person_hours is None or self.labour_rate is None:
            return None
        return self.person_hours * float(self.labour_rate)

    @property
    def missing(self) -> tuple[str | Promise, ...]:
        """Why something of it is not known, a sentence each."""
        found = [*self.size.missing]
        found += [NO_END] if self.ends is None else []
        found += [NO_ROUTINE] if self.person_minutes is None else [NO_RATE] if self.labour_rate is None else []
        return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanYear:
    """Twelve months of the plan; sums leave out what is not known and say how often."""

    number: int  # from 1
    first: date
    last: date
    rows: tuple[Replacement, ...]
    together: tuple[str, ...]  # tunnels whose roof and end walls fall into it both

    @property
    def area(self) -> float:
        """[m²]"""
        return sum(row.size.area or 0 for row in self.rows)

    @property
    def film_cost(self) -> float:
        """What the film costs, as far as known."""
        return sum(row.film_cost or 0 for row in self.rows)

    @property
    def person_hours(self) -> float:
        """The work, as far as known. [h]"""
        return sum(row.person_hours or 0 for row in self.rows)

    @property
    def work_cost(self) -> float:
        """What the work costs, as far as known."""
        return sum(row.work_cost or 0 for row in self.rows)

    @property
    def cost(self) -> float:
        """Film and work, as far as known."""
        return self.film_cost + self.work_cost

    @property
    def unknown_count(self) -> int:
        """How many sheets have a cost that is not known in full."""
        return sum(row.film_cost is None or row.work_cost is None for row in self.rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmPlan:
    """Every sheet of film in service on a farm: by year, later, and those of which nobody knows."""

    on: date
    years: tuple[PlanYear, ...]
    later: tuple[Replacement, ...]
    unknown: tuple[Replacement, ...]
    in_store: Mapping[int, Decimal]  # by material, as the store counts it

    @property
    def rows(self) -> tuple[Replacement, ...]:
        """Every sheet, the first to be replaced on top."""
        return (*(row for year in self.years for row in year.rows), *self.later, *self.unknown)


def gaps(plan: FilmPlan) -> list[tuple[str, list[Replacement]]]:
    """Return why figures are not known, each with the sheets it is true of."""
    found: dict[str, list[Replacement]] = defaultdict(list)
    for row in plan.rows:
        for reason in row.missing:
            found[str(reason)].append(row)
    return list(found.items())


def film_plan(*, farm: Farm, on: date) -> FilmPlan:
    """Return the plan for three years from a day, in a fixed number of queries."""
    films = _films(farm, on)
    aged, work = ages(components=films, on=on), film_routines(farm)
    sizes = zip(films, sizes_of(farm=farm, films=films), strict=True)
    rows = sorted(
        (_replacement(farm, size, aged[part.pk], work.get(part.kind), on) for part, size in sizes), key=_order
    )
    return FilmPlan(
        on=on,
        years=tuple(_year(number, rows, on) for number in range(YEARS)),
        later=tuple(row for row in rows if row.year is not None and row.year >= YEARS),
        unknown=tuple(row for row in rows if row.year is None),
        in_store=StockMove.objects.of(farm).balances(),
    )


def film_routines(farm: Farm) -> dict[str, Routine]:
    """Return the routine in use by which each kind of film is replaced."""
    asked = Routine.objects.of(farm).in_use().filter(answer=Routine.Answer.REPLACED).order_by("code")
    return {kind: routine for routine in asked for kind in routine.kinds if kind in FILMS}


def _films(farm: Farm, on: date) -> list[Component]:
    """Return the films in service on structures that are in use."""
    parts = Component.objects.of(farm).in_service(on).filter(kind__in=FILMS).for_list()
    return [part for part in parts if tunnel_of(part).status != Tunnel.Status.RETIRED and not _is_closed(part)]


def _is_closed(part: Component) -> bool:
    return part.opening is not None and part.opening.retired_on is not None


def _replacement(farm: Farm, size: FilmSize, age: Age, routine: Routine | None, on: date) -> Replacement:
    part, ends = size.part, _ends(age)
    southern = (farm.latitude_deg or 0) < 0
    planned = ends and sheeting.replacement_day(ends.early, ends.late or date.max, on, is_southern=southern)
    replace_on = planned or (on if ends else None)
    lead_weeks = part.material.lead_weeks if part.material else None
    return Replacement(
        part=part, place=place_code(part), age=age, ends=ends, size=size, replace_on=replace_on,
        when="planned" if planned else "now" if ends else "unknown",
        year=sheeting.year_of_plan(replace_on, on) if replace_on else None,
        order_by=replace_on and sheeting.order_day(replace_on, lead_weeks),
        crew=routine.crew if routine else None,
        person_minutes=routine.minutes * routine.crew if routine else None, labour_rate=farm.labour_rate,
    )  # fmt: skip


def _ends(age: Age) -> Ends | None:
    """Return when a life ends: by age or by sun, whichever is the earlier."""
    sun = age.by_dose
    found: list[tuple[date, date | None, Literal["age", "sun"]]] = []
    if age.by_age is not None:
        found.append((*age.by_age, "age"))
    if sun is not None and sun.expected is not None:
        found.append((sun.expected, sun.late, "sun"))
    if not found:
        return None
    early, _late, by = min(found, key=lambda one: one[0])
    return Ends(early, min((late for _early, late, _by in found if late is not None), default=None), by)


def _order(row: Replacement) -> tuple[int, date, str, str, int]:
    return ORDER[row.when], row.replace_on or date.max, row.place, row.part.kind, row.part.pk


def _year(number: int, rows: Sequence[Replacement], on: date) -> PlanYear:
    chosen = tuple(row for row in rows if row.year == number)
    first = _years_after(on, number)
    last = date.fromordinal(_years_after(on, number + 1).toordinal() - 1)
    return PlanYear(number=number + 1, first=first, last=last, rows=chosen, together=_together(chosen))


def _years_after(day: date, years: int) -> date:
    is_leap_day = (day.month, day.day) == (2, 29)
    return date(day.year + years, 3, 1) if is_leap_day and years else day.replace(year=day.year + years)


def _together(rows: Sequence[Replacement]) -> tuple[str, ...]:
    """Return the tunnels of which the roof and an end wall fall together: not in one year unless it must be."""
    roofs = {tunnel_of(row.part).code for row in rows if row.part.kind == Kind.ROOF_FILM}
    walls = {tunnel_of(row.part).code for row in rows if row.part.kind == Kind.WALL_FILM}
    return tuple(sorted(roofs & walls))
