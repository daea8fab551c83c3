"""Faults: log them, mend them for now or for good, and see which come back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any, Final

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import override

from doors.models import Component, FailureMode, Material
from farm.models import EndWall, Farm, Opening, Tunnel
from maintenance.models import Job, JobEvent, Plan, Repair, Routine, ScrewCheck
from maintenance.words.said import person
from maintenance.work.closing import REPAIR_KEY, Facts, WorkError, end_job, note_event, refuse_while_waiting, take_parts
from maintenance.work.repeating import MANY, Repeat, days_at, months_that_hold, part_family, repeats, spot_key
from maintenance.work.undoing import kept_of_repair

__all__ = ["Place", "Repeat", "log_fault", "mend", "mend_with_job", "record_screws", "reopen", "repeats"]

Place = Tunnel | EndWall | Opening | Component
ROUTINE: Final = "repair"
CRITICAL_DAYS: Final = 1  # a fault that cannot wait for the next wind is to be mended by the next day


@transaction.atomic
def log_fault(
    *, farm: Farm, place: Place | None, part: str, mode: str, found_on: date, by: User | None, now: datetime,
    spot: str = "", is_critical: bool = False, minutes: int | None = None, found_by: str = "", note: str = "",
) -> Repair:  # fmt: skip
    """Log a fault at a place, or on the farm as a whole, and open the job that mends it."""
    if found_on > now.astimezone(farm.zone).date():
        raise WorkError(_("%(day)s has not come yet. Write the day it was found.") % {"day": found_on.isoformat()})
    where = _columns(place)
    repair = Repair.objects.create(
        farm=farm, part=part, spot=" ".join(spot.split()), mode=mode, is_critical=is_critical, minutes=minutes,
        found_on=found_on, found_by=found_by or (person(by) if by else ""), note=note, logged_by=by, **where,
    )  # fmt: skip
    routine = _routine(farm)
    columns = {f"{name}_id": pk for name, pk in _ids(repair).items()}
    plan = Plan.objects.create(
        farm=farm, routine=routine, key=f"{REPAIR_KEY}{repair.pk}", counted_from=found_on, what=_what(repair), **columns
    )
    days = CRITICAL_DAYS if is_critical else routine.window_days
    failed = days_at(repair=repair, on=found_on)
    history = {"times": len(failed), "months": months_that_hold(failed[0], failed[-1])}
    repair.job = Job.objects.create(
        farm=farm, plan=plan, due_on=found_on, until_on=found_on + timedelta(days=days), opened_at=now,
        cause={"found_on": found_on.isoformat(), **history},
    )  # fmt: skip
    repair.save(update_fields=["job"])
    return repair


@transaction.atomic
def mend(
    *, repair: Repair, by: User | None, now: datetime, on: date, for_now: bool = False, mended_by: str = "",
    minutes: int | None = None, cause: str = "", note: str = "", parts: Sequence[tuple[Material, Decimal]] = (),
) -> None:  # fmt: skip
    """Mend a fault, for good or for now; its job ends with the first and stays open with the second."""
    if on > now.astimezone(repair.farm.zone).date():
        raise WorkError(_("%(day)s has not come yet. Write today or an earlier day.") % {"day": on.isoformat()})
    job = repair.job
    if job is None:
        _mend_alone(repair, by=by, on=on, for_now=for_now, mended_by=mended_by, minutes=minutes, cause=cause)
    elif for_now:
        _hold(repair, job, by=by, now=now, on=on, mended_by=mended_by, cause=cause, note=note, parts=parts)
    else:
        mend_with_job(
            repair=repair, job=job, by=by, now=now, on=on, minutes=minutes, ticks=(), note=note, parts=parts,
            mended_by=mended_by, cause=cause,
        )  # fmt: skip


def mend_with_job(
    *, repair: Repair, job: Job, by: User | None, now: datetime, on: date, minutes: int | None, ticks: Sequence[int],
    note: str, parts: Sequence[tuple[Material, Decimal]], mended_by: str = "", cause: str = "",
) -> None:  # fmt: skip
    """End a fault's job and the fault with it; the transaction is the caller's."""
    refuse_while_waiting(job)
    before = kept_of_repair(repair)
    moves, cost = take_parts(job, parts, by=by, on=on)
    facts: Facts = {"repair": before, "moves": moves}
    end_job(
        job, Job.State.DONE, by=by, now=now, on=on, note=note, facts=facts, minutes_spent=minutes, ticks=sorted(ticks)
    )
    _set(
        repair, Repair.State.DONE, on=on, mended_by=mended_by or person(by), minutes=minutes or repair.minutes,
        cost=repair.cost if cost is None else (repair.cost or 0) + cost, cause=cause or repair.cause,
    )  # fmt: skip


@transaction.atomic
def describe(*, repair: Repair, **columns: Any) -> None:
    """Change how a fault is described, its part, spot, mode, minutes or note; its job is called accordingly."""
    for name, value in columns.items():
        setattr(repair, name, value)
    repair.save(update_fields=list(columns))
    if repair.job_id:
        Plan.objects.filter(jobs=repair.job_id, key=f"{REPAIR_KEY}{repair.pk}").update(what=_what(repair))


@transaction.atomic
def reopen(*, repair: Repair, by: User | None, now: datetime, note: str = "") -> None:
    """Let a fault that held for now stand open again; one that was mended is taken back by its job."""
    if repair.state == Repair.State.OPEN:
        raise WorkError(_("This fault is open already."))
    if repair.state == Repair.State.DONE:
        raise WorkError(_("This fault was repaired. Where it came back, log it as a new one, so that it counts."))
    _claim(repair, [Repair.State.TEMPORARY], state=Repair.State.OPEN, mended_on=None, mended_by="")
    if repair.job:
        until = _hasten(repair, repair.job, now)
        facts = {"repair_state": "open", "until_on": until.isoformat()}
        note_event(repair.job, JobEvent.Kind.MOVED, by=by, now=now, note=note, facts=facts)


def _hasten(repair: Repair, job: Job, now: datetime) -> date:
    """Give a job no longer than a fault found today would have; while it held, it could wait."""
    today = now.astimezone(repair.farm.zone).date()
    days = CRITICAL_DAYS if repair.is_critical else job.plan.routine.window_days
    until = max(job.due_on, min(job.until_on, today + timedelta(days=days)))
    Job.objects.undone().filter(pk=job.pk).update(until_on=until)
    return until


def record_screws(
    *, job: Job, outcomes: Sequence[tuple[str, str]], by: User | None, now: datetime, on: date
) -> tuple[list[int], list[int]]:
    """Write down what each screw did, and log those that spun or are missing; return the checks and new faults."""
    opening = job.plan.opening
    if opening is None:
        raise WorkError(_("Screws are checked at an opening, and this job is at none. Finish it with a note."))
    if not outcomes:
        raise WorkError(_("Say of each screw what it did: tight, turned, spun or missing."))
    found: list[int] = []
    checks = []
    for spot, outcome in outcomes:
        repair = _fault_of(job, opening, spot, outcome, by, now, on, found)
        checks.append(ScrewCheck.objects.create(
            farm=job.farm, opening=opening, job=job, spot=" ".join(spot.split()), outcome=outcome, on=on, by=by,
            repair=repair,
        ).pk)  # fmt: skip
    return checks, found


def _fault_of(
    job: Job, opening: Opening, spot: str, outcome: str, by: User | None, now: datetime, on: date, found: list[int]
) -> Repair | None:
    """Return the fault that a screw's outcome is, logged anew unless it stands already."""
    if outcome not in (ScrewCheck.Outcome.SPUN, ScrewCheck.Outcome.MISSING):
        return None
    for standing in Repair.objects.of(job.farm).unmended().filter(opening=opening):
        if _same_screw(standing, spot):
            return standing
    repair = log_fault(
        farm=job.farm, place=opening, part=Component.Kind.CLAMP_SCREW, spot=spot, by=by, now=now, found_on=on,
        mode=FailureMode.SPUN if outcome == ScrewCheck.Outcome.SPUN else FailureMode.MISSING,
        is_critical=_is_third(job.farm, opening, spot, on),
    )  # fmt: skip
    found.append(repair.pk)
    return repair


