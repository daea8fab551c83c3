"""Rows that the database makes and changes by itself, without passing them through this program."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any, cast

from django.db import connection, models
from django.db.models import QuerySet


def insert_selected(model: type[models.Model], fields: Sequence[str], rows: QuerySet[Any, Any]) -> int:
    """Insert what a query selects into a table; rows that stand there already are left as they are.

    Parameters
    ----------
    model : type of Model
        Whose table.
    fields : sequence of str
        Names of its fields, in the order of the query's columns.
    rows : QuerySet
        A ``values_list`` with a condition: SQLite needs one before ON CONFLICT.

    Returns
    -------
    int
        How many rows were inserted.
    """
    sql, params = rows.query.sql_with_params()
    quote = connection.ops.quote_name
    named = (cast("models.Field[Any, Any]", model._meta.get_field(name)) for name in fields)
    columns = ", ".join(quote(str(field.column)) for field in named)
    with connection.cursor() as cursor:
        # Names and query come from our own models, never from outside.
        cursor.execute(f"INSERT INTO {quote(model._meta.db_table)} ({columns}) {sql} ON CONFLICT DO NOTHING", params)
        return int(cursor.rowcount)


@contextmanager
def read_once() -> Iterator[None]:
    """Let PostgreSQL read each table once for a statement, and not look up row after row; within a transaction.

    Its statistics know nothing of the rows that this transaction has inserted. Where a crashed run has left the table
    empty, it expects none, and would compare each row with every other.
    """
    if connection.vendor != "postgresql":
        yield
        return
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL enable_nestloop = off")
        yield
        cursor.execute("SET LOCAL enable_nestloop = on")
