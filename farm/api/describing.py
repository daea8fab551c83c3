"""The OpenAPI 3.1 description: what the library finds out, with what every route of ours has in common."""

from __future__ import annotations

import copy
from functools import cache
from typing import Any, Final

from farm.api.problems import KINDS, MEDIA_TYPE
from farm.api.root import api

ALWAYS: Final = (400, 401, 403, 404, 405, 413, 422, 429, 500)
FARM: Final[dict[str, Any]] = {
    "in": "path", "name": "farm", "required": True, "description": "The farm's name in addresses, as /farms shows it.",
    "schema": {"type": "string", "pattern": "^[-a-zA-Z0-9_]+$", "maxLength": 60},
}  # fmt: skip
PROBLEM: Final[dict[str, Any]] = {
    "type": "object", "required": ["type", "title", "status", "detail"],
    "description": "An error (RFC 9457). The detail is a sentence that says what to do.",
    "properties": {
        "type": {"type": "string", "format": "uri"}, "title": {"type": "string"}, "status": {"type": "integer"},
        "detail": {"type": "string"},
        "errors": {
            "type": "array",
            "items": {
                "type": "object", "required": ["detail"],
                "properties": {
                    "detail": {"type": "string"}, "parameter": {"type": "string"},
                    "pointer": {"type": "string", "description": "A JSON pointer (RFC 6901) into the body."},
                },
            },
        },
    },
}  # fmt: skip


@cache
def description() -> dict[str, Any]:
    """Return the description of the whole API."""
    found: dict[str, Any] = copy.deepcopy(dict(api.get_openapi_schema(path_prefix="api/v1/")))
    schemas = found["components"]["schemas"]
    schemas["Problem"] = PROBLEM
    for path, methods in found["paths"].items():
        methods.pop("head", None)  # every GET has one; it says no more
        for operation in methods.values():
            _complete(operation, path, schemas)
    found["components"]["securitySchemes"]["ApiBearer"] = {
        "type": "http", "scheme": "bearer", "description": "A key from the page “API keys”.",
    }  # fmt: skip
    return found


def _complete(operation: dict[str, Any], path: str, schemas: dict[str, Any]) -> None:
    """Add to one operation what the library does not know of."""
    schemas.update(operation.pop("x-schemas", {}))
    extra = operation.pop("x-answers", [])
    if "{farm}" in path:
        operation["parameters"] = [FARM, *(each for each in operation["parameters"] if each["name"] != "farm")]
    content = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
    for status in sorted({*ALWAYS, *extra} - {304}):
        titles = dict.fromkeys(str(kind.title) for kind in KINDS.values() if kind.status == status)
        operation["responses"][str(status)] = {"description": "; ".join(titles), "content": content}
    if 304 in extra:
        operation["responses"]["304"] = {"description": "It still stands as you hold it"}
    operation["responses"] = {str(status): answer for status, answer in operation["responses"].items()}
