"""How old a part is, in sentences: the measures that wear it, when it will end, the light it still lets through."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from doors.models import Component
from doors.tables import age as years_and_months
from farm.units import format_gust
from maintenance.ages.ageing import IN_THE_SUN, J_M2_PER_KLY, Age
from maintenance.dose import EndOfLife
from maintenance.plans.counting import STORM_FROM

Fact = tuple[str, str]  # a name and what is known
BEYOND = "–"


@dataclass(frozen=True, slots=True)
class Used:
    """How much of a life is used: a sentence, and the length of its bar of a hundred."""

    text: str
    percent: int


def measures(part: Component, age: Age, on: date, units: str) -> list[Fact]:
    """Return a part's age in every measure that wears it."""
    until = min(part.removed_on or on, on)
    facts = [(_("Age when removed") if part.removed_on else _("Age"), years_and_months(part.fitted_on, until))]
    if age.days_down:
        days = ngettext("%(count)s day", "%(count)s days", age.days_down) % {"count": age.days_down}
        facts.append((_("Of these taken down"), days))
    facts.append((_("Seasons lived, the first and the last too"), str(age.seasons)))
    gust = format_gust(STORM_FROM, units)
    storms = ngettext("%(count)s day", "%(count)s days", len(age.storms)) % {"count": len(age.storms)}
    facts.append((_("Storms it stood, gusts of %(gust)s or more") % {"gust": gust}, storms))
    if age.dose is not None:
        facts.append((_("Sun it has taken, on the level"), sun(age.dose)))
    return facts


def sun(dose: float) -> str:
    """Return an energy on a square metre as makers rate film, with the SI unit beside it."""
    return f"{dose / J_M2_PER_KLY:,.0f} kLy ({dose / 1e9:.1f} GJ/m²)"


def used(age: Age) -> list[Used]:
    """Return how much of the rated dose and of the rated life is used."""
    found = []
    if age.dose_share is not None and age.rated_dose is not None:
        percent, rated = round(100 * age.dose_share), f"{age.rated_dose / J_M2_PER_KLY:,.0f} kLy"
        text = _("%(percent)s %% of the sun it is rated for, %(rated)s") % {"percent": percent, "rated": rated}
        found.append(Used(text, min(percent, 100)))
    if age.life_share is not None and age.rated_days is not None:
        percent, years = round(100 * age.life_share), f"{age.rated_days / 365.25:.1f}".removesuffix(".0")
        text = _("%(percent)s %% of its rated life, %(years)s years") % {"percent": percent, "years": years}
        found.append(Used(text, min(percent, 100)))
    return found


def ends(age: Age, on: date) -> list[Fact]:
    """Return when a part is expected to end, as a range by each way to tell; what has passed is called reached."""
    found = []
    if age.by_dose is not None:
        found.append((_("By the sun it takes"), _reached(_by_dose(age.by_dose), age.by_dose.late, on)))
    if age.by_age is not None:
        first, last = age.by_age
        words = {"first": f"{first:%Y-%m}", "last": f"{last:%Y-%m}"}
        found.append((_("By its age"), _reached(_("%(first)s to %(last)s") % words, last, on)))
    return found


def expected_span(age: Age) -> tuple[date, date] | None:
    """Return the range to draw: by the sun where that is known, else by age."""
    end = age.by_dose
    if end is not None and end.early is not None and end.late is not None:
        return end.early, end.late
    return age.by_age


def light(age: Age) -> str:
    """Return how much light a film still lets through, or nothing."""
    if age.light is None:
        return ""
    least, most = (round(100 * share) for share in age.light)
    if least == most:
        return _("lets through about %(most)s %% of what a new sheet does") % {"most": most}
    words = {"least": least, "most": most}
    return _("lets through about %(least)s–%(most)s %% of what a new sheet does, without dirt") % words


def lacking(part: Component, age: Age) -> list[str]:
    """Return what to enter so that the sun a part takes can be told: keys the page knows."""
    if part.kind not in IN_THE_SUN:
        return []
    gaps = ["climate"] if age.dose is None else []
    if part.material is None:
        return [*gaps, "no_material"]
    return gaps if age.rated_dose is not None else [*gaps, "rated_dose"]


def _reached(text: str, last: date | None, on: date) -> str:
    return _("%(range)s: reached") % {"range": text} if last is not None and last < on else text


def _by_dose(end: EndOfLife) -> str:
    early, expected, late = (f"{day:%Y-%m}" if day else BEYOND for day in (end.early, end.expected, end.late))
    if end.expected is None:
        return _("not within 40 years")
    words = {"early": early, "expected": expected, "late": late}
    return _("%(early)s to %(late)s, most likely %(expected)s") % words
