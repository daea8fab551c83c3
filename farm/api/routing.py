"""How a resource's functions become routes: who may, what is answered, which headers count."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from functools import wraps
from typing import Any, Final, TypeVar, cast

from django.http import HttpResponse, HttpResponseNotModified
from django.utils.translation import gettext as _
from ninja import Router
from pydantic import BaseModel

from farm.access import Role
from farm.api.entry import ApiBearer, ApiRequest, Scope
from farm.api.etags import etag_of, is_known
from farm.api.once import HEADER, answered_once
from farm.api.problems import Problem, Wrong

Function = TypeVar("Function", bound=Callable[..., BaseModel])
Response = Callable[..., HttpResponse]
FARM: Final = "/farms/{slug:farm}"
ONCE: Final[dict[str, Any]] = {
    "in": "header", "name": HEADER, "required": False,
    "schema": {"type": "string", "pattern": "^[!-~]{1,200}$", "maxLength": 200},
    "description": "A name of your own for this request: sent again within a day, it gets the same answer.",
}  # fmt: skip
IF_MATCH: Final[dict[str, Any]] = {
    "in": "header", "name": "If-Match", "schema": {"type": "string"},
    "description": "The ETag of the thing as you have read it.",
}  # fmt: skip
IF_NONE_MATCH: Final[dict[str, Any]] = {
    "in": "header", "name": "If-None-Match", "required": False, "schema": {"type": "string"},
    "description": "The ETag you hold; 304 says that it still stands.",
}  # fmt: skip


class Routes:
    """The routes of one kind of thing. Every function gets an `ApiRequest` and returns what is shown."""

    def __init__(self, tag: str) -> None:
        self.router = Router(tags=[tag])

    def reads(self, path: str, shown: type[BaseModel], *, summary: str) -> Callable[[Function], Function]:
        """Serve a GET, open to viewers, with an ETag."""

        def respond(request: ApiRequest, function: Function, given: dict[str, Any]) -> HttpResponse:
            response = _answer(function(request, **given), 200)
            if is_known(request.headers, response["ETag"]):
                return HttpResponseNotModified(headers={"ETag": response["ETag"]})
            return response

        extra = {"parameters": [IF_NONE_MATCH], "x-answers": [304]}
        return self._route(["GET", "HEAD"], path, shown, 200, "viewer", "read", summary, extra, respond)

    def makes(
        self, path: str, shown: type[BaseModel], *, role: Role, summary: str, at: str
    ) -> Callable[[Function], Function]:
        """Serve a POST that makes a row, which from then on stands ``at`` an address ending in its id."""

        def respond(request: ApiRequest, function: Function, given: dict[str, Any]) -> HttpResponse:
            def work() -> HttpResponse:
                made = function(request, **given)
                response = _answer(made, 201)
                place = f"{request.path.partition('/farms/')[0]}{FARM}{at}/".replace("{slug:farm}", request.farm.slug)
                response["Location"] = f"{place}{cast('Any', made).id}"
                return response

            return answered_once(request, work)

        extra = {"parameters": [ONCE], "x-answers": [409, 415]}
        return self._route(["POST"], path, shown, 201, role, "write", summary, extra, respond)

    def changes(
        self, path: str, shown: type[BaseModel], *, role: Role, summary: str, method: str = "POST"
    ) -> Callable[[Function], Function]:
        """Serve a change of a row; a PATCH needs If-Match, which its function looks at under the row's lock."""

        def respond(request: ApiRequest, function: Function, given: dict[str, Any]) -> HttpResponse:
            return answered_once(request, lambda: _answer(function(request, **given), 200))

        is_patch = method == "PATCH"
        extra = {"parameters": [ONCE, {**IF_MATCH, "required": False}],
                 "x-answers": [409, 412, 415, *([428] if is_patch else [])]}  # fmt: skip
        return self._route([method], path, shown, 200, role, "write", summary, extra, respond)

    def works_out(
        self, path: str, shown: type[BaseModel], *, summary: str, extra: dict[str, Any]
    ) -> Callable[[Function], Function]:
        """Serve a POST that only calculates: a key that reads is enough."""

        def respond(request: ApiRequest, function: Function, given: dict[str, Any]) -> HttpResponse:
            return _answer(function(request, **given), 200)

        return self._route(["POST"], path, shown, 200, "viewer", "read", summary, extra, respond)

    def _route(
        self, methods: list[str], path: str, shown: type[BaseModel], status: int, role: Role, scope: Scope,
        summary: str, extra: dict[str, Any], respond: Callable[[ApiRequest, Function, dict[str, Any]], HttpResponse],
    ) -> Callable[[Function], Function]:  # fmt: skip
        def decorate(function: Function) -> Function:
            @wraps(function)
            def served(request: ApiRequest, farm: str = "", **given: Any) -> HttpResponse:
                _refuse_unknown(request, given.get("query"))
                return respond(request, function, given)

            # The library reads names and types of the arguments here; it would look for the types in this module.
            served.__signature__ = _signature(function, has_farm="{slug:farm}" in path)  # type: ignore[attr-defined]
            del served.__wrapped__
            self.router.add_api_operation(
                path, methods, served, auth=ApiBearer(role, scope), response={status: shown}, summary=summary,
                operation_id=f"{function.__module__.rpartition('.')[2]}_{function.__name__}", openapi_extra=extra,
            )  # fmt: skip
            return function

        return decorate


def _signature(function: Callable[..., Any], *, has_farm: bool) -> inspect.Signature:
    """Return a function's arguments, with the farm of the address, which the request carries, beside them."""
    signature = inspect.signature(function, eval_str=True)
    request, *rest = signature.parameters.values()
    farm = inspect.Parameter("farm", inspect.Parameter.POSITIONAL_OR_KEYWORD, annotation=str)
    return signature.replace(parameters=[request, *([farm] if has_farm else []), *rest])


def _answer(shown: BaseModel, status: int) -> HttpResponse:
    body = shown.model_dump_json()
    return HttpResponse(body, status=status, content_type="application/json", headers={"ETag": etag_of(body)})


def _refuse_unknown(request: ApiRequest, query: BaseModel | None) -> None:
    """Refuse a parameter that means nothing: a filter misspelt would show everything."""
    known = set(type(query).model_fields) if query is not None else set()
    wrong = [
        Wrong(_("There is no such parameter here."), parameter=name) for name in request.GET if name not in known
    ] + [
        Wrong(_("It stands twice."), parameter=name) for name in request.GET if len(request.GET.getlist(name)) > 1
    ]  # fmt: skip
    wrong += [
        Wrong(_("It holds a character that no name or code has."), parameter=name)
        for name, value in request.GET.items() if "\0" in value
    ]  # fmt: skip
    if wrong:
        raise Problem("refused", " ".join(f"{each.parameter}: {each.detail}" for each in wrong)[:500], errors=wrong)
