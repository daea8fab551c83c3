"""The core's dataclasses as JSON, and back: keys end in their unit, and one walk of the types serves all.

A field annotated with a unit, ``Length`` say, is written as ``rough_width_mm`` in millimetres; a mapping or a
tuple of lengths likewise. Figures are rounded to a millionth of a millimetre here, at the edge, so that the
binary noise of metres does not show.
"""

from __future__ import annotations

import math
import types
from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from enum import StrEnum
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from doors.sizing import Unit

DECIMALS = 6  # places kept of the unit written


class InputError(ValueError):
    """JSON the core cannot take: names the field by its path, the value, and what to write."""

    def __init__(self, field: str, value: object, message: str) -> None:
        super().__init__(f"{field}: {message}" if field else message)
        self.field, self.value, self.message = field, value, message


def to_plain(value: Any) -> Any:
    """Return a core dataclass as dicts, lists, text and numbers that JSON can hold."""
    return {key: _written(getattr(value, name), unit) for name, key, _, unit in _keys(type(value))}


def from_plain(cls: type[Any], data: Any, path: str = "") -> Any:
    """Return the core dataclass ``cls`` that ``data`` describes.

    Raises
    ------
    InputError
        For an unknown or missing key or a value of the wrong kind; names its path.
    """
    if not isinstance(data, Mapping):
        raise InputError(path, data, f"must be an object with the keys of {cls.__name__}")
    keys = {key: (name, kind, unit) for name, key, kind, unit in _keys(cls)}
    for key in data:
        if key not in keys:
            raise InputError(_join(path, str(key)), data[key], f"is not known; the keys are {', '.join(keys)}")
    required = {field.name for field in fields(cls) if field.default is MISSING and field.default_factory is MISSING}
    given = {}
    for key, (name, kind, unit) in keys.items():
        if key in data:
            given[name] = _read(data[key], kind, unit, _join(path, key))
        elif name in required:
            raise InputError(_join(path, key), None, "is missing")
    return cls(**given)


def path_in_json(cls: type[Any], path: str) -> str:
    """Return a core path such as ``wall.width`` as JSON spells it, ``wall.width_mm``."""
    spelled: list[str] = []
    for part in path.split("."):
        known = {name: (key, kind) for name, key, kind, _ in _keys(cls)} if is_dataclass(cls) else {}
        key, kind = known.get(part, (part, None))
        spelled.append(key)
        cls = _inner_class(kind)
    return ".".join(spelled)


