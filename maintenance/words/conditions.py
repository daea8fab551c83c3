"""Under which weather a job is done, and what to beware of."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from django.utils.translation import gettext as _

from farm.units import METRIC, format_gust
from maintenance.models import Job, Routine
from maintenance.words.places import repair_of

FREEZING: Final = Decimal("273.15")  # K
FILMS: Final = frozenset({"roof_film", "door_film", "wall_film", "shade"})
LADDER: Final = "ladder"  # the English word, by which the farm's tools are searched


@dataclass(frozen=True, slots=True)
class Caution:
    """What to beware of: the signal word of ANSI Z535 with its class of colour, and a sentence or two."""

    signal: str
    look: str
    text: str


def conditions(routine: Routine, units: str) -> list[str]:
    """Return under which weather and light a routine is done."""
    found = []
    if routine.needs_dry:
        found.append(_("dry"))
    if routine.most_gust_m_s is not None:
        found.append(_("gusts below %(gust)s") % {"gust": format_gust(routine.most_gust_m_s, units)})
    if routine.needs_daylight:
        found.append(_("in daylight"))
    if routine.least_temperature_k is not None:
        found.append(_("warmer than %(warmth)s") % {"warmth": format_warmth(routine.least_temperature_k, units)})
    return found


def cautions(job: Job, units: str) -> list[Caution]:
    """Return what whoever does a job has to beware of: ladders, film and bars, and the wind."""
    return list(_cautions(job, units))


def format_warmth(kelvin: Decimal, units: str) -> str:
    """Return a temperature in whole degrees of the reader's scale."""
    celsius = kelvin - FREEZING
    degrees = celsius if units == METRIC else celsius * 9 / 5 + 32
    return f"{degrees.quantize(Decimal(1), ROUND_HALF_UP)} {'°C' if units == METRIC else '°F'}"


def _cautions(job: Job, units: str) -> Iterator[Caution]:
    routine, part, repair = job.plan.routine, job.plan.component, repair_of(job)
    kinds = {part.kind if part else "", repair.part if repair else "", *routine.kinds}
    if any(LADDER in tool.casefold() for tool in routine.tools.get("en", ())):
        yield _warning(_("Somebody holds the ladder, on firm ground, never in wind. Stay clear of overhead lines."))
    if kinds & FILMS:
        yield _warning(
            _("Loose film in wind throws people over. Stop when leaves and twigs keep moving; tie down what hangs.")
        )
    if kinds & {"turning_bar", "drive", "mid_bar", "bottom_bar"}:
        yield _warning(_("A bar that drops can break bones. Nobody stands under it or in its path; hold the crank."))
    if routine.most_gust_m_s is not None:
        gust = format_gust(routine.most_gust_m_s, units)
        text = _("Stop when gusts pass %(gust)s, even if it is not finished.") % {"gust": gust}
        yield Caution(_("CAUTION"), "signal-caution", text)


def _warning(text: str) -> Caution:
    return Caution(_("WARNING"), "", text)
