"""How fast and how well a crew's work is planned: 60 tasks, 6 people; run it as a program, it prints a table.

Usage: python tests/bench/crew.py [runs]

Beside the time stand the harm left (weights of what is late or undone) and the way walked, of the plan by the rules
alone and of the plan written, for crews with time for all, for most and for half of the work.
"""

from __future__ import annotations

import random
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from maintenance.hands.crew import plan_work  # noqa: E402
from maintenance.storm.crew import Job, Person  # noqa: E402
from maintenance.storm.quantity import Interval  # noqa: E402

SLOW = 3  # exit status; a crash is 1
LIMIT = 2.0  # s
TASKS, PEOPLE = 60, 6
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
MINUTES = (2, 4, 5, 5, 6, 7, 7, 12, 40)


def main(runs: int = 5) -> int:
    """Time the plans and print the table; 3 if the slowest takes longer than it may."""
    slowest, worse = 0.0, 0
    print(f"{TASKS} tasks, {PEOPLE} people{'s':>18} {'harm by rules':>14} {'harm':>7} {'m by rules':>11} {'m':>7}")  # noqa: T201
    for hours in (1.0, 1.5, 8.0):
        for run in range(runs):
            jobs, crew = _case(run, hours)
            began = time.perf_counter()
            found = plan_work(jobs, crew, now=NOW)
            took = time.perf_counter() - began
            slowest = max(slowest, took)
            (harm_by_rules, by_rules), (harm, metres) = found.by_rules.cost, found.outcome.cost
            worse += found.outcome.cost > found.by_rules.cost
            print(  # noqa: T201
                f"{hours:>4} h, case {run:<4} {found.by:<12} {took:>8.2f} {harm_by_rules:>14.0f} {harm:>7.0f} "
                f"{by_rules:>11.0f} {metres:>7.0f}"
            )
    print(f"slowest {slowest:.2f} s, at most {LIMIT:.0f} s{'  TOO SLOW' if slowest > LIMIT else ''}")  # noqa: T201
    return SLOW if slowest > LIMIT or worse else 0


def _case(run: int, hours: float) -> tuple[list[Job], list[Person]]:
    """Return the same farm each time: twelve tunnels 12 m apart, doors at both ends."""
    dice = random.Random(run)  # noqa: S311 - no secret
    jobs = []
    for number in range(TASKS):
        windward, critical = number % 3 == 0, number % 8 == 0
        jobs.append(
            Job(
                code=f"task {number}", time=60.0 * dice.choice(MINUTES), people=2 if number % 15 == 0 else 1,
                weight={(True, True): 20.0, (True, False): 8.0, (False, True): 4.0}.get((windward, critical), 1.0),
                rank=(not (windward and critical), not windward, not critical),
                position=(12.0 * dice.randrange(12), dice.choice((0.0, 15.0, 30.0))),
            )
        )  # fmt: skip
    shift = Interval(NOW, NOW + timedelta(hours=hours))
    return jobs, [Person(code=f"person {number}", shifts=(shift,)) for number in range(PEOPLE)]


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
