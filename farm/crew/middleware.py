"""Known phones come in by themselves, and go out the moment that is taken back."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponseBase
from django.utils import timezone

from farm.crew import phones
from farm.crew.keys import digest
from farm.models import KnownPhone
from farm.sessions import KNOWN_PHONE


class KnownPhoneMiddleware:
    """Open the session of a known phone again when it has run out; end the session of one that is known no more.

    Requests of scripts come in the same way, so a phone sends what it noted without a page to log in on. Whoever is
    logged in by a password is left alone.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Recognise the phone before the page, and keep or take its secret after it."""
        if phones.COOKIE not in request.COOKIES and settings.SESSION_COOKIE_NAME not in request.COOKIES:
            return self.get_response(request)
        token = phones.token_in(request)
        phone = _recognise(request, token)
        is_noted = phone is not None and phones.note_seen(phone=phone, now=timezone.now())
        response = self.get_response(request)
        if phones.COOKIE in response.cookies:  # the page itself signed somebody in or out
            return response
        if phone is None and phones.COOKIE in request.COOKIES and not request.user.is_authenticated:
            phones.drop_cookie(response)
        elif is_noted and token:
            phones.keep_cookie(response, token)
        return response


def _recognise(request: HttpRequest, token: str) -> KnownPhone | None:
    """Return the phone whose person this request acts for."""
    pk = request.session.get(KNOWN_PHONE)
    if pk is not None:
        phone = phones.standing().filter(pk=pk, user=request.user.pk).first()
        if phone is None:
            logout(request)
        else:
            request.known_phone = phone  # type: ignore[attr-defined]
        return phone
    if not token or request.user.is_authenticated:
        return None
    phone = phones.standing().filter(token_hash=digest(token)).first()
    if phone is not None:
        phones.open_session(request, phone)
    return phone
