"""What is said before a storm: moments, levels and why, what stops work, what to do and what people may not do.

Sentences come in the language and by the clock that are active.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime, timedelta
from typing import Final

from django.utils import timezone
from django.utils.formats import date_format, number_format
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from farm.geometry import compass_point
from farm.units import format_gust, format_length
from maintenance.storm.quantity import DAY, Fact

DAYS_PER_YEAR: Final = 365.25
WEEK: Final = timedelta(days=6)
LEVELS: Final = (
    gettext_lazy("normal"), gettext_lazy("get ready"), gettext_lazy("close up"), gettext_lazy("batten down"),
    gettext_lazy("storm"), gettext_lazy("extreme"),
)  # fmt: skip
ACTIONS: Final = {
    "stow_loose": gettext_lazy("Stow or tie down what lies loose."),
    "latch_person_doors": gettext_lazy("Latch the person doors."),
    "no_door_half_open": gettext_lazy("Leave no door half open."),
    "finish_repairs": gettext_lazy("Finish the open repairs."),
    "sides_down": gettext_lazy("Sides down."),
    "doors_down": gettext_lazy("Doors down and pinned."),
    "cords_on": gettext_lazy("Cords on."),
    "hold_downs_on": gettext_lazy("Hold-downs on."),
    "tuck_wire_tails": gettext_lazy("Tuck in the tails of the spring wire."),
    "jamb_braces": gettext_lazy("Braces behind the jambs."),
    "inflation_up": gettext_lazy("Inflation up."),
    "shade_off": gettext_lazy("Shade cloth off."),
    "blower_power": gettext_lazy("See that the blowers keep their power."),
    "spare_batteries": gettext_lazy("Charge lamps and spare batteries."),
    "photos_before": gettext_lazy("Take two pictures of each end wall, for before and after."),
    "film_decision": gettext_lazy("Decide what happens to the film of weak frames."),
    "everyone_out": gettext_lazy("Everyone out of the tunnels."),
    "film_off_early": gettext_lazy("Film off early, or accept its loss."),
    "evacuate": gettext_lazy("Leave the place."),
    "shut_intakes": gettext_lazy("Shut the intakes."),
    "exhaust_fan_on": gettext_lazy("Exhaust fan on."),
    "posture_by_notes": gettext_lazy("Leave it as its notes say."),
    "no_open_door_unattended": gettext_lazy("Thunder: leave no open door unattended."),
}
PEOPLE: Final = {
    "no_new_film_jobs": gettext_lazy("Begin no new work with film."),
    "handling_stops": gettext_lazy("Handling film and sheets stops at gusts of %(handling)s, as felt."),
    "no_ladders": gettext_lazy("No ladders."),
    "pairs_only": gettext_lazy("Work in pairs only."),
    "nobody_at_structures": gettext_lazy("Nobody at or in the tunnels from gusts of %(stay_out)s."),
    "stay_away": gettext_lazy("Stay away."),
    "shelter_at_thunder": gettext_lazy(
        "Thunder: go inside, and stay there for 30 minutes after the last that you hear."
    ),
}
STATES: Final = {
    "opened": gettext_lazy("first seen"), "level": gettext_lazy("level"), "peak": gettext_lazy("peak"),
    "deadline": gettext_lazy("deadline"), "start": gettext_lazy("latest start"), "gone": gettext_lazy("did not come"),
    "over": gettext_lazy("over"), "again": gettext_lazy("forecast again"),
}  # fmt: skip


def clock_text(at: datetime) -> str:
    """Return the time of day, such as 17:00."""
    return date_format(timezone.localtime(at), "H:i")


def day_text(at: datetime, now: datetime | None = None) -> str:
    """Return the weekday and time, with the date where the week could be mistaken."""
    local = timezone.localtime(at)
    text = f"{date_format(local, 'l')} {date_format(local, 'H:i')}"
    if now is not None and abs(at - now) > WEEK:
        return f"{text} ({date_format(local, 'Y-m-d')})"
    return text


def span_text(length: timedelta) -> str:
    """Return how long, in hours and minutes; days and hours from two days on."""
    minutes = int(abs(length).total_seconds()) // 60
    days, hours = divmod(minutes // 60, 24)
    if days >= 2:
        parts = [_days(days), _hours(hours) if hours else ""]
    else:
        hours, rest = divmod(minutes, 60)
        parts = [_hours(hours) if hours else "", _minutes(rest) if rest or not hours else ""]
    return " ".join(part for part in parts if part)


def margin_text(start_by: datetime, now: datetime) -> str:
    """Return how long it is until the work has to begin, or how long ago that was."""
    left = start_by - now
    if left < timedelta(0):
        return _("%(span)s too late") % {"span": span_text(left)}
    return _("%(span)s from now") % {"span": span_text(left)}


def work_text(minutes: int, people: int) -> str:
    """Return how much work is left and for how many."""
    hours = _("%(hours)s person-hours") % {"hours": tenth(minutes / 60)}
    crew = ngettext("%(count)s person", "%(count)s people", people) % {"count": people}
    return _("%(hours)s of work left, %(crew)s here") % {"hours": hours, "crew": crew}


def tenth(number: float) -> str:
    """Return a number to a tenth."""
    return number_format(number, decimal_pos=1)


def why_deadline(bounds: Iterable[Fact], deadline: datetime, units: str) -> str:
    """Return all that stops work about a deadline, the earliest first, as one line."""
    facts = sorted((one for one in bounds if one.at is not None), key=lambda one: one.at or deadline)
    same = timezone.localtime(deadline).date()
    said = []
    for one in facts:
        assert one.at is not None  # noqa: S101
        when = clock_text(one.at) if timezone.localtime(one.at).date() == same else day_text(one.at)
        if text := _bound(one, when, units):
            said.append(text)
    return "; ".join(said)


def _bound(one: Fact, when: str, units: str) -> str:
    match one.key:
        case "shift":
            return _("work ends %(when)s") % {"when": when}
        case "daylight":
            return _("dark from %(when)s") % {"when": when}
        case "gust":
            return _("gusts pass %(limit)s at %(when)s") % {"limit": format_gust(one.limit, units), "when": when}
        case "gust_unknown":
            return _("the gust from %(when)s on is not known") % {"when": when}
        case "rain":
            return _("wet film from %(when)s, when tape does not stick") % {"when": when}
        case "ice":
            return _("iced film from %(when)s, when tape does not stick") % {"when": when}
    return ""


# Levels --------------------------------------------------------------------------


def level_text(level: int | None) -> str:
    """Return a level with its number and name."""
    if level is None:
        return _("not known")
    return _("%(number)s, %(name)s") % {"number": level, "name": LEVELS[level]}


def reason_text(fact: Fact, units: str) -> str:
    """Return one reason for a tunnel's level; empty for one that goes without saying."""
    say = _REASONS.get(fact.key)
    return say(fact, units) if say else ""


