"""The demo farm's past: jobs are opened as the nights would have, and its crew does most of them in time."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from typing import Final

from django.contrib.auth.models import User
from django.db.models import Max

from farm.models import Farm
from maintenance.demo.rows import LEFT_UNDONE, NEVER_BY_THEMSELVES
from maintenance.models import Job, JobEvent, Plan, Routine, Turn
from maintenance.plans.counting import count_up
from maintenance.plans.laying import lay_plans
from maintenance.plans.nightly import open_due_jobs
from maintenance.plans.turns import set_turns

STOPS: Final = (420, 325, 245, 150, 75, 31, 9)  # days before the load at which the plans were laid
AFTERNOON: Final = time(15)
SPREAD: Final = 5  # days after it fell due on which the crew gets round to a job, by turns
STRIDE: Final = 7  # days between two of the same kind
Trigger = Routine.Trigger
COUNTED: Final = (Trigger.STORMS, Trigger.CYCLES, Trigger.GUST)


def live_through(*, farm: Farm, on: date, crew: Sequence[User]) -> None:
    """Open and do a year's jobs, up to a few days before a day."""
    for days in STOPS:
        day = on - timedelta(days=days)
        now = datetime.combine(day, AFTERNOON, farm.zone)
        lay_plans(farm=farm, on=day)
        _move_on_what_comes_round(farm, day)
        count_up(farm=farm, on=day)
        open_due_jobs(now=now, farm=farm)
        _do(farm, day, crew)


def _move_on_what_comes_round(farm: Farm, day: date) -> None:
    """Let checks that come so many days after the last have been done all along, not all on the same day."""
    late = (
        Turn.objects.of(farm)
        .filter(plan__routine__trigger=Trigger.DONE, due_on__lt=day)
        .select_related("plan__routine")
    )
    turns = []
    for number, turn in enumerate(late):
        every = turn.plan.routine.after_days or 1
        turn.due_on = day + timedelta(days=STRIDE * number % every - SPREAD)
        turn.until_on = turn.due_on + timedelta(days=turn.plan.routine.window_days)
        turn.cause = {"done_on": (turn.due_on - timedelta(days=every)).isoformat()}
        turns.append(turn)
    set_turns(turns)


def _do(farm: Farm, day: date, crew: Sequence[User]) -> None:
    """End the jobs that are due by a day, but for those nobody got round to, and note who did them when."""
    jobs = (
        Job.objects.of(farm).filter(state__in=("open", "lapsed")).exclude(plan__routine__code__in=NEVER_BY_THEMSELVES)
    )
    jobs = jobs.filter(due_on__lte=day - timedelta(days=SPREAD)).select_related("plan__routine", "plan__tunnel")
    done = []
    for number, job in enumerate(jobs.order_by("pk")):
        routine, tunnel = job.plan.routine, job.plan.tunnel
        if tunnel is not None and tunnel.code in LEFT_UNDONE.get(routine.code, ()):
            continue
        job.state, job.ended_on = Job.State.DONE, job.due_on + timedelta(days=number % SPREAD)
        job.assigned_to = crew[number % len(crew)]
        job.minutes_spent = max(1, round(routine.minutes * routine.crew * (0.8 + 0.1 * (number % 5))))
        done.append(job)
    Job.objects.bulk_update(done, ["state", "ended_on", "assigned_to", "minutes_spent"])
    JobEvent.objects.bulk_create(_events(farm, done))
    counted = [job.plan_id for job in done if job.plan.routine.trigger in COUNTED]
    Plan.objects.filter(pk__in=counted).update(counted_from=day)
    _expect_next(farm)


def _events(farm: Farm, jobs: Sequence[Job]) -> list[JobEvent]:
    return [
        JobEvent(
            job=job, kind=JobEvent.Kind.DONE, by=job.assigned_to,
            at=datetime.combine(job.ended_on or job.due_on, AFTERNOON, farm.zone),
        )
        for job in jobs
    ]  # fmt: skip


def _expect_next(farm: Farm) -> None:
    """Set the next turn of what comes so many days after it was last done."""
    waiting = Job.objects.of(farm).filter(plan__routine__trigger=Trigger.DONE, plan__turn=None, plan__ended_on=None)
    last = waiting.exclude(plan__jobs__state__in=("open", "started")).order_by().values("plan", "plan__routine")
    rules = {routine.pk: routine for routine in Routine.objects.of(farm).filter(trigger=Trigger.DONE)}
    turns = []
    for row in last.annotate(ended_on=Max("ended_on")):
        routine = rules[row["plan__routine"]]
        due_on = row["ended_on"] + timedelta(days=routine.after_days or 1)
        until_on, cause = due_on + timedelta(days=routine.window_days), {"done_on": row["ended_on"].isoformat()}
        turns.append(Turn(plan_id=row["plan"], due_on=due_on, until_on=until_on, cause=cause))
    set_turns(turns)
