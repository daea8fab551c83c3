"""What a database holds, as one digest for each table: two databases with the same digests hold the same rows."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.apps import apps
from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper

PASSING = {"django_session", "farm_loginsession"}  # who is logged in at the moment is nothing to keep


def tables(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the names of the tables of this program that a database has."""
    there = set(connection.introspection.table_names())
    ours = {model._meta.db_table for model in apps.get_models(include_auto_created=True)}
    return sorted((ours | {"django_migrations"}) & there - PASSING)


def digests(connection: BaseDatabaseWrapper) -> dict[str, dict[str, Any]]:
    """Return for each table how many rows it has, and a SHA-256 of them that does not depend on their order."""
    return {name: _digest(connection, name) for name in tables(connection)}


def stored_files(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the names of all files that rows of this database speak of."""
    return sorted(set(_file_names(connection)))


def migrations(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the changes of the tables that a database has seen, as ``app.name``."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT app, name FROM django_migrations ORDER BY app, name")
        return [f"{app}.{name}" for app, name in cursor.fetchall()]


def _digest(connection: BaseDatabaseWrapper, table: str) -> dict[str, Any]:
    quote = connection.ops.quote_name
    with connection.cursor() as cursor:
        columns = sorted(one.name for one in connection.introspection.get_table_description(cursor, table))
        cursor.execute(f"SELECT {', '.join(map(quote, columns))} FROM {quote(table)}")  # noqa: S608 - our own names
        count, total = 0, 0
        while rows := cursor.fetchmany(2000):
            for row in rows:
                plain = json.dumps([_plain(value) for value in row], ensure_ascii=True)
                total += int.from_bytes(hashlib.sha256(plain.encode()).digest(), "big")
            count += len(rows)
    return {"rows": count, "sha256": f"{total % 2**256:064x}"}


def _plain(value: Any) -> Any:
    if isinstance(value, (datetime, date, time, UUID)):
        return str(value)
    if isinstance(value, Decimal):
        return str(value.normalize())
    if isinstance(value, (bytes, memoryview)):
        return bytes(value).hex()
    return value


def _file_names(connection: BaseDatabaseWrapper) -> Iterator[str]:
    there, quote = set(tables(connection)), connection.ops.quote_name
    for model in apps.get_models():
        for field in model._meta.get_fields():
            if isinstance(field, models.FileField) and model._meta.db_table in there:
                with connection.cursor() as cursor:
                    column, table = quote(str(field.column)), quote(model._meta.db_table)
                    cursor.execute(f"SELECT {column} FROM {table}")  # noqa: S608 - our own names
                    yield from (name for (name,) in cursor.fetchall() if name)
