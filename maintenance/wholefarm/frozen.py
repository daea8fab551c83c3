"""A connection of its own on which a farm stands still while it is read, and others go on writing."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connection, connections, transaction
from psycopg import IsolationLevel


@contextmanager
def standing_still() -> Iterator[str]:
    """Give the name of a connection inside one reading transaction; no writer waits for it.

    Inside a transaction of the caller's that one is taken: it may hold rows that no other connection sees.
    """
    if connection.in_atomic_block:
        yield DEFAULT_DB_ALIAS
        return
    alias = f"still-{uuid.uuid4().hex}"
    kept: dict[str, Any] = {**connection.settings_dict}
    if connection.vendor == "sqlite":  # a transaction that begins as a reader sees what stood at its first look
        kept["OPTIONS"] = {name: value for name, value in kept["OPTIONS"].items() if name != "transaction_mode"}
    else:
        kept["OPTIONS"] = {**kept["OPTIONS"], "isolation_level": IsolationLevel.REPEATABLE_READ}
    connections.databases[alias] = kept
    try:
        with transaction.atomic(using=alias):
            yield alias
    finally:
        connections[alias].close()
        del connections[alias], connections.databases[alias]
