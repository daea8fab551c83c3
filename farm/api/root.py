"""The API as a whole: its routes, which each app brings, and every way a request can go wrong."""

from __future__ import annotations

import logging
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.conf import settings
from django.core.exceptions import BadRequest, PermissionDenied, RequestDataTooBig
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, UnreadablePostError
from django.urls import URLPattern, URLResolver
from django.utils import timezone, translation
from django.utils.cache import patch_vary_headers
from django.utils.translation import gettext as _
from ninja import NinjaAPI
from ninja.errors import HttpError, ValidationError

from farm.api.parsing import StrictParser
from farm.api.problems import Problem, Wrong, response_of

logger = logging.getLogger("django.request")

api = NinjaAPI(
    title="Gablekeep", version="1", urls_namespace="api-v1", parser=StrictParser(), docs_url=None, openapi_url=None,
    description="The structures of a farm under film, their doors, parts and upkeep.",
)  # fmt: skip
# The other apps are named by dotted string only, as in the root URLconf.
for routes in ("farm.api.farms", "doors.api.tunnels", "doors.api.walls", "doors.api.openings", "doors.api.sizings",
               "maintenance.api.components", "maintenance.api.jobs", "maintenance.api.repairs",
               "maintenance.api.storms"):  # fmt: skip
    api.add_router("", f"{routes}.router")


def _on_problem(request: HttpRequest, error: Any) -> HttpResponse:
    return response_of(error)


def _on_http_error(request: HttpRequest, error: Any) -> HttpResponse:
    """Answer what the library found; it wraps what our parser says of a body."""
    cause = error.__cause__
    if isinstance(cause, Problem):
        return response_of(cause)
    if isinstance(cause, RequestDataTooBig):
        return response_of(_too_large())
    return response_of(Problem("unreadable", _("The request cannot be read.")))


def _on_invalid(request: HttpRequest, error: Any) -> HttpResponse:
    """Answer with the place of everything that is not of its type."""
    wrong = [_wrong(each) for each in error.errors]
    return response_of(Problem("refused", _("Some values are not what they have to be."), errors=wrong))


def _wrong(error: dict[str, Any]) -> Wrong:
    source, *path = error["loc"]
    said = str(error["msg"]).removeprefix("Value error, ")
    if source == "body":
        return Wrong(said, pointer="".join(f"/{part}" for part in path[1:]))
    return Wrong(said, parameter=str(path[-1]) if path else source)


def _on_not_found(request: HttpRequest, error: Any) -> HttpResponse:
    return response_of(Problem("not-found", _("There is no such thing on a farm of yours.")))


def _on_denied(request: HttpRequest, error: Any) -> HttpResponse:
    said = str(error) or _("Your role on this farm does not allow it.")
    return response_of(Problem("not-allowed", said))


def _on_failure(request: HttpRequest, error: Any) -> HttpResponse:
    """Say that it is our mistake, and leave the whole of it in the log."""
    logger.error("%s %s failed", request.method, request.path, exc_info=error, extra={"request": request})
    return response_of(Problem("failed", _("Nothing was changed. The operator finds the reason in the log.")))


HANDLERS: dict[type[Exception], Callable[[HttpRequest, Any], HttpResponse]] = {
    Problem: _on_problem, HttpError: _on_http_error, ValidationError: _on_invalid, Http404: _on_not_found,
    PermissionDenied: _on_denied, Exception: _on_failure,
}  # fmt: skip
for kind, handler in HANDLERS.items():
    api.add_exception_handler(kind, handler)


def _too_large() -> Problem:
    return Problem("too-large", _("A body has at most %(most)d bytes.") % {"most": settings.API_LARGEST_BODY})


def around(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
    """Wrap a view of the API: no log-in page, no cookies, every refusal as a problem, nothing kept on the way."""

    @wraps(view)
    def run(request: HttpRequest, *args: Any, **given: Any) -> HttpResponseBase:
        with timezone.override(None), translation.override(translation.get_language()):
            try:
                response = view(request, *args, **given)
            except RequestDataTooBig:
                response = response_of(_too_large())
            except (BadRequest, UnreadablePostError):
                response = response_of(Problem("unreadable", _("The request cannot be read.")))
            if response.status_code == 405:
                allowed = response.get("Allow", "")
                said = _("This address answers %(methods)s.") % {"methods": allowed}
                response = response_of(Problem("wrong-method", said, headers={"Allow": allowed}))
        for name, value in getattr(request, "headers_out", {}).items():
            response[name] = value
        response["Cache-Control"] = "private, no-cache"
        patch_vary_headers(response, ["Authorization", "Accept-Language"])
        return response

    run.login_required = False  # type: ignore[attr-defined]
    run.csrf_exempt = True  # type: ignore[attr-defined]
    return run


def missing(request: HttpRequest, *args: Any) -> HttpResponse:
    """Answer for every address below the API that is none."""
    return response_of(Problem("not-found", _("There is no such address. The docs page lists all of them.")))


def patterns() -> list[URLPattern | URLResolver]:
    """Return the routes of the API, each wrapped."""
    found = [pattern for pattern in api.urls[0] if getattr(pattern, "name", "") != "api-root"]
    for pattern in found:
        if isinstance(pattern, URLPattern):
            pattern.callback = around(pattern.callback)
    return found
