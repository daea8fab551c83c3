"""How old parts are in every measure that wears them: days, seasons, storms and sun; and when they will end."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from doors.models import Component, LayUp
from maintenance import dose
from maintenance.dose import DoseTable, EndOfLife, Span
from maintenance.models import Climate, SunDay, WindDay
from maintenance.plans.counting import STORM_FROM

Kind = Component.Kind
FILMS: Final = frozenset({Kind.ROOF_FILM, Kind.DOOR_FILM, Kind.WALL_FILM})
IN_THE_SUN: Final = FILMS | {Kind.SHADE}
USED_ON: Final = 1.5  # -, film sold for four years is used for four to six: common practice, no source
DAYS_PER_YEAR: Final = 365.25
J_PER_MJ: Final = 1e6
J_M2_PER_KLY: Final = 41.84e6  # 1 langley is one thermochemical calorie, 4.184 J, on a square centimetre
MIDDLE_OF_MONTH: Final = 15


@dataclass(frozen=True, slots=True, kw_only=True)
class Age:
    """How old a part is; what is not known, or does not wear it, is None."""

    days: int  # in service, time taken down included
    days_down: int
    seasons: int
    storms: tuple[date, ...]
    spans: tuple[Span, ...]  # in which it was up
    dose: float | None = None  # J/m²
    rated_dose: float | None = None  # J/m²
    rated_days: int | None = None
    by_age: Span | None = None  # the range in which its rated life ends
    by_dose: EndOfLife | None = None
    light: tuple[float, float] | None = None  # -, least and most of what a new sheet lets through

    @property
    def dose_share(self) -> float | None:
        """How much of the rated dose it has taken. [-]"""
        return self.dose / self.rated_dose if self.dose is not None and self.rated_dose else None

    @property
    def life_share(self) -> float | None:
        """How much of the rated life has passed. [-]"""
        return self.days / self.rated_days if self.rated_days else None


def ages(*, components: Collection[Component], on: date) -> dict[int, Age]:
    """Return the age of each part of one farm on a day, by its id; their materials must be loaded.

    Four queries, whatever their number: lay-ups, storms, the climate with its farm, and measured sun.
    """
    if not components:
        return {}
    farm_ids = {part.farm_id for part in components}
    if len(farm_ids) != 1:
        raise ValueError("the parts must be of one farm")
    first = min(part.fitted_on for part in components)
    lay_ups: dict[int, list[LayUp]] = defaultdict(list)
    for kept in LayUp.objects.filter(component__in=[part.pk for part in components]).order_by("off_on"):
        lay_ups[kept.component_id].append(kept)
    farm_id = farm_ids.pop()
    winds = WindDay.objects.filter(farm=farm_id, on__gte=first, on__lte=on).of_at_least(float(STORM_FROM))
    storms = list(winds.values_list("on", flat=True))
    in_sun = [part for part in components if part.kind in IN_THE_SUN]
    table = sun_table(farm_id, min(part.fitted_on for part in in_sun), on) if in_sun else None
    return {part.pk: _age(part, lay_ups[part.pk], storms, table, on) for part in components}


def sun_table(farm_id: int, first: date, on: date) -> DoseTable | None:
    """Return the sun on a farm from a day until as far ahead as lives are foreseen; None without a climate."""
    kept = Climate.objects.select_related("farm").filter(farm=farm_id).first()
    if kept is None or kept.farm.latitude_deg is None:
        return None
    measured = SunDay.objects.filter(farm=farm_id, on__gte=first).values_list("on", "radiation_mj_m2")
    climate = dose.Climate(math.radians(kept.farm.latitude_deg), tuple(kept.sunshine))
    days = {day: float(radiation) * J_PER_MJ for day, radiation in measured}
    return dose.dose_table(climate, min(first, on), on + dose.HORIZON, days)


def seasons_lived(fitted_on: date, last: date) -> int:
    """Return how many meteorological seasons a part has seen, the first and the last begun ones included."""
    return _quarter(last) - _quarter(fitted_on) + 1


def spans_up(fitted_on: date, until: date, down: Iterable[tuple[date, date | None]]) -> list[Span]:
    """Return the half-open spans in which a part was up, from the spans in order in which it was down."""
    spans, since = [], fitted_on
    for off_on, back_on in down:
        if since < min(off_on, until):
            spans.append((since, min(off_on, until)))
        since = max(since, back_on or until)
    return [*spans, (since, until)] if since < until else spans


def months_down(down: Iterable[tuple[date, date | None]], on: date) -> frozenset[int]:
    """Return the months of the past year in whose middle a part was down: it will be again."""
    spans = list(down)
    middles = [date(on.year - (month > on.month), month, MIDDLE_OF_MONTH) for month in range(1, 13)]
    return frozenset(
        day.month
        for day in middles
        if day <= on and any(off <= day and (not back or day < back) for off, back in spans)
    )


def _age(
    part: Component, lay_ups: Sequence[LayUp], storms: Sequence[date], table: DoseTable | None, on: date
) -> Age:  # fmt: skip
    until = min(part.removed_on or on, on)
    down = [(kept.off_on, kept.back_on) for kept in lay_ups]
    spans = spans_up(part.fitted_on, until, down)
    days, up = max((until - part.fitted_on).days, 0), sum((end - start).days for start, end in spans)
    ended = part.removed_on is not None
    # A storm of today counts already, where the part is up today; a day of sun is not over yet.
    reach = spans_up(part.fitted_on, until + timedelta(days=int(not ended)), down)
    rated = _rated_days(part)
    taken, end = (None, None) if table is None else _sun(part, spans, down, table, on)
    return Age(
        days=days, days_down=days - up, spans=tuple(spans),
        seasons=seasons_lived(part.fitted_on, max(part.fitted_on, until - timedelta(days=int(ended)))),
        storms=tuple(_within(storms, reach)),
        rated_dose=_rated_dose(part), rated_days=rated,
        by_age=None if ended or rated is None else _by_age(part.fitted_on, rated),
        light=_light(up) if part.kind in FILMS else None,
        dose=taken, by_dose=end,
    )  # fmt: skip


def _sun(
    part: Component, spans: Sequence[Span], down: Sequence[tuple[date, date | None]], table: DoseTable, on: date
) -> tuple[float | None, EndOfLife | None]:
    rated = _rated_dose(part)
    if part.kind not in IN_THE_SUN:
        return None, None
    foreseen = rated is not None and part.removed_on is None
    end = dose.end_of_life(table, rated, spans, on, months_down(down, on)) if foreseen and rated else None
    return dose.dose(table, spans), end


def _quarter(day: date) -> int:
    return (12 * day.year + day.month) // 3  # December opens the winter that January and February belong to


def _rated_days(part: Component) -> int | None:
    years = part.material.rated_life_years if part.material else None
    return round(float(years) * DAYS_PER_YEAR) if years else None


def _rated_dose(part: Component) -> float | None:
    rated = part.material.rated_dose_kly if part.material and part.kind in IN_THE_SUN else None
    return float(rated) * J_M2_PER_KLY if rated else None


def _by_age(fitted_on: date, rated_days: int) -> Span:
    return fitted_on + timedelta(days=rated_days), fitted_on + timedelta(days=round(rated_days * USED_ON))


def _light(days_up: int) -> tuple[float, float]:
    slow, fast = dose.YEARLY_LIGHT_LOSS
    least, most = dose.light_left(days_up / DAYS_PER_YEAR, [fast, slow]).tolist()
    return least, most


def _within(days: Sequence[date], spans: Iterable[Span]) -> Iterable[date]:
    for start, end in spans:
        yield from days[bisect_left(days, start) : bisect_left(days, end)]