def schema_of(cls: type[Any]) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a core dataclass."""
    definitions: dict[str, Any] = {}
    root = _schema(cls, None, definitions)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **root, "$defs": definitions}


Key = tuple[str, str, Any, Unit | None]
_KEYS: dict[Any, tuple[Key, ...]] = {}  # walked once for each class


def _keys(cls: Any) -> tuple[Key, ...]:
    """Return name, JSON key, type and unit of each field."""
    if cls not in _KEYS:
        _KEYS[cls] = _walk(cls)
    return _KEYS[cls]


def _walk(cls: Any) -> tuple[Key, ...]:
    hints = get_type_hints(cls, include_extras=True)
    rows = []
    for field in fields(cls):
        kind = hints[field.name]
        unit = _unit_in(kind)
        is_mapping = get_origin(_plain(kind)) is Mapping
        key = f"{field.name}_{unit.suffix}" if unit and not is_mapping else field.name
        rows.append((field.name, key, kind, unit))
    return tuple(rows)


def _unit_in(kind: Any) -> Unit | None:
    """Return the unit a type carries, inside an option, tuple or mapping."""
    if get_origin(kind) is Annotated:
        return next((extra for extra in kind.__metadata__ if isinstance(extra, Unit)), None)
    return next((unit for unit in map(_unit_in, get_args(kind)) if unit), None)


def _plain(kind: Any) -> Any:
    """Return a type without its option and annotation."""
    if get_origin(kind) is Annotated:
        return _plain(get_args(kind)[0])
    if get_origin(kind) in (Union, types.UnionType):
        return _plain(next(option for option in get_args(kind) if option is not type(None)))
    return kind


def _is_optional(kind: Any) -> bool:
    return get_origin(kind) in (Union, types.UnionType) and type(None) in get_args(kind)


def _inner_class(kind: Any) -> Any:
    kind = _plain(kind)
    return _plain(get_args(kind)[0]) if get_origin(kind) is tuple else kind


def _join(path: str, key: str) -> str:
    return f"{path}.{key}" if path else key


def _written(value: Any, unit: Unit | None) -> Any:
    if value is None:
        return None
    if isinstance(value, str):
        return str(value)
    if isinstance(value, int | float):
        return round(float(value) * unit.per_si, DECIMALS) if unit else value
    if isinstance(value, Mapping):
        suffix = f"_{unit.suffix}" if unit else ""
        return {f"{key}{suffix}": _written(item, unit) for key, item in value.items()}
    if isinstance(value, tuple):
        return [_written(item, unit) for item in value]
    return to_plain(value)


def _read(value: Any, kind: Any, unit: Unit | None, path: str) -> Any:
    if value is None:
        if _is_optional(kind):
            return None
        raise InputError(path, value, "must not be null")
    kind = _plain(kind)
    if is_dataclass(kind) and isinstance(kind, type):
        return from_plain(kind, value, path)
    if get_origin(kind) is tuple:
        return _read_tuple(value, kind, unit, path)
    if get_origin(kind) is Mapping:
        return _read_mapping(value, kind, unit, path)
    return _read_single(value, kind, unit, path)


def _read_tuple(value: Any, kind: Any, unit: Unit | None, path: str) -> tuple[Any, ...]:
    if not isinstance(value, list):
        raise InputError(path, value, "must be a list")
    inner = get_args(kind)
    repeats = len(inner) == 2 and inner[1] is Ellipsis
    if not repeats and len(value) != len(inner):
        raise InputError(path, value, f"must be a list of {len(inner)} numbers")
    kinds = [inner[0]] * len(value) if repeats else list(inner)
    return tuple(
        _read(item, kind, unit, f"{path}[{index}]") for index, (item, kind) in enumerate(zip(value, kinds, strict=True))
    )


def _read_mapping(value: Any, kind: Any, unit: Unit | None, path: str) -> dict[str, Any]:
    if not isinstance(value, Mapping):
        raise InputError(path, value, "must be an object")
    suffix = f"_{unit.suffix}" if unit else ""
    return {
        key.removesuffix(suffix): _read(item, get_args(kind)[1], unit, _join(path, key)) for key, item in value.items()
    }


def _read_single(value: Any, kind: Any, unit: Unit | None, path: str) -> Any:
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        try:
            return kind(value)
        except ValueError:
            raise InputError(path, value, f"must be one of {', '.join(kind)}") from None
    if kind is str:
        if isinstance(value, str):
            return value
        raise InputError(path, value, "must be text")
    if isinstance(value, bool) or not isinstance(value, int | float) or not _is_finite(value):
        raise InputError(path, value, "must be a finite number")
    if kind is int:
        if value != int(value):
            raise InputError(path, value, "must be a whole number")
        return int(value)
    return float(value) / unit.per_si if unit else float(value)


def _is_finite(value: float) -> bool:
    try:
        return math.isfinite(value)
    except OverflowError:  # an integer of hundreds of digits
        return False


def _schema(kind: Any, unit: Unit | None, definitions: dict[str, Any]) -> dict[str, Any]:
    if _is_optional(kind):
        return {"anyOf": [_schema(_plain(kind), unit, definitions), {"type": "null"}]}
    kind = _plain(kind)
    if is_dataclass(kind) and isinstance(kind, type):
        _define(kind, definitions)
        return {"$ref": f"#/$defs/{kind.__name__}"}
    if get_origin(kind) is tuple:
        inner = get_args(kind)
        items = _schema(inner[0], unit, definitions)
        fixed = {} if inner[-1] is Ellipsis else {"minItems": len(inner), "maxItems": len(inner)}
        return {"type": "array", "items": items, **fixed}
    if get_origin(kind) is Mapping:
        return {"type": "object", "additionalProperties": _schema(get_args(kind)[1], unit, definitions)}
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return {"type": "string", "enum": [str(member) for member in kind]}
    return {"type": {str: "string", int: "integer", float: "number"}[kind]}


def _define(cls: type[Any], definitions: dict[str, Any]) -> None:
    if cls.__name__ in definitions:
        return
    definitions[cls.__name__] = {}  # stands here while the class is walked, should it hold itself
    required = [
        key
        for (name, key, _, _), field in zip(_keys(cls), fields(cls), strict=True)
        if field.default is MISSING and field.default_factory is MISSING
    ]
    definitions[cls.__name__] = {
        "type": "object",
        "description": (cls.__doc__ or "").split("\n")[0],
        "properties": {key: _schema(kind, unit, definitions) for _, key, kind, unit in _keys(cls)},
        "required": required,
        "additionalProperties": False,
    }
