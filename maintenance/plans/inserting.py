"""Rows made by the database from a query, without passing through this program."""

from __future__ import annotations

from collections.abc import Sequence
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
