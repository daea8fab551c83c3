"""The year of upkeep: a wheel of what is due, the same month by month, and the hours it takes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from doors.views.shared import today
from farm.access import FarmRequest, member
from farm.models import Farm
from farm.paper import Drawing
from maintenance.drawn.wheel import WheelYear, season_wheel
from maintenance.models import Routine
from maintenance.recurrence import Season
from maintenance.seasons.wheel import SUBJECTS, Entry, Month, Work, Year, year_of
from maintenance.words.said import routine_name

FIRST_YEAR: Final = 1970
LAST_YEAR: Final = 2200


class YearForm(forms.Form):
    """Which year to look at."""

    year = forms.IntegerField(
        label=gettext_lazy("year"), min_value=FIRST_YEAR, max_value=LAST_YEAR,
        error_messages=dict.fromkeys(
            ("required", "invalid", "min_value", "max_value"),
            gettext_lazy("Write a year from 1970 to 2200, such as 2027. This year is shown."),
        ),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Named:
    """A routine's entry or line of work with the routine's name."""

    name: str
    it: Entry | Work
    number: int | None = None


@dataclass(frozen=True, slots=True)
class NamedMonth:
    """A month with the names of what is due in it."""

    it: Month
    entries: tuple[Named, ...]


@dataclass(frozen=True, slots=True)
class Key:
    """The numbers of one ring of the wheel."""

    name: str
    lines: tuple[tuple[int, str], ...]


@member("viewer")
@require_safe
def year(request: FarmRequest) -> HttpResponse:
    """Show a year's work, this one's unless another is asked for."""
    farm, on = request.farm, today(request.farm)
    form = YearForm(request.GET) if "year" in request.GET else None
    chosen = form.cleaned_data["year"] if form and form.is_valid() else on.year
    shown = year_of(farm=farm, year=chosen, on=on)
    context = {
        "what": _("The year %(year)s") % {"year": chosen}, "date": on, "form": form, "year": shown, "on": on,
        "is_this_year": chosen == on.year, "drawing": _wheel(farm, shown, on), "keys": list(_keys(shown, farm.units)),
        "months": [_month(month, shown, farm.units) for month in shown.months],
        "rounds": _named(shown.rounds, farm.units), "once": _named(shown.once, farm.units),
        "film_work": _named(shown.film_work, farm.units),
        "before": chosen - 1 if chosen > FIRST_YEAR else None, "after": chosen + 1 if chosen < LAST_YEAR else None,
    }  # fmt: skip
    return render(request, "maintenance/year.html", context, status=422 if form and form.errors else 200)


def _named(lines: Sequence[Work], units: str) -> list[Named]:
    return [Named(routine_name(line.routine, units), line, line.number) for line in lines]


def _month(month: Month, shown: Year, units: str) -> NamedMonth:
    named = (
        Named(routine_name(entry.routine, units), entry, shown.numbers.get(entry.routine.pk)) for entry in month.entries
    )
    return NamedMonth(month, tuple(named))


def _keys(shown: Year, units: str) -> Iterator[Key]:
    """Yield what the numbers on each ring stand for, from the outside in."""
    names = {number: routine_name(routine, units) for number, routine in shown.routines_by_number.items()}
    for subject, ring in zip(SUBJECTS, shown.rings, strict=True):
        numbers = sorted({window.key for window in ring})
        if numbers:
            yield Key(str(Routine.Target(subject).label), tuple((number, names[number]) for number in numbers))


def _wheel(farm: Farm, shown: Year, on: date) -> Drawing:
    months = [date_format(month.first, "M") for month in shown.months]
    drawn = WheelYear(
        year=shown.year, month_names=months, seasons=list(_seasons(farm, shown.year)), rings=shown.rings,
        shares={month.first.month: month.share for month in shown.months if month.share.total},
        film=[row.replace_on for row in shown.film if row.replace_on], daylight=shown.daylight, today=on,
    )  # fmt: skip
    title = _("The year %(year)s as a wheel") % {"year": shown.year}
    text = _("Twelve months clockwise from January at the top; the list below says the same month by month.")
    return season_wheel(drawn, title=title, description=text)


def _seasons(farm: Farm, chosen: int) -> Iterator[tuple[date, str]]:
    """Yield the first days of the seasons that begin in a calendar year, with their names."""
    southern = (farm.latitude_deg or 0) < 0
    for season in Season:
        begins_on = season.begins_on(chosen, is_southern=southern)
        yield begins_on, str(Routine.Season(season).label)
