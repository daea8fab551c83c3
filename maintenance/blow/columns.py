"""Columns of many rows as arrays, without an object for each row."""

from __future__ import annotations

from itertools import chain
from typing import Any, Final

import numpy as np
from django.db import connections
from django.db.models import FloatField, Model, QuerySet
from numpy.typing import NDArray

from maintenance.storm.fleet import Floats

HEAD, TAIL, SIZE = 19, 2, 8  # bytes of PostgreSQL's binary copy: its head, its end, one number
BAD: Final = "The server sent {} bytes, which are no rows of {} numbers."


def read_columns(rows: QuerySet[Any], *names: str) -> list[Floats]:
    """Return columns of 64-bit numbers, none of them null, as floats: exact for ids up to 2⁵³."""
    connection = connections[rows.db]
    chosen = rows.values_list(*names)
    if connection.vendor == "postgresql":
        sql, params = chosen.query.sql_with_params()
        with (
            connection.cursor() as cursor,
            _own(cursor).copy(f"COPY ({sql}) TO STDOUT (FORMAT BINARY)", params) as copy,
        ):
            table = _unpacked(b"".join(copy), rows.model, names)
        return [table[name].astype(np.float64) for name in names]
    flat = np.fromiter(chain.from_iterable(chosen.iterator(chunk_size=10_000)), dtype=np.float64)
    return list(flat.reshape(-1, len(names)).T)


def _own(cursor: Any) -> Any:
    """Return the driver's cursor: Django's around it takes no parameters for a copy."""
    return cursor.cursor


def _unpacked(data: bytes, model: type[Model], names: tuple[str, ...]) -> NDArray[Any]:
    """Return rows of the binary copy: each is a count of columns, and for each column its length and its number."""
    fields = [("count", ">i2")]
    for name in names:
        kind = ">f8" if isinstance(model._meta.get_field(name), FloatField) else ">i8"
        fields += [(f"{name} length", ">i4"), (name, kind)]
    shape = np.dtype(fields)
    length = len(data) - HEAD - TAIL
    if length < 0 or length % shape.itemsize:
        raise ValueError(BAD.format(len(data), len(names)))
    table = np.frombuffer(data, dtype=shape, count=length // shape.itemsize, offset=HEAD)
    if any((table[f"{name} length"] != SIZE).any() for name in names):
        raise ValueError(BAD.format(len(data), len(names)))
    return table