def earlier_text(code: str, change: float, reasons: Iterable[Fact], units: str) -> str:
    """Return why a tunnel's levels begin earlier or later than the table says."""
    said = [text for one in reasons if (text := reason_text(one, units))]
    if not change or not said:
        return ""
    params = {"code": code, "reasons": ", ".join(said), "change": format_gust(abs(change), units)}
    if change < 0:
        return _("%(code)s moves one level earlier because: %(reasons)s.") % params
    return _("%(code)s may wait %(change)s longer because: %(reasons)s.") % params


def unknown_text(fact: Fact, units: str) -> str:
    """Return what could not be judged."""
    say = _UNKNOWN.get(fact.key)
    return str(say) if say else ""


def weakest_text(code: str, gust: float, units: str) -> str:
    """Return what a tunnel's weakest shut door is expected to stand."""
    return _("Its weakest shut door, %(code)s, is expected to stand about %(gust)s.") % {
        "code": code, "gust": format_gust(gust, units, is_limit=True),
    }  # fmt: skip


def list_text(items: Iterable[str]) -> str:
    """Return items as one list with its last word."""
    return get_text_list(list(items), _("and"))


def bearing_text(degrees: float | None) -> str:
    """Return where a wind comes from as a point of the compass."""
    return "" if degrees is None else compass_point(degrees, points=16)


