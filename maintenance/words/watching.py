"""What a page and a message say of what does not work."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from django.utils import formats, timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from maintenance.watching.watch import Severity, Trouble

SIGNALS: Final = {
    Severity.WARNING: (gettext_lazy("WARNING"), ""),
    Severity.CAUTION: (gettext_lazy("CAUTION"), "signal-caution"),
    Severity.NOTICE: (gettext_lazy("NOTICE"), "signal-notice"),
}
PAGES: Final[Mapping[str, str]] = {
    "mail": "reminders", "push": "reminders", "mail-unset": "reminders", "push-unset": "reminders",
    "waiting": "reminders",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Said:
    """A trouble in words: the signal word and its look, a sentence, and the page that tells more."""

    signal: str
    look: str
    text: str
    page: str


def say(trouble: Trouble, now: datetime) -> Said:
    """Return what is said of a trouble, in the reader's language."""
    signal, look = SIGNALS[trouble.severity]
    return Said(str(signal), look, _sentence(trouble, now), PAGES.get(trouble.key, ""))


def again(key: str) -> str:
    """Return that something works again, in one sentence."""
    return {
        "worker": _("The background work runs again."),
        "mail": _("E-mail leaves again."),
        "push": _("Messages reach the phones again."),
        "waiting": _("Messages leave again."),
        "source": _("The weather service answers again."),
    }.get(key, _("There is a fresh forecast again."))


def lasting(since: datetime, now: datetime) -> str:
    """Return how long something has lasted: minutes up to two hours, hours up to two days, then days."""
    minutes = max(int((now - since) / timedelta(minutes=1)), 1)
    if minutes < 120:
        return ngettext("%(count)s minute", "%(count)s minutes", minutes) % {"count": minutes}
    if minutes < 48 * 60:
        return ngettext("%(count)s hour", "%(count)s hours", minutes // 60) % {"count": minutes // 60}
    days = minutes // (24 * 60)
    return ngettext("%(count)s day", "%(count)s days", days) % {"count": days}


def _sentence(trouble: Trouble, now: datetime) -> str:
    time = lasting(trouble.since, now) if trouble.since else ""
    given = {"time": time, "count": trouble.count, "at": _clock(trouble.since)}
    return str(_sentences(trouble.count)[trouble.key]) % given


def _clock(at: datetime | None) -> str:
    return formats.date_format(timezone.localtime(at), "D H:i") if at else ""


def _sentences(count: int) -> dict[str, str]:
    return {
        "worker": _(
            "Nothing has been done in the background for %(time)s: no forecast is fetched, no deadline worked out, "
            "nobody is told. Look at the weather yourself and start the program again."
        ),
        "forecast": _(
            "No forecast has come for %(time)s. Do not take quiet for calm: ring the weather office or look yourself."
        ),
        "forecast-typed": _(
            "The forecast was typed in %(time)s ago. Do not take quiet for calm: look for a newer one and type it in."
        ),
        "forecast-none": _("There is no forecast: nothing warns of wind. Choose where it comes from, or type one in."),
        "source": ngettext(
            "The weather service did not answer the last time. The forecast in use is %(time)s old.",
            "The weather service did not answer the last %(count)s times. The forecast in use is %(time)s old.", count,
        ),
        "thunder": _(
            "Thunder is forecast from %(at)s: nobody leaves doors open unattended, and everybody takes shelter at the "
            "first thunder. Gusts of thunderstorms are in no hourly forecast."
        ),
        "mail": _("E-mail has not left for %(time)s: the mail server does not take it. Tell people by other means."),
        "push": _("Messages have not reached phones for %(time)s. Tell people by other means."),
        "waiting": ngettext(
            "%(count)s message has waited for %(time)s. Tell its reader by other means.",
            "%(count)s messages have waited, the oldest for %(time)s. Tell people by other means.", count,
        ),
        "mail-unset": _("No mail server is set: nobody gets e-mail."),
        "push-unset": _("No contact for push services is set: nothing reaches phones."),
    }  # fmt: skip
