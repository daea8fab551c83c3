"""Openings and sheets of the sizing core as JSON: what a file holds, what the database keeps, what a page reads."""

from __future__ import annotations

import hashlib
import json
import math
from typing import Any

from doors.codec import InputError, from_plain, path_in_json, schema_of, to_plain
from doors.sizing import CORE_VERSION, Opening, Rules, Sheet, SizingError, size

PER_SI = {"mm": 1000.0, "deg": 180.0 / math.pi}  # by the unit a key ends in
ERROR_SCHEMA = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "type": "object",
    "description": "What is printed, with exit status 2, for input the core cannot take.",
    "properties": {
        "error": {
            "type": "object",
            "properties": {"field": {"type": "string"}, "value": {}, "message": {"type": "string"}},
            "required": ["field", "value", "message"],
            "additionalProperties": False,
        }
    },
    "required": ["error"],
    "additionalProperties": False,
}


def sheet_from_json(data: Any) -> Sheet:
    """Return the sheet a kept sizing holds."""
    sheet: Sheet = from_plain(Sheet, data)
    return sheet


def sheet_to_json(sheet: Sheet) -> dict[str, Any]:
    """Return a sheet with keys that end in their unit."""
    plain: dict[str, Any] = to_plain(sheet)
    return plain


def inputs_to_json(opening: Opening, rules: Rules) -> dict[str, Any]:
    """Return all that a sizing depends on, so that it can be run again years later."""
    return {"opening": to_plain(opening), "rules": to_plain(rules)}


def inputs_from_json(kept: dict[str, Any]) -> tuple[Opening, Rules]:
    """Return what a kept sizing was made from, whichever core made it."""
    design = dict(kept["opening"]["design"])
    for part in ("channel", "wire"):
        if f"{part}_stock_mm" in design:  # core 1.0 was told the length of the stock, not its name
            length = design.pop(f"{part}_stock_mm")
            design[part] = None if length is None else {"stock_length_mm": length}
    opening: Opening = from_plain(Opening, kept["opening"] | {"design": design})
    rules: Rules = from_plain(Rules, kept["rules"])
    return opening, rules


def digest(inputs: dict[str, Any]) -> str:
    """Return what tells two sets of inputs, or two cores, apart."""
    text = json.dumps([CORE_VERSION, inputs], sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def size_json(data: Any) -> Any:
    """Return the sheets of one opening or a list of them, each with optional ``rules``.

    Parameters
    ----------
    data : dict or list of dict
        An opening with keys that end in their unit; ``rules`` beside them changes the rules of practice.

    Returns
    -------
    dict or list of dict
        A sheet for each.

    Raises
    ------
    InputError
        For anything the core cannot take: names the field, its value and what to write.
    """
    if isinstance(data, list):
        return [_size_one(item, f"[{index}]") for index, item in enumerate(data)]
    return _size_one(data, "")


def schema() -> dict[str, Any]:
    """Return the JSON Schemas of both sides of ``manage.py size``, and of its errors."""
    described = schema_of(Opening)
    described["$defs"] |= schema_of(Rules)["$defs"]
    described["$defs"]["Opening"]["properties"]["rules"] = {"$ref": "#/$defs/Rules"}
    return {"input": _one_or_many(described), "output": _one_or_many(schema_of(Sheet)), "error": ERROR_SCHEMA}


def _one_or_many(described: dict[str, Any]) -> dict[str, Any]:
    one = {"$ref": described["$ref"]}
    rest = {key: value for key, value in described.items() if key != "$ref"}
    return rest | {"anyOf": [one, {"type": "array", "items": one}]}


def _size_one(data: Any, path: str) -> dict[str, Any]:
    if not isinstance(data, dict):
        raise InputError(path or "opening", data, "must be an object that describes one opening")
    described = dict(data)
    changes = described.pop("rules", {})
    try:
        rules = from_plain(Rules, changes, f"{path}.rules" if path else "rules")
        opening = from_plain(Opening, described, path)
        return sheet_to_json(size(opening, rules))
    except SizingError as error:
        raise refusal(error, path) from error


def refusal(error: SizingError, path: str = "") -> InputError:
    """Return the core's refusal in the words and units of JSON."""
    in_rules = error.field.startswith("rules.")
    name = error.field.removeprefix("rules.")
    spelled = path_in_json(Rules if in_rules else Opening, name)
    field = f"rules.{spelled}" if in_rules else spelled
    scale = PER_SI.get(spelled.rpartition("_")[2], 1.0)
    limit = "" if error.limit is None else f" {error.limit * scale:.10g}"
    message = f"is {error.value * scale:.10g} but must be {error.relation}{limit}"
    return InputError(f"{path}.{field}" if path else field, error.value * scale, message)