def _is_third(farm: Farm, opening: Opening, spot: str, on: date) -> bool:
    """Tell whether a screw that fails now has failed twice before: the wood no longer holds it in a wind."""
    probe = Repair(farm=farm, opening=opening, part=Component.Kind.CLAMP_SCREW, spot=spot, found_on=on)
    return len(days_at(repair=probe, on=on)) >= MANY - 1


def _same_screw(repair: Repair, spot: str) -> bool:
    return part_family(repair.part) == Component.Kind.CLAMP and spot_key(repair.spot) == spot_key(spot)


def _hold(
    repair: Repair, job: Job, *, by: User | None, now: datetime, on: date, mended_by: str, cause: str, note: str,
    parts: Sequence[tuple[Material, Decimal]],
) -> None:  # fmt: skip
    """Let a fault hold for now: its job stays, with the window of one that can wait."""
    before, until_before = kept_of_repair(repair), job.until_on
    moves, cost = take_parts(job, parts, by=by, on=on)
    _set(
        repair, Repair.State.TEMPORARY, on=on, mended_by=mended_by or person(by), cause=cause or repair.cause,
        cost=repair.cost if cost is None else (repair.cost or 0) + cost,
    )  # fmt: skip
    until = max(job.until_on, on + timedelta(days=job.plan.routine.window_days))
    Job.objects.undone().filter(pk=job.pk).update(until_on=until)
    facts = {
        "repair_state": "temporary", "moves": moves, "until_on": until.isoformat(), "repair": before,
        "until_before": until_before.isoformat(),
    }  # fmt: skip
    note_event(job, JobEvent.Kind.MOVED, by=by, now=now, note=note, facts=facts)


