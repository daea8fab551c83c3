"""JSON from outside: size, encoding, depth and doubled keys are looked at before anything is believed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Final

from maintenance.weather.reasons import ForecastError, clean, shown

MOST_BYTES: Final = 5 * 1024 * 1024
LONGEST_WHOLE: Final = 18  # digits; longer numbers are read as floats, where they become infinite at worst
LONGEST_TEXT: Final = 20_000  # characters kept of an alert's own words

Json = Mapping[str, Any]


def text_of(content: bytes | str) -> str:
    """Return UTF-8 content as text.

    Raises
    ------
    ForecastError
        If it is empty, larger than 5 MB or in another encoding.
    """
    if len(content) > MOST_BYTES:
        raise ForecastError("too_large", limit=MOST_BYTES // 1024**2)
    try:
        text = content.decode("utf-8-sig") if isinstance(content, bytes) else content.removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        raise ForecastError("not_text") from error
    if not text.strip():
        raise ForecastError("empty")
    return text


def read_json(content: bytes | str) -> Any:
    """Return what a JSON document says.

    Raises
    ------
    ForecastError
        If it is empty, too large, badly encoded, a web page, no JSON, nested too deeply, or has a key twice.
    """
    text = text_of(content)
    if text.lstrip().startswith("<"):
        raise ForecastError("html")
    try:
        return _DECODER.decode(text)
    except json.JSONDecodeError as error:
        raise ForecastError("not_json", detail=f"{error.msg}, line {error.lineno} column {error.colno}") from error
    except RecursionError as error:
        raise ForecastError("not_json", detail="brackets within brackets without end") from error


def read_object(content: bytes | str, source: str) -> Json:
    """Return a JSON document that is an object and no refusal.

    Raises
    ------
    ForecastError
        As `read_json`; also if it is not an object, or an object that only says what went wrong.
    """
    document = read_json(content)
    if not isinstance(document, dict):
        raise ForecastError("wrong_shape", name="{ }", source=source)
    refused = refusal(document)
    if refused:
        raise refused
    return document


def refusal(document: Json) -> ForecastError | None:
    """Return what a service says has gone wrong (RFC 9457, or an error and its reason), or None."""
    if document.get("error") is True:
        return ForecastError("problem", said=shown(document.get("reason")) or "?")
    title, detail = document.get("title"), document.get("detail")
    if "features" in document or "properties" in document or not (isinstance(title, str) and "status" in document):
        return None
    said = f"{title.rstrip('.')}. {detail}" if isinstance(detail, str) and detail != title else title
    return ForecastError("problem", said=said)


def section(document: Json, name: str, source: str) -> Json:
    """Return an object within an object.

    Raises
    ------
    ForecastError
        If it is missing or something else.
    """
    found = document.get(name)
    if not isinstance(found, dict):
        raise ForecastError("wrong_shape", name=name, source=source)
    return found


def items(document: Json, name: str, source: str, limit: int) -> list[Any]:
    """Return a list within an object.

    Raises
    ------
    ForecastError
        If it is missing, something else or too long.
    """
    found = document.get(name)
    if not isinstance(found, list):
        raise ForecastError("wrong_shape", name=name, source=source)
    if len(found) > limit:
        raise ForecastError("too_many", name=name, limit=limit)
    return found


def words(document: Json, name: str, limit: int = 500) -> str:
    """Return a text within an object on one line, or an empty one."""
    found = document.get(name)
    return clean(found, limit) if isinstance(found, str) else ""


def prose(text: object) -> str:
    """Return a long foreign text with its line breaks."""
    lines = str(text)[:LONGEST_TEXT].splitlines() if isinstance(text, str) else []
    return "\n".join(clean(line, LONGEST_TEXT) for line in lines).strip()


def _whole(digits: str) -> int | float:
    return int(digits) if len(digits) <= LONGEST_WHOLE else float(digits)


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):  # which of the two is meant, nobody can know
        seen: set[str] = set()
        raise ForecastError("key_twice", key=next(key for key, _ in pairs if key in seen or seen.add(key)))  # type: ignore[func-returns-value]
    return found


_DECODER: Final = json.JSONDecoder(parse_int=_whole, object_pairs_hook=_object)
