"""What to look at after a storm, most urgent first, and what was found."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from typing import Any, Final

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from doors.models import FailureCause
from farm.models import Farm, Opening, Tunnel
from maintenance.aftermath.gusts import Gust, day_of, gust_of
from maintenance.aftermath.learning import observe
from maintenance.models import Repair, Storm, StormFinding, StormTask, TunnelFactor
from maintenance.plans import winds
from maintenance.plans.places import FILM_DOORS
from maintenance.storm.after import Inspection, Suffered, inspections
from maintenance.work.closing import WorkError
from maintenance.work.faults import log_fault

Outcome = StormFinding.Outcome
LOOKED_AT: Final = (Storm.State.OVER, Storm.State.CLOSED)


def open_findings(*, storm: Storm, now: datetime) -> int:
    """Write the list of what to look at after a storm, or its order anew; what was looked at stays as it is."""
    if storm.state != Storm.State.OVER:
        return 0
    with transaction.atomic():
        ranked = _ranked(storm)
        StormFinding.objects.bulk_create((row for row in ranked if row.pk is None), ignore_conflicts=True)
        StormFinding.objects.bulk_update([row for row in ranked if row.pk], ["rank", "facts"])
    return len(ranked)


def open_all_findings(*, now: datetime) -> None:
    """Write the lists of all storms that are over and have none yet."""
    for storm in Storm.objects.filter(state=Storm.State.OVER, findings=None).select_related("farm").order_by("pk"):
        open_findings(storm=storm, now=now)


def record_actual(*, storm: Storm, gust_m_s: Decimal, source: str, now: datetime, note: str = "") -> None:
    """Keep the highest gust that came: it opens the rounds after such a gust, and orders the list anew."""
    on = min(day_of(storm.peak_at, storm.farm), day_of(now, storm.farm))
    winds.record_gust(farm=storm.farm, on=on, gust_m_s=gust_m_s, source=source, now=now, note=note)
    storm.actual_gust_m_s = gust_m_s
    storm.save(update_fields=["actual_gust_m_s"])
    open_findings(storm=storm, now=now)


@transaction.atomic
def find_sound(
    *, finding: StormFinding, by: User | None, now: datetime, gust_seen_m_s: Decimal | None = None, note: str = ""
) -> None:
    """Note that a place was looked at and is sound."""
    _settle(finding, Outcome.SOUND, by=by, now=now, gust_seen_m_s=gust_seen_m_s, note=note)


@transaction.atomic
def find_damaged(
    *, finding: StormFinding, by: User | None, now: datetime, part: str, mode: str, spot: str = "",
    is_critical: bool = False, minutes: int | None = None, cost: Decimal | None = None,
    gust_seen_m_s: Decimal | None = None, note: str = "",
) -> Repair:  # fmt: skip
    """Log what the storm broke at a place as a fault, with the job that mends it."""
    storm = finding.storm
    repair = log_fault(
        farm=storm.farm, place=finding.opening or finding.tunnel, part=part, spot=spot, mode=mode,
        is_critical=is_critical, minutes=minutes, found_on=day_of(now, storm.farm), by=by, now=now, note=note,
    )  # fmt: skip
    repair.cause, repair.cost = FailureCause.WIND, cost
    repair.save(update_fields=["cause", "cost"])
    _settle(finding, Outcome.DAMAGED, by=by, now=now, gust_seen_m_s=gust_seen_m_s, note=note, repair=repair)
    return repair


def look_again(*, finding: StormFinding) -> None:
    """Take back what was found at a place; a fault that was logged stays, for it has a job."""
    if not StormFinding.objects.filter(pk=finding.pk, storm__state=Storm.State.OVER).update(
        outcome="", by=None, at=None, repair=None
    ):
        raise WorkError(_("This storm is closed. Its findings stay as they are."))


@transaction.atomic
def close_storm(*, storm: Storm, now: datetime, note: str, cost: Decimal | None) -> None:
    """Close a storm with what was learnt and what it cost; every place must have been looked at."""
    left = storm.findings.filter(outcome="").count()
    if left:
        raise WorkError(_("%(count)s places were not looked at yet. Look at them first.") % {"count": left})
    closed = Storm.objects.filter(pk=storm.pk, state=Storm.State.OVER).update(
        state=Storm.State.CLOSED, closed_at=now, note=note, cost=cost
    )
    if not closed:
        raise WorkError(_("This storm is not over, or somebody closed it already. Nothing was changed."))


def _settle(finding: StormFinding, outcome: Outcome, *, by: User | None, now: datetime, **columns: Any) -> None:
    """Write an outcome into a finding that has none; two people at one door cannot both win."""
    free = StormFinding.objects.filter(pk=finding.pk, outcome="", storm__state=Storm.State.OVER)
    if not free.update(outcome=outcome, by=by, at=now, **columns):
        raise WorkError(_("Somebody looked at this place already, or the storm is closed. Nothing was changed."))
    for name, value in columns.items():
        setattr(finding, name, value)
    if finding.gust_seen_m_s is not None:
        observe(finding=finding, now=now)


# The order ------------------------------------------------------------------------


def _ranked(storm: Storm) -> list[StormFinding]:
    """Return the findings of a storm in their order, new ones not yet saved."""
    rows = {_key(row): row for row in storm.findings.all()}
    gust, places = gust_of(storm), _places(storm.farm)
    suffered = dict(_suffered(storm, gust, places))
    found = []
    for rank, inspection in enumerate(inspections(suffered.values()), 1):
        tunnel, opening = places[inspection.place]
        row = rows.get(inspection.place) or StormFinding(storm=storm, tunnel=tunnel, opening=opening)
        row.rank = rank
        row.facts = _facts(inspection, suffered[inspection.place], gust)
        found.append(row)
    return found


def _key(row: StormFinding) -> str:
    return f"door-{row.opening_id}" if row.opening_id else f"tunnel-{row.tunnel_id}"


def _places(farm: Farm) -> dict[str, tuple[Tunnel, Opening | None]]:
    """Return the tunnels that stand and their film doors, by key."""
    tunnels = {tunnel.pk: tunnel for tunnel in Tunnel.objects.of(farm).filter(status="in_use").order_by("code")}
    doors = (
        Opening.objects.of(farm).with_place().filter(kind__in=FILM_DOORS, retired_on=None, end_wall__tunnel__in=tunnels)
    )
    found: dict[str, tuple[Tunnel, Opening | None]] = {f"tunnel-{pk}": (row, None) for pk, row in tunnels.items()}
    return found | {f"door-{door.pk}": (tunnels[door.end_wall.tunnel_id], door) for door in doors.order_by("code")}


def _suffered(
    storm: Storm, gust: Gust, places: dict[str, tuple[Tunnel, Opening | None]]
) -> Iterator[tuple[str, Suffered]]:
    """Yield what each place went through: the gust at its tunnel, the limit it was known to stand, how it was left."""
    pictures = {one.get("pk"): one for one in storm.facts.get("tunnels", ())}
    learnt = dict(TunnelFactor.objects.filter(tunnel__farm=storm.farm_id).values_list("tunnel_id", "factor"))
    broken, left_open = _broken_before(storm), _left_open(storm)
    for key, (tunnel, opening) in places.items():
        picture = pictures.get(tunnel.pk, {})
        factor = picture.get("factor") or learnt.get(tunnel.pk) or 1
        weakest = picture.get("weakest")
        yield key, Suffered(
            place=key, gust=float(gust.speed) * float(factor), limit=float(weakest[1]) if weakest else None,
            was_open=key in left_open or (opening is None and f"side-{tunnel.pk}" in left_open),
            was_damaged=key in broken,
        )  # fmt: skip


def _broken_before(storm: Storm) -> set[str]:
    """Return the places that went into a storm with a fault that could not wait."""
    begins = day_of(storm.begins_at, storm.farm)
    standing = Q(mended_on=None) | Q(mended_on__gt=begins)
    ours = storm.findings.exclude(repair=None).values("repair")  # found the same day, and no older for it
    rows = Repair.objects.of(storm.farm).filter(standing, is_critical=True, found_on__lte=begins).exclude(pk__in=ours)
    return {
        f"door-{opening}" if opening else f"tunnel-{tunnel}"
        for opening, tunnel in rows.values_list("opening_id", "tunnel_id")
    }


def _left_open(storm: Storm) -> set[str]:
    """Return the doors and sides that were to be shut and of which nobody said that they are."""
    rows = storm.tasks.exclude(state=StormTask.State.DONE)
    doors = rows.filter(opening__isnull=False).exclude(kind=StormTask.Kind.REPAIR).values_list("opening_id", flat=True)
    sides = rows.filter(kind=StormTask.Kind.SIDE).values_list("tunnel_id", flat=True)
    return {f"door-{pk}" for pk in doors} | {f"side-{pk}" for pk in sides}


def _facts(inspection: Inspection, suffered: Suffered, gust: Gust) -> dict[str, Any]:
    return {
        "gust": suffered.gust, "limit": suffered.limit, "ratio": inspection.ratio, "is_forecast": gust.is_forecast,
        "reasons": [fact.key for fact in inspection.reasons],
    }  # fmt: skip