def _years(seconds: float | None) -> str:
    return tenth((seconds or 0.0) / DAY / DAYS_PER_YEAR)


def _days(count: int) -> str:
    return ngettext("%(count)s day", "%(count)s days", count) % {"count": count}


def _hours(count: int) -> str:
    return ngettext("%(count)s hour", "%(count)s hours", count) % {"count": count}


def _minutes(count: int) -> str:
    return ngettext("%(count)s minute", "%(count)s minutes", count) % {"count": count}


def _defects(fact: Fact, units: str) -> str:
    count = round(fact.value or 0)
    if count == 1:
        return _("one critical defect")
    return ngettext("%(count)s critical defect", "%(count)s critical defects", count) % {"count": count}


def _thunder(fact: Fact, units: str) -> str:
    return _("thunder from %(when)s, and squalls are in no hourly forecast") % {
        "when": day_text(fact.at) if fact.at else ""
    }


_REASONS: Final[Mapping[str, Callable[[Fact, str], str]]] = {
    "film_past_life": lambda fact, units: _("film %(years)s years, past its planned life") % {
        "years": _years(fact.value)},
    "not_retightened": lambda fact, units: _("new screws not tightened again yet, %(days)s after fitting") % {
        "days": _days(round((fact.value or 0) / DAY))},
    "critical_defect": _defects,
    "light_frame": lambda fact, units: _("light frame"),
    "unbraced_frame": lambda fact, units: _("an end wall not tied to the bows"),
    "exposed_site": lambda fact, units: _("exposed site"),
    "bar_held_at_ends_only": lambda fact, units: _("a bar of %(width)s held at its two ends only") % {
        "width": format_length(fact.value, units)},
    "windbreak": lambda fact, units: _("behind a windbreak"),
    "film_sound": lambda fact, units: _("sound film"),
    "autumn_round": lambda fact, units: _("autumn round logged"),
    "own_limit": lambda fact, units: _("its weakest shut door is expected to stand %(limit)s") % {
        "limit": format_gust(fact.limit, units, is_limit=True)},
    "local_factor": lambda fact, units: _("gusts here are taken as %(factor)s of the forecast's") % {
        "factor": f"{(fact.value or 1.0) * 100:.0f} %"},
    "thunder": _thunder,
    "gust_from_mean": lambda fact, units: _("no gust is forecast; it is worked out from the mean wind"),
}  # fmt: skip
_UNKNOWN: Final = {
    "film_age_unknown": gettext_lazy("the age or planned life of its film is not noted"),
    "limit_unknown": gettext_lazy("what its doors stand is not known"),
    "is_unbraced_unknown": gettext_lazy("whether its end walls are tied to the bows is not noted"),
    "is_light_unknown": gettext_lazy("whether its frame is light is not noted"),
    "gust_unknown": gettext_lazy("part of the forecast has no gust"),
}


# Snow ----------------------------------------------------------------------------

SNOW: Final = {
    "clear_both_sides": gettext_lazy("Clear both sides of each tunnel together: a one-sided load breaks frames."),
    "shovel_lee_exit": gettext_lazy("Keep one person door on the lee side shovelled: it is the way out."),
    "clear_under_bar": gettext_lazy("Keep the strip under each door bar clear."),
    "estimated_water": gettext_lazy("The water in the snow is estimated from its depth."),
    "rain_on_snow": gettext_lazy("Rain falls on the snow and stays in it."),
    "clear_beside": gettext_lazy("Clear beside the tunnels, so that snow can slide off."),
    "uneven": gettext_lazy("The wind drifts it: look whether one side is heavier."),
    "bar_freezes_down": gettext_lazy("Door bars freeze to the ground: thaw them before you crank."),
    "snow_unknown": gettext_lazy("Part of the forecast says nothing of snow."),
}


# Work ----------------------------------------------------------------------------


def side_text(side: str, axis_deg: float | None) -> str:
    """Return which side of a tunnel is meant, by the compass where its direction is known."""
    if axis_deg is None:
        return _("left side") if side == "left" else _("right side")
    turned = (float(axis_deg) + (-90 if side == "left" else 90)) % 360
    return _("%(way)s side") % {"way": compass_point(turned, points=16)}
