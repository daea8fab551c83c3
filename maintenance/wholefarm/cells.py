"""Values as text and back: the same value gives the same text, whichever database it came from."""

from __future__ import annotations

import base64
import binascii
import json
import math
from datetime import UTC, date, datetime, time
from decimal import Decimal
from typing import Any, Final
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext as _

FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "'")  # what a spreadsheet program might run, and our own guard
WHOLE_FROM: Final = 1e16  # from here on PostgreSQL gives back whole numbers where a fraction was written
YES_NO: Final = {"true": True, "false": False}


def written(field: models.Field[Any, Any], value: Any) -> str:
    """Return a value as a cell: nothing for null, ISO 8601 for moments, JSON with sorted keys, Base64 for octets."""
    if value is None:
        return ""
    if isinstance(field, models.JSONField):
        return _json(value)
    match value:
        case bool():
            return "true" if value else "false"
        case datetime():
            return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
        case date() | time():
            return value.isoformat()
        case Decimal():
            return format(value, "f")
        case float():
            return repr(value)
        case bytes() | memoryview():
            return base64.b64encode(bytes(value)).decode()
        case int() | UUID():
            return str(value)
    text = str(value)
    return f"'{text}" if text.startswith(FORMULA) else text


def read(field: models.Field[Any, Any], text: str) -> Any:
    """Return what a cell means for a column.

    Raises
    ------
    ValidationError
        Where the column cannot hold it.
    """
    if text == "" and field.null:
        return None
    value = _meant(field, text)
    field.run_validators(value)
    if field.choices and value not in field.empty_values and value not in dict(field.flatchoices):
        raise ValidationError(_("“%(text)s” is not one of the choices."), params={"text": text[:80]})
    return value


def _meant(field: models.Field[Any, Any], text: str) -> Any:
    match field:
        case models.JSONField():
            return _from_json(text)
        case models.BinaryField():
            return _from_base64(text)
        case models.BooleanField():
            if text not in YES_NO:
                raise ValidationError(_("Write true or false."))
            return YES_NO[text]
        case models.DateTimeField():
            if not text.endswith("Z"):
                raise ValidationError(_("A moment must end in Z: it is in UTC."))
        case models.CharField() | models.TextField():
            return text[1:] if text.startswith("'") else text
    value = field.to_python(text)
    if isinstance(value, float) and not math.isfinite(value):
        raise ValidationError(_("“%(text)s” is no number."), params={"text": text[:80]})
    return value


def _json(value: Any) -> str:
    text = json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    if "e+" in text or "-0.0" in text:
        return json.dumps(_steady(value), sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return text


def _steady(value: Any) -> Any:
    """Return JSON with numbers as PostgreSQL gives them back: it knows no -0.0, and no fraction of a huge one."""
    match value:
        case dict():
            return {key: _steady(one) for key, one in value.items()}
        case list():
            return [_steady(one) for one in value]
        case float() if abs(value) >= WHOLE_FROM or value == 0:
            return int(value) if value else 0.0
    return value


def _from_json(text: str) -> Any:
    try:
        value = json.loads(text, parse_constant=_no_number)
        json.dumps(value, ensure_ascii=False).encode()  # a half of a surrogate pair is no text
    except (ValueError, RecursionError) as error:
        raise ValidationError(_("This is no JSON.")) from error
    if "\\u0000" in text:
        raise ValidationError(_("This holds a character that no database keeps."))
    return value


def _no_number(name: str) -> Any:
    raise ValueError(name)


def _from_base64(text: str) -> bytes:
    try:
        return base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError) as error:
        raise ValidationError(_("This is no Base64.")) from error
