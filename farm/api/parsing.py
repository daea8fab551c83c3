"""Bodies as other programs send them: JSON, read so strictly that nothing odd gets as far as a form."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any, Final

from django.conf import settings
from django.http import HttpRequest
from django.utils.translation import gettext as _
from ninja.parser import Parser

from farm.api.problems import Problem

LONGEST_NUMBER: Final = 30  # digits, and places before or after the point
MEDIA_TYPES: Final = {"application/json", "application/merge-patch+json"}
DEEPEST: Final = 40


class StrictParser(Parser):
    """Reads UTF-8 JSON with exact numbers."""

    def parse_body(self, request: HttpRequest) -> Any:
        """Return the body of a request."""
        return body_of(request)


def body_of(request: HttpRequest) -> Any:
    """Return the JSON a request carries; its numbers are int or Decimal, as exact as they were written.

    Raises
    ------
    Problem
        If it is not JSON, too large, or holds what no column can: NUL, half a surrogate pair, endless numbers.
    """
    if request.content_type not in MEDIA_TYPES:
        raise Problem("not-json", _("The body has to be JSON, with “Content-Type: application/json”."))
    if int(request.META.get("CONTENT_LENGTH") or 0) > settings.API_LARGEST_BODY:
        raise Problem("too-large", _("A body has at most %(most)d bytes.") % {"most": settings.API_LARGEST_BODY})
    try:
        text = request.body.decode("utf-8")
        data = json.loads(
            text, parse_float=_decimal, parse_int=_whole, parse_constant=_constant, object_pairs_hook=_object
        )
        _check(data, DEEPEST)
    except (ValueError, RecursionError) as error:  # a UnicodeDecodeError and a JSONDecodeError are ValueErrors
        raise Problem("unreadable", _("The body cannot be read: %(why)s.") % {"why": _why(error)}) from error
    return data


def _why(error: Exception) -> str:
    if isinstance(error, UnicodeDecodeError):
        return _("it is not UTF-8")
    if isinstance(error, RecursionError):
        return _("it is nested too deeply")
    if isinstance(error, json.JSONDecodeError):
        said = {"line": error.lineno, "column": error.colno}
        return _("it is not JSON from line %(line)d, column %(column)d on") % said
    return str(error)


def _decimal(text: str) -> Decimal:
    number = Decimal(text)
    exponent = number.as_tuple().exponent
    is_short = isinstance(exponent, int) and abs(exponent) <= LONGEST_NUMBER and number.adjusted() <= LONGEST_NUMBER
    if not is_short or len(text) > 2 * LONGEST_NUMBER:
        raise ValueError(_("a number is too long"))
    return number


def _whole(text: str) -> int:
    if len(text) > LONGEST_NUMBER:
        raise ValueError(_("a number is too long"))
    return int(text)


def _constant(text: str) -> float:
    raise ValueError(_("%(text)s is not a number of JSON") % {"text": text})


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError(_("a key stands twice in one object"))
    return found


def _check(value: Any, depth: int) -> None:
    """Refuse text that no column of either database can hold, and nests no form has."""
    if depth == 0:
        raise RecursionError
    if isinstance(value, str):
        if "\0" in value or any("\ud800" <= letter <= "\udfff" for letter in value):
            raise ValueError(_("a text holds NUL or half a surrogate pair"))
    elif isinstance(value, dict):
        for key, item in value.items():
            _check(key, depth - 1)
            _check(item, depth - 1)
    elif isinstance(value, list):
        for item in value:
            _check(item, depth - 1)
