"""Places for new rows: a run of primary keys for each table, taken before the first row is written."""

from __future__ import annotations

from typing import Final

from django.db import connection
from django.db.models import Max, Model

from maintenance.wholefarm.errors import FarmFileError

TRIES: Final = 5


def reserve(model: type[Model], count: int) -> int:
    """Return the key before the first of ``count`` keys in a row that nobody else is given.

    Call it inside a transaction. On SQLite that transaction is the only writer; PostgreSQL's sequence hands out
    each number once, and where others took some in between it is asked again.
    """
    if not count:
        return 0
    table, column = model._meta.db_table, str(model._meta.pk.column)
    if connection.vendor != "postgresql":
        last = model._base_manager.aggregate(last=Max("pk"))["last"] or 0
        return max(int(last), _ever_given(table))
    with connection.cursor() as cursor:
        for _try in range(TRIES):
            cursor.execute(
                "SELECT min(one), max(one) FROM (SELECT nextval(pg_get_serial_sequence(%s, %s)) AS one"
                " FROM generate_series(1, %s)) AS taken",
                [f'"{table}"', column, count],
            )
            first, last = cursor.fetchone()
            if last - first == count - 1:
                return int(first) - 1
    raise FarmFileError("Too much is being written at this moment. Take the farm in when it is quiet.")


def _ever_given(table: str) -> int:
    """Return the highest key SQLite ever gave, also to a row that is gone."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT seq FROM sqlite_sequence WHERE name = %s", [table])
        row = cursor.fetchone()
    return int(row[0]) if row else 0
