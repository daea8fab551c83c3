"""Log-ins kept in rows that know their person, listed and ended on a page of their own."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any, Final

from django.contrib import messages
from django.contrib.auth.models import User
from django.contrib.auth.signals import user_logged_in
from django.contrib.sessions.backends.db import SessionStore as DatabaseSessionStore
from django.dispatch import receiver
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.crypto import constant_time_compare, salted_hmac
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from farm.models import KnownPhone, LoginSession

SEEN: Final = "seen_at"
KNOWN_PHONE: Final = "known_phone"  # the phone that opened a log-in, and would open it again
SEEN_EVERY: Final = timedelta(hours=1)  # a row need not be written at every page


class SessionStore(DatabaseSessionStore):
    """Django's own store, with whose log-in it is in columns."""

    @classmethod
    def get_model_class(cls) -> type[LoginSession]:
        """Return the rows' model."""
        return LoginSession

    def create_model_instance(self, data: dict[str, Any]) -> LoginSession:
        """Return the row for these data."""
        row: LoginSession = super().create_model_instance(data)  # type: ignore[assignment]
        person = data.get("_auth_user_id")
        row.user_id = int(person) if person else None
        row.agent = str(data.get("agent", ""))[:200]
        row.began_at, row.seen_at = _moment(data.get("began_at")), _moment(data.get(SEEN))
        return row


def _moment(text: Any) -> datetime | None:
    return parse_datetime(text) if isinstance(text, str) else None


@receiver(user_logged_in)
def note_log_in(sender: type[User], request: HttpRequest, user: User, **_more: Any) -> None:
    """Note on what and when somebody logged in."""
    now = timezone.now().isoformat()
    request.session.update({"agent": device(request.headers.get("User-Agent", "")), "began_at": now, SEEN: now})


def note_seen(request: HttpRequest) -> None:
    """Note once an hour that a log-in is in use."""
    seen = _moment(request.session.get(SEEN))
    if seen is None or timezone.now() - seen > SEEN_EVERY:
        request.session[SEEN] = timezone.now().isoformat()


def device(agent: str) -> str:
    """Return the browser and the machine in a browser's own words, as far as they tell."""
    machine = next((name for mark, name in MACHINES if mark in agent), "")
    browser = next((name for mark, name in BROWSERS if mark in agent), "")
    return ", ".join(word for word in (browser, machine) if word)


# Names that browsers send; the first that is found counts, because most claim to be others as well.
MACHINES: Final = (
    ("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android"), ("Windows", "Windows"),
    ("Macintosh", "Mac"), ("CrOS", "ChromeOS"), ("Linux", "Linux"),
)  # fmt: skip
BROWSERS: Final = (
    ("Firefox/", "Firefox"), ("FxiOS/", "Firefox"), ("Edg", "Edge"), ("OPR/", "Opera"), ("SamsungBrowser/", "Samsung"),
    ("CriOS/", "Chrome"), ("Chrome/", "Chrome"), ("Safari/", "Safari"),
)  # fmt: skip


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def log_ins(request: HttpRequest) -> HttpResponse:
    """List where one is logged in, and end one of these log-ins, or all but this."""
    mine = LoginSession.objects.filter(user=request.user.pk or 0, expire_date__gt=timezone.now())
    rows = sorted(mine, key=lambda row: str(row.seen_at or ""), reverse=True)
    here = request.session.session_key or ""
    if request.method == "POST":
        chosen = request.POST.get("end", "")
        gone = [row for row in rows if row.session_key != here and chosen in ("others", public_key(row))]
        known = KnownPhone.objects.filter(user=request.user.pk or 0, revoked_at=None)
        if chosen == "others":  # also phones whose log-in has run out, which come in again by themselves
            known = known.exclude(pk=request.session.get(KNOWN_PHONE, 0))
        else:
            known = known.filter(pk__in=[row.get_decoded().get(KNOWN_PHONE, 0) for row in gone])
        is_forgotten = known.update(revoked_at=timezone.now())
        for row in gone:
            row.delete()
        if gone or is_forgotten:
            messages.success(request, _("Logged out there."))
        else:
            messages.error(request, _("That log-in had ended already."))
        return redirect("log-ins")
    shown = [
        {"row": row, "key": public_key(row), "is_here": constant_time_compare(row.session_key, here)} for row in rows
    ]
    return render(request, "farm/log_ins.html", {"shown": shown})


def public_key(row: LoginSession) -> str:
    """Return a name for a log-in that a page may show: the session's key would let its reader in."""
    return salted_hmac("farm.sessions", row.session_key).hexdigest()[:32]
