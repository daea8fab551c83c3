"""One person, one job after the other, each with a due time: two classic schedules.

Jobs are a duration and a due time, both in seconds from the start.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from typing import NamedTuple

from maintenance.storm.quantity import check_number


class Due(NamedTuple):
    """A job's duration and due time. [s]"""

    time: float
    due: float


def by_due_date(jobs: Sequence[Due]) -> tuple[int, ...]:
    """Return the indices of jobs by due time: no other order has a smaller greatest lateness.

    References
    ----------
    Jackson, Scheduling a production line to minimize maximum tardiness, UCLA (1955), from memory.
    """
    _check(jobs)
    return tuple(sorted(range(len(jobs)), key=lambda index: jobs[index].due))


def greatest_lateness(jobs: Sequence[Due], order: Sequence[int]) -> float:
    """Return by how much the latest job of an order passes its due time; below zero all are early. [s]"""
    finished, latest = 0.0, float("-inf")
    for index in order:
        finished += jobs[index].time
        latest = max(latest, finished - jobs[index].due)
    return latest


def most_on_time(jobs: Sequence[Due]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return the indices of jobs to do in time, in order, and of those given up: as few as can be.

    Notes
    -----
    By due time; whenever a job would be late, the longest so far is given up.

    References
    ----------
    Moore, An n job, one machine sequencing algorithm for minimizing the number of late jobs, Management Science 15
    (1968), 102, with Hodgson's simplification, from memory.
    """
    order = by_due_date(jobs)
    kept: list[tuple[float, int]] = []  # heap, longest first
    finished, given_up = 0.0, set()
    for index in order:
        heapq.heappush(kept, (-jobs[index].time, index))
        finished += jobs[index].time
        if finished > jobs[index].due:
            longest, out = heapq.heappop(kept)
            finished += longest
            given_up.add(out)
    return tuple(i for i in order if i not in given_up), tuple(i for i in order if i in given_up)


def _check(jobs: Sequence[Due]) -> None:
    for job in jobs:
        check_number("job.time", job.time, least=0.0)
        check_number("job.due", job.due)
