"""What brings a routine on, and where it applies, in words."""

from __future__ import annotations

from datetime import date
from typing import Final

from django.utils.dates import MONTHS, WEEKDAYS
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from doors.models import Component
from farm.models import Opening
from farm.units import format_gust
from maintenance.models import Routine
from maintenance.practice.needs import Need
from maintenance.recurrence import CalendarRule, Frequency, read_rrule

NEEDS: Final[dict[str, str | Promise]] = {
    Need.FILM: gettext_lazy("film on the tunnel"),
    Need.TWO_LAYERS: gettext_lazy("two layers of film"),
    Need.ROLLUP_SIDES: gettext_lazy("sides that roll up"),
    Need.FILM_DOOR: gettext_lazy("a film door"),
    Need.WIDE_FILM_DOOR: gettext_lazy("a wide film door, 14 ft (4.3 m) or more"),
    Need.PERSON_DOOR: gettext_lazy("a person door"),
}
KINDS: Final = {**dict(Component.Kind.choices), **dict(Opening.Kind.choices)}
Trigger = Routine.Trigger


def where(routine: Routine) -> str:
    """Return at what kind of place a routine applies."""
    kinds = ", ".join(str(KINDS.get(kind, kind)) for kind in routine.kinds)
    needs = ", ".join(str(NEEDS.get(need, need)) for need in routine.needs)
    text = str(routine.get_target_display())
    text += f": {kinds}" if kinds else ""
    return _("%(place)s, with %(needs)s") % {"place": text, "needs": needs} if needs else text


def brought_on(routine: Routine, units: str) -> str:
    """Return what brings a routine on."""
    days = ngettext("%(count)s day", "%(count)s days", routine.after_days or 0) % {"count": routine.after_days or 0}
    count = {"count": routine.after_count}
    match routine.trigger:
        case Trigger.AGE if routine.after_days:
            return _("the rated life, %(days)s at most") % {"days": days}
        case Trigger.SEASON:
            return _season(routine)
        case Trigger.CALENDAR:
            return calendar(routine.rule)
        case Trigger.FITTED:
            return _("%(days)s after fitting") % {"days": days}
        case Trigger.DONE:
            return _("%(days)s after it was last done") % {"days": days}
        case Trigger.GUST:
            return _("a gust of %(gust)s or more") % {"gust": format_gust(routine.gust_m_s, units)}
        case Trigger.STORMS:
            return ngettext("each storm", "%(count)s storms", routine.after_count or 0) % count
        case Trigger.CYCLES:
            return _("%(count)s openings and closings") % count
        case _:
            return str(routine.get_trigger_display())


def calendar(text: str) -> str:
    """Return a calendar rule in words; one that cannot be read, as it is."""
    try:
        rule = read_rrule(text, date(2001, 1, 1))
    except ValueError:
        return text
    said = [_every(rule)]
    if rule.by_weekday:
        said.append(", ".join(_weekday(each.nth, each.weekday) for each in rule.by_weekday))
    if rule.by_month_day:
        said.append(_("on day %(days)s") % {"days": ", ".join(map(str, rule.by_month_day))})
    if rule.by_month:
        said.append(_("in %(months)s") % {"months": ", ".join(str(MONTHS[month]) for month in rule.by_month)})
    return ", ".join(said)


def _every(rule: CalendarRule) -> str:
    count = {"count": rule.interval}
    match rule.frequency:
        case Frequency.DAILY:
            return ngettext("every day", "every %(count)s days", rule.interval) % count
        case Frequency.WEEKLY:
            return ngettext("every week", "every %(count)s weeks", rule.interval) % count
        case Frequency.MONTHLY:
            return ngettext("every month", "every %(count)s months", rule.interval) % count
        case _:
            return ngettext("every year", "every %(count)s years", rule.interval) % count


def _weekday(nth: int, weekday: int) -> str:
    name = str(WEEKDAYS[weekday])
    if nth == 0:
        return name
    if nth == -1:
        return _("the last %(weekday)s") % {"weekday": name}
    return _("%(weekday)s no. %(number)s") % {"weekday": name, "number": nth}


def _season(routine: Routine) -> str:
    text, offset = str(routine.get_season_display()), routine.offset_days
    if offset:
        after = _("%(season)s, %(days)s days after it begins")
        before = _("%(season)s, %(days)s days before it begins")
        text = (after if offset > 0 else before) % {"season": text, "days": abs(offset)}
    if routine.every_years > 1:
        text = _("%(season)s, every %(years)s years") % {"season": text, "years": routine.every_years}
    return text
