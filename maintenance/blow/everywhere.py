"""All farms in one go, in this process; the workers do the same in pieces."""

from __future__ import annotations

from datetime import datetime

from maintenance.blow.sweep import chunks, sweep
from maintenance.blow.waiting import work_waiting


def assess_farms(*, now: datetime) -> int:
    """Look at all farms, work out those that ask for it, and return how many have a storm."""
    for farms in chunks():
        sweep(farms=farms, now=now)
    return work_waiting(clock=lambda: now)
