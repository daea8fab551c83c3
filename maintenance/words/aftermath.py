"""What is said after a storm: cautions, why a place comes early, whether the warning was right."""

from __future__ import annotations

from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from farm.units import format_gust
from maintenance.models import StormFinding
from maintenance.storm.after import Alarms

# In this order: people, power and gas, from outside, papers, air. Common practice, no source.
CAUTIONS: Final = (
    (gettext_lazy("WARNING"), "", gettext_lazy(
        "People first: count them, and let nobody in until the frame was looked at from outside."
    )),
    (gettext_lazy("WARNING"), "", gettext_lazy(
        "Power and gas off before anybody touches wet wires, blowers or heaters. Treat every wire as live."
    )),
    (gettext_lazy("WARNING"), "", gettext_lazy(
        "Look from outside: a bent bow, a leaning post or a hanging sheet can come down hours after the wind."
    )),
    (gettext_lazy("NOTICE"), "signal-notice", gettext_lazy(
        "Take pictures before you clean up: whole, from the side, and close. Then make safe, open to vent, and repair."
    )),
)  # fmt: skip
REASONS: Final = {
    "was_open": gettext_lazy("nobody ticked it as shut"),
    "was_damaged": gettext_lazy("a fault that could not wait was open"),
    "over_limit": gettext_lazy("the gust was above what its weakest door stands"),
    "limit_unknown": gettext_lazy("what it stands is not known"),
    "gust_unknown": gettext_lazy("the gust is not known"),
}
VERDICTS: Final = {
    "hit": (gettext_lazy("right"), "pass"),
    "false": (gettext_lazy("false alarm"), "warn"),
    "missed": (gettext_lazy("stronger than warned"), "fail"),
    "unknown": (gettext_lazy("not known"), "blocked"),
}


def why(finding: StormFinding, units: str) -> str:
    """Return why a place stands where it does in the order."""
    facts: dict[str, Any] = finding.facts
    reasons = [str(REASONS[key]) for key in facts.get("reasons", ()) if key in REASONS]
    return "; ".join([*reasons, *_gusts(facts, units)])


def _gusts(facts: dict[str, Any], units: str) -> list[str]:
    if facts.get("gust") is None:
        return []
    shown = {"gust": format_gust(facts["gust"], units), "limit": format_gust(facts.get("limit"), units, is_limit=True)}
    text = _("gust there about %(gust)s") % shown
    if facts.get("limit") is not None:
        text = _("gust there about %(gust)s, stands about %(limit)s") % shown
    return [f"{text} ({_('forecast only')})" if facts.get("is_forecast") else text]


def alarms_in_words(found: Alarms) -> str:
    """Return how warnings did, in one or two sentences; nothing before the first."""
    judged = found.hits + found.false + found.missed
    if not judged + found.unknown:
        return ""
    texts = [
        ngettext("%(count)s warning was right", "%(count)s warnings were right", found.hits) % {"count": found.hits},
        ngettext("%(count)s was false", "%(count)s were false", found.false) % {"count": found.false},
        ngettext("%(count)s storm came stronger than warned", "%(count)s storms came stronger than warned",
                 found.missed) % {"count": found.missed},
    ]  # fmt: skip
    said = _("%(hits)s, %(false)s, %(missed)s.") % dict(zip(("hits", "false", "missed"), texts, strict=True))
    if found.unknown:
        said += " " + ngettext(
            "Of %(count)s nobody wrote down what came.", "Of %(count)s nobody wrote down what came.", found.unknown
        ) % {"count": found.unknown}  # fmt: skip
    return said
