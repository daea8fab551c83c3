"""Who may talk to the program by script: answers are JSON, whatever goes wrong, and never a redirect."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied, RequestDataTooBig, TooManyFilesSent
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.http.multipartparser import MultiPartParserError
from django.middleware.csrf import CsrfViewMiddleware
from django.urls import reverse
from django.utils import timezone
from django.utils.decorators import decorator_from_middleware
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt

from farm.access import Role, member

View = Callable[..., HttpResponseBase]


class _ScriptCsrf(CsrfViewMiddleware):
    """The same check as for every page, with an answer that a script understands."""

    def _reject(self, request: HttpRequest, reason: str) -> HttpResponse:
        text = _("The sign-in has changed since this was prepared. Fetch a new token and send it again.")
        return refusal(403, text, csrf=True)


_csrf_checked = decorator_from_middleware(_ScriptCsrf)


def answer(**fields: Any) -> JsonResponse:
    """Return an answer with the time it is here."""
    response = JsonResponse({"now": timezone.now().isoformat(), **fields})
    response["Cache-Control"] = "no-store, private"
    return response


def refusal(status: int, error: str, **fields: Any) -> JsonResponse:
    """Return why not, as a sentence for the person; nothing that was sent may be deleted on it."""
    response = answer(error=error, **fields)
    response.status_code = status
    return response


def script_member(role: Role, *, methods: tuple[str, ...], most_bytes: int = 0) -> Callable[[View], View]:
    """Open a view for scripts of the farm's members of at least ``role``; a body above ``most_bytes`` is not read."""

    def decorate(view: View) -> View:
        inner = _csrf_checked(_open_to(role, methods, view))

        @csrf_exempt  # not at all: the check that answers scripts is inside
        @login_not_required  # not at all: the next lines ask for it
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if not request.user.is_authenticated:
                login = reverse("crew-enter", kwargs={"farm_slug": kwargs["farm_slug"]})
                return refusal(401, _("Nobody is signed in. Sign in, then it is sent. Nothing is lost."), login=login)
            if most_bytes and _length(request) > most_bytes:
                return refusal(413, _("This is more than can be taken at once. Send less."))
            return inner(request, *args, **kwargs)

        guarded.farm_role = role  # type: ignore[attr-defined]  # read by the test that walks every route
        return guarded

    return decorate


def _open_to(role: Role, methods: tuple[str, ...], view: View) -> View:
    allowed = member(role)(_only(methods, view))

    def opened(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        try:
            return allowed(request, *args, **kwargs)
        except Http404:
            return refusal(404, _("There is no such farm, or you are not a member of it."))
        except PermissionDenied:
            return refusal(403, _("Your role on this farm does not allow that. Ask your manager."))
        except (RequestDataTooBig, TooManyFilesSent):
            return refusal(413, _("This is more than can be taken at once. Send less."))
        except MultiPartParserError:
            return refusal(400, _("The file did not arrive whole. Send it again."))

    return opened


def _only(methods: tuple[str, ...], view: View) -> View:
    def asked(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.method in methods:
            return view(request, *args, **kwargs)
        response = refusal(405, _("This address is not for that."))
        response["Allow"] = ", ".join(methods)
        return response

    return asked


def _length(request: HttpRequest) -> int:
    text = request.META.get("CONTENT_LENGTH") or "0"
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 16 else 0
