"""What is said of forecasts, their sources and their age."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal
from typing import Any, Final

from django.utils.formats import date_format, time_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from farm.models import Farm
from farm.units import format_gust
from maintenance.calm import HoldUps, Needs, Window
from maintenance.weather import FIGURES, ForecastError, Remark
from maintenance.words.conditions import format_warmth

SEVERITIES: Final = {  # CAP 1.2, 3.2.2
    "Extreme": gettext_lazy("extreme"), "Severe": gettext_lazy("severe"), "Moderate": gettext_lazy("moderate"),
    "Minor": gettext_lazy("minor"),
}  # fmt: skip


def severity_text(severity: str) -> str:
    """Return how grave an official warning is."""
    return str(SEVERITIES.get(severity, _("not said")))


def remark_text(remark: Remark) -> str:
    """Return what was left out of a document, or taken with care, in the reader's language."""
    return _(remark.template) % _named(remark.params)


def problem_text(error: ForecastError) -> str:
    """Return why a document or an answer cannot be used, in the reader's language, with its rows if it has any."""
    return " ".join([_(error.template) % _named(error.params), *map(remark_text, error.problems)])


def age_text(age: timedelta) -> str:
    """Return an age in whole minutes below two hours, else in whole hours."""
    minutes = int(age.total_seconds() // 60)
    if minutes < 120:
        return ngettext("%(count)s minute", "%(count)s minutes", minutes) % {"count": minutes}
    hours = minutes // 60
    return ngettext("%(count)s hour", "%(count)s hours", hours) % {"count": hours}


def window_text(window: Window, needs: Needs, farm: Farm) -> str:
    """Return when a window is, by the farm's clock, and what the forecast promises in it."""
    start, end = (moment.astimezone(farm.zone) for moment in (window.start, window.end))
    said = []
    if needs.most_gust is not None and window.most_gust is not None:
        said.append(_("gusts up to %(gust)s") % {"gust": format_gust(window.most_gust, farm.units)})
    if needs.least_temperature is not None and window.least_temperature is not None:
        warmth = format_warmth(Decimal(str(window.least_temperature)), farm.units)
        said.append(_("not below %(warmth)s") % {"warmth": warmth})
    said += [_("dry")] if needs.is_dry else []
    when = f"{date_format(start, 'l')} {time_format(start, 'H:i')}–{time_format(end, 'H:i')}"
    return f"{when}: {', '.join(said)}" if said else when


def hold_ups_text(found: HoldUps) -> str:
    """Return why no time was found: of the working hours ahead, how many each reason takes."""
    takes = {
        _("wind"): found.wind, _("rain"): found.rain, _("cold"): found.cold, _("heat"): found.heat,
        _("darkness"): found.dark, _("what the forecast does not say"): found.unknown,
        _("calm too short for the work"): found.too_short,
    }  # fmt: skip
    reasons = [_("%(reason)s %(hours)s h") % {"reason": reason, "hours": _hours(lost)} for reason, lost in takes.items()
               if lost]  # fmt: skip
    if not reasons:
        return _("No working hours lie ahead in the forecast.")
    return _("Of %(hours)s working hours ahead: %(reasons)s.") % {
        "hours": _hours(found.working + found.dark), "reasons": ", ".join(reasons),
    }  # fmt: skip


def _hours(time: timedelta) -> str:
    return f"{time.total_seconds() / 3600:.1f}".removesuffix(".0")


def _named(params: Mapping[str, Any]) -> dict[str, Any]:
    return {name: _(FIGURES[str(value)]) if name == "figure" else value for name, value in params.items()}
