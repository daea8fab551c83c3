"""Why a job is to be done, and how it stands with its days: one or two plain sentences, never a score.

Sentences come in the language of the person who reads, by the translation that is active.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from typing import Any, Final

from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from doors.tables import age
from farm.units import format_gust
from maintenance.models import Job, Repair, Routine
from maintenance.words.places import repair_of
from maintenance.work.repeating import MANY, MONTHS, months_before

Trigger = Routine.Trigger
DAYS_PER_YEAR: Final = 365.25
FIRST_DAYS: Final = 7  # a routine due within a week of the fitting looks at what settles first
EVERY: Final[dict[str, Callable[[int], str]]] = {
    "DAILY": lambda count: ngettext("Comes round every day.", "Comes round every %(count)s days.", count),
    "WEEKLY": lambda count: ngettext("Comes round every week.", "Comes round every %(count)s weeks.", count),
    "MONTHLY": lambda count: ngettext("Comes round every month.", "Comes round every %(count)s months.", count),
    "YEARLY": lambda count: ngettext("Comes round every year.", "Comes round every %(count)s years.", count),
}
BY_SEASON: Final = {
    "spring": gettext_lazy("Part of the spring round."),
    "summer": gettext_lazy("Part of the summer round."),
    "autumn": gettext_lazy("Part of the autumn round."),
    "winter": gettext_lazy("Part of the winter round."),
}


def why(job: Job, on: date, units: str) -> str:
    """Return why a job is to be done, seen from a day; its plan, routine, part and fault must be loaded.

    Parameters
    ----------
    job : Job
        As ``JobQuerySet.for_list`` loads it.
    on : date
        The day it is on the farm.
    units : {"us", "metric"}
        The reader's system.
    """
    if (repair := repair_of(job)) is not None:
        return _fault(repair, job.cause)
    return _REASONS[Trigger(job.plan.routine.trigger)](job, on, units)


def lateness(job: Job, on: date) -> str:
    """Return how an undone job stands with its days: how late it is, or how long it may still take."""
    late = (on - job.until_on).days
    if late > 0:
        return ngettext("%(days)s day late", "%(days)s days late", late) % {"days": late}
    if late == 0:
        return _("today at the latest")
    if late == -1:
        return _("by tomorrow")
    return ngettext("%(days)s day left", "%(days)s days left", -late) % {"days": -late}


def is_first_look(routine: Routine) -> bool:
    """Tell whether a routine is the first look at what was fitted, within days."""
    return routine.trigger == Trigger.FITTED and (routine.after_days or 0) <= FIRST_DAYS


def _fault(repair: Repair, cause: Mapping[str, Any]) -> str:
    """Return when a fault was found and by whom, what waits on it, and how often it came before."""
    words = {"day": repair.found_on.isoformat(), "who": repair.found_by}
    head = _("Found on %(day)s by %(who)s.") if repair.found_by else _("Found on %(day)s.")
    sentences = [head % words]
    if repair.state == Repair.State.TEMPORARY and repair.mended_on:
        sentences.append(_("Holds for now since %(day)s.") % {"day": repair.mended_on.isoformat()})
    elif repair.is_critical:
        sentences.append(_("It cannot wait for the next wind."))
    if (times := int(cause.get("times", 0))) >= MANY:
        months = int(cause.get("months", MONTHS))
        span = ngettext("in %(months)s month", "in %(months)s months", months) % {"months": months}
        sentences.append(_("It failed here %(count)s times %(span)s.") % {"count": times, "span": span})
    return " ".join(sentences)


def _by_age(job: Job, on: date, _units: str) -> str:
    part = job.plan.component
    if part is None:
        return ""
    words = {"part": capfirst(part.get_kind_display()), "age": age(part.fitted_on, on)}
    rated = part.material.rated_life_years if part.material else None
    days = round(float(rated) * DAYS_PER_YEAR) if rated else job.plan.routine.after_days
    if not days:
        return _("%(part)s, in service for %(age)s.") % words
    life = age(on - timedelta(days=days), on) if not rated else _years(float(rated), on)
    if rated:
        return _("%(part)s, in service for %(age)s; rated for %(life)s.") % {**words, "life": life}
    return _("%(part)s, in service for %(age)s; looked at after %(life)s.") % {**words, "life": life}


def _by_dose(job: Job, on: date, _units: str) -> str:
    part = job.plan.component
    words = {"part": capfirst(part.get_kind_display()) if part else _("This part"), "day": job.due_on.isoformat()}
    if job.due_on > on:
        return _("%(part)s: the sunlight it takes reaches the dose it is rated for about %(day)s.") % words
    return _("%(part)s: the sunlight it has taken reached the dose it is rated for about %(day)s.") % words


def _by_fitting(job: Job, on: date, _units: str) -> str:
    routine = job.plan.routine
    after = routine.after_days or 0
    days = (on - job.due_on).days + after
    fitted = ngettext("Fitted %(count)s day ago", "Fitted %(count)s days ago", days) % {"count": days}
    if not is_first_look(routine):
        waited = ngettext("due after %(count)s day", "due after %(count)s days", after) % {"count": after}
        return f"{fitted}; {waited}."
    window = {"first": after * 24, "last": (after + routine.window_days) * 24}
    words = {**window, "fitted": _screws(days) if routine.answer == Routine.Answer.SCREWS else fitted}
    if on > job.until_on and routine.answer == Routine.Answer.SCREWS:
        return (
            _("%(fitted)s; the first re-tightening, due %(first)s to %(last)s hours after, was never logged.") % words
        )
    if on > job.until_on:
        return _("%(fitted)s; the first look, due %(first)s to %(last)s hours after, was never logged.") % words
    return _("%(fitted)s; what is new settles first: due %(first)s to %(last)s hours after.") % words


def _screws(days: int) -> str:
    text = ngettext("These screws were fitted %(count)s day ago", "These screws were fitted %(count)s days ago", days)
    return text % {"count": days}


def _by_doing(job: Job, on: date, _units: str) -> str:
    every = job.plan.routine.after_days or 0
    rhythm = ngettext("it is done every day", "it is done every %(count)s days", every) % {"count": every}
    done_on = job.cause.get("done_on")
    if done_on is None:
        return _("Never logged yet; %(rhythm)s.") % {"rhythm": rhythm}
    days = (on - date.fromisoformat(done_on)).days
    ago = ngettext("%(count)s day ago", "%(count)s days ago", days) % {"count": days}
    return _("Last done %(ago)s, on %(day)s; %(rhythm)s.") % {"ago": ago, "day": done_on, "rhythm": rhythm}


def _by_season(job: Job, _on: date, _units: str) -> str:
    routine = job.plan.routine
    season = str(BY_SEASON[routine.season])
    if routine.every_years == 1:
        return season
    return f"{season} {EVERY['YEARLY'](routine.every_years) % {'count': routine.every_years}}"


def _by_calendar(job: Job, _on: date, _units: str) -> str:
    rule = dict(part.partition("=")[::2] for part in job.plan.routine.rule.upper().split(";"))
    count = int(rule.get("INTERVAL", 1))
    return EVERY[rule["FREQ"]](count) % {"count": count}


def _by_gust(job: Job, _on: date, units: str) -> str:
    gust = job.cause.get("gust_m_s")
    if gust is None:
        return _("There was a gust on %(day)s that asks for it.") % {"day": job.due_on.isoformat()}
    words = {"gust": format_gust(gust, units), "day": job.cause.get("on", job.due_on.isoformat())}
    return _("A gust of %(gust)s on %(day)s.") % words


def _by_storms(job: Job, _on: date, _units: str) -> str:
    count = int(job.cause.get("count") or job.plan.routine.after_count or 1)
    words = {"count": count, "since": job.plan.counted_from.isoformat()}
    return ngettext("%(count)s storm since %(since)s.", "%(count)s storms since %(since)s.", count) % words


def _by_cycles(job: Job, _on: date, _units: str) -> str:
    count = int(job.cause.get("count") or job.plan.routine.after_count or 1)
    words = {"count": count, "since": job.plan.counted_from.isoformat()}
    return _("Opened and closed more than %(count)s times since %(since)s.") % words


def _by_condition(job: Job, _on: date, _units: str) -> str:
    return _("Something was found on %(day)s.") % {"day": job.cause.get("found_on", job.due_on.isoformat())}


def _years(years: float, on: date) -> str:
    """Return a rated life in years and months."""
    return age(months_before(on, round(years * 12)), on)


_REASONS: Final[Mapping[Routine.Trigger, Callable[[Job, date, str], str]]] = {
    Trigger.AGE: _by_age,
    Trigger.DOSE: _by_dose,
    Trigger.SEASON: _by_season,
    Trigger.CALENDAR: _by_calendar,
    Trigger.FITTED: _by_fitting,
    Trigger.DONE: _by_doing,
    Trigger.GUST: _by_gust,
    Trigger.STORMS: _by_storms,
    Trigger.CYCLES: _by_cycles,
    Trigger.CONDITION: _by_condition,
}
