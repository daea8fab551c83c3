"""Two clocks: the phone's, which may be wrong, and ours. Both are kept; what is acted on is ours."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

LONGEST_WAIT: Final = timedelta(days=92)  # no phone was without a way for longer; its clock was not set then
WORTH_SAYING: Final = 120.0  # seconds


def skew_of(sent_at: datetime | None, received_at: datetime) -> float | None:
    """Return by how many seconds a phone's clock was ahead of ours when it sent; None where it did not say."""
    return None if sent_at is None else (sent_at - received_at).total_seconds()


def moment_of(made_at: datetime | None, skew_s: float | None, received_at: datetime) -> datetime:
    """Return when something was done by our clock: never after it came, nor longer before than any phone waits."""
    if made_at is None:
        return received_at
    try:
        moment = made_at - timedelta(seconds=skew_s or 0.0)
    except OverflowError:
        return received_at
    return moment if received_at - LONGEST_WAIT <= moment <= received_at else received_at


def skew_text(skew_s: float | None) -> str:
    """Return how wrong a phone's clock was, or nothing where it hardly was."""
    if skew_s is None:
        return _("The phone did not say what its clock showed.")
    if abs(skew_s) < WORTH_SAYING:
        return ""
    span = _span(abs(skew_s))
    if skew_s > 0:
        return _("The phone's clock was %(span)s ahead.") % {"span": span}
    return _("The phone's clock was %(span)s behind.") % {"span": span}


def _span(seconds: float) -> str:
    minutes = round(seconds / 60)
    if minutes < 120:
        return ngettext("%(count)s minute", "%(count)s minutes", minutes) % {"count": minutes}
    hours = round(minutes / 60)
    if hours < 48:
        return ngettext("%(count)s hour", "%(count)s hours", hours) % {"count": hours}
    days = round(hours / 24)
    return ngettext("%(count)s day", "%(count)s days", days) % {"count": days}