def _mend_alone(repair: Repair, *, by: User | None, on: date, for_now: bool, mended_by: str, **columns: Any) -> None:
    """Mend a fault whose job is gone."""
    state = Repair.State.TEMPORARY if for_now else Repair.State.DONE
    _set(repair, state, on=on, mended_by=mended_by or person(by), **columns)


def _set(repair: Repair, state: Repair.State, *, on: date, **columns: Any) -> None:
    if on < repair.found_on:
        days = {"mended": on.isoformat(), "found": repair.found_on.isoformat()}
        raise WorkError(_("Repaired on %(mended)s is before it was found, on %(found)s.") % days)
    _claim(repair, [Repair.State.OPEN, Repair.State.TEMPORARY], state=state, mended_on=on, **columns)


def _claim(repair: Repair, states: list[Repair.State], **columns: Any) -> None:
    if not Repair.objects.filter(pk=repair.pk, state__in=states).update(**columns):
        now = Repair.objects.get(pk=repair.pk)
        words = {"who": now.mended_by or _("somebody"), "day": now.mended_on and now.mended_on.isoformat()}
        raise WorkError(_("%(who)s repaired this on %(day)s already. Nothing was changed.") % words)
    for name, value in columns.items():
        setattr(repair, name, value)


def _columns(place: Place | None) -> dict[str, Any]:
    """Return the columns of a fault that say where it is; the tunnel is always among them."""
    match place:
        case Tunnel():
            return {"tunnel": place}
        case EndWall():
            return {"tunnel": place.tunnel, "end_wall": place}
        case Opening():
            return {"tunnel": place.end_wall.tunnel, "opening": place}
        case Component():
            return {**_columns(place.opening or place.end_wall or place.tunnel), "component": place}
    return {}


def _ids(repair: Repair) -> dict[str, int | None]:
    return {name: getattr(repair, f"{name}_id") for name in ("tunnel", "end_wall", "opening", "component")}


def _what(repair: Repair) -> str:
    """Return a fault as its plan's name, in the farm's own language: a row is read by many."""
    with override(repair.farm.language):
        head = ", ".join(filter(None, (str(repair.get_part_display()), repair.spot)))
        return f"{head}: {repair.get_mode_display()}"[:200]


def _routine(farm: Farm) -> Routine:
    """Return the farm's routine for repairs; a farm that has not taken the trade's routines gets a plain one."""
    routine, _made = Routine.objects.get_or_create(
        farm=farm, code=ROUTINE,
        defaults={
            "name": {"en": "Repair", "es": "Reparar"}, "rhythm": Routine.Rhythm.EVENT, "target": Routine.Target.FARM,
            "trigger": Routine.Trigger.CONDITION, "window_days": 14, "minutes": 30,
        },
    )  # fmt: skip
    return routine
