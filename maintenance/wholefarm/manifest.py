"""The list of contents of a farm's file: ``datapackage.json``, with a schema and a checksum for each table."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any, Final

from django.contrib.auth.models import User
from django.db import models

from farm.models import Farm
from maintenance.wholefarm.tables import BY_MODEL, COLUMNS_LEFT_OUT, FORM, LEFT_OUT, Table

NAME: Final = "datapackage.json"
PLAN: Final = "plan.geojson"
README: Final = "README.txt"
KIND: Final = "gablekeep-farm"
# Types of Table Schema (specs.frictionlessdata.io), the most particular first.
TYPES: Final[tuple[tuple[type[models.Field[Any, Any]], str], ...]] = (
    (models.JSONField, "any"), (models.BooleanField, "boolean"), (models.DateTimeField, "datetime"),
    (models.DateField, "date"), (models.TimeField, "time"), (models.DecimalField, "number"),
    (models.FloatField, "number"), (models.ForeignKey, "integer"), (models.IntegerField, "integer"),
)  # fmt: skip


def table_path(table: Table) -> str:
    """Return where a table lies in the file."""
    return f"tables/{table.name}.csv"


def manifest(*, farm: Farm, resources: list[dict[str, Any]], missing: list[str], now: datetime) -> dict[str, Any]:
    """Return the list of contents; apart from ``made_at`` the same farm gives the same."""
    return {
        "name": farm.slug, "title": farm.name, "kind": KIND, "form": FORM,
        "made_at": now.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z"),
        "left_out": {model._meta.model_name: reason for model, reason in LEFT_OUT.items()},
        "columns_left_out": COLUMNS_LEFT_OUT,
        "missing": sorted(missing),
        "resources": resources,
    }  # fmt: skip


def resource(name: str, *, size: int, sha256: str, table: Table | None = None, rows: int = 0) -> dict[str, Any]:
    """Return the entry of one file."""
    entry: dict[str, Any] = {"path": name, "bytes": size, "hash": f"sha256:{sha256}"}
    if table is None:
        return entry
    return {
        "name": table.name, **entry, "format": "csv", "encoding": "utf-8", "rows": rows, "schema": schema(table),
    }  # fmt: skip


def schema(table: Table) -> dict[str, Any]:
    """Return the columns of a table, and which of them name rows of other tables."""
    fields = [{"name": "row", "type": "integer"}, *({"name": f.name, "type": _type(f)} for f in table.fields)]
    keys = [
        {"fields": f.name, "reference": {"resource": BY_MODEL[target(f)].name, "fields": key_of(target(f))}}
        for f in table.fields
        if target(f) is not None
    ]
    return {"fields": fields, "primaryKey": "row", "foreignKeys": keys}


def target(field: models.Field[Any, Any]) -> Any:
    """Return the model that a column names rows of, or None."""
    return field.related_model if field.is_relation else None


def key_of(model: type[models.Model]) -> str:
    """Return by which column the rows of a model are named: their number, or an id that was made on a phone."""
    return "row" if BY_MODEL[model].is_counted or model is User else "id"


def _type(field: models.Field[Any, Any]) -> str:
    if field.is_relation and key_of(target(field)) == "id":
        return "string"
    return next((name for kind, name in TYPES if isinstance(field, kind)), "string")
