"""What a phone carries to work without a signal: the farm as one member reads it, small enough for a bad line."""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any, Final

from django.utils.text import capfirst
from django.utils.translation import get_language

from doors.models import Component, FailureMode, Material, StockMove
from farm.models import Farm, Membership, Tunnel
from maintenance.field.dangers import Danger, danger_json, dangers_of
from maintenance.field.places import doors_of, near_places, tunnel_place
from maintenance.field.stormpart import storm_of
from maintenance.hands.forms import REASONS
from maintenance.models import Job, Label, Routine
from maintenance.words.places import place_of_job
from maintenance.words.reasons import lateness
from maintenance.words.said import lines_in_units, person
from maintenance.work.jobcard import screw_spots
from maintenance.work.worklist import what_of

AHEAD: Final = timedelta(days=7)
MOST_JOBS: Final = 150
MOST_MATERIALS: Final = 200


def bundle_of(*, membership: Membership, farm: Farm, now: datetime) -> tuple[dict[str, Any], str]:
    """Return what a member's phone carries, and its version: the same while nothing in it changes.

    The words are in the active language; ``farm`` is in the member's units.
    """
    on = now.astimezone(farm.zone).date()
    user, dangers = membership.user, dangers_of(farm)
    labels = _labels(farm)
    doors = doors_of(farm, on, dangers, labels)
    content: dict[str, Any] = {
        "farm": {"slug": farm.slug, "name": farm.name, "units": farm.units, "language": farm.language,
                 "time_zone": farm.time_zone, "keeps_photo_data": farm.keeps_photo_data},
        "person": {"id": user.pk, "name": person(user), "role": membership.role, "language": get_language()},
        "tunnels": _tunnels(farm, dangers, labels), "doors": doors,
        "dangers": [danger_json(one) | {"place": one.place, "tunnel": one.repair.tunnel_id,
                                        "door": one.repair.opening_id} for one in dangers],
        "storm": storm_of(farm, user), "jobs": _jobs(farm, user.pk, on), "store": _store(farm),
        "modes": [{"key": key, "name": str(name)} for key, name in FailureMode.choices],
        "part_kinds": [{"key": key, "name": str(name)} for key, name in Component.Kind.choices],
        "reasons": [words.said() for words in REASONS.values()], "near_places": near_places(doors),
    }  # fmt: skip
    text = json.dumps(content, sort_keys=True, ensure_ascii=False)
    return content, hashlib.sha256(text.encode()).hexdigest()[:20]


def _labels(farm: Farm) -> dict[str, dict[int, list[str]]]:
    """Return the tokens of the labels that hang: by door, and by tunnel those of its end walls as well."""
    found: dict[str, dict[int, list[str]]] = {"door": defaultdict(list), "tunnel": defaultdict(list)}
    rows = Label.objects.filter(farm=farm, revoked_at=None).select_related("end_wall").order_by("pk")
    for label in rows:
        if label.opening_id:
            found["door"][label.opening_id].append(label.token)
        else:
            tunnel = label.tunnel_id or (label.end_wall.tunnel_id if label.end_wall else None)
            if tunnel:
                found["tunnel"][tunnel].append(label.token)
    return found


def _tunnels(farm: Farm, dangers: list[Danger], labels: dict[str, dict[int, list[str]]]) -> list[dict[str, Any]]:
    """Return the standing tunnels; a danger at an end wall or on the tunnel itself marks the tunnel."""
    marked = {one.repair.tunnel_id: danger_json(one) for one in reversed(dangers) if one.repair.opening_id is None}
    return [
        {"id": tunnel.pk, "code": tunnel.code, "name": tunnel.name, **tunnel_place(tunnel),
         "labels": labels["tunnel"].get(tunnel.pk, []), "danger": marked.get(tunnel.pk)}
        for tunnel in Tunnel.objects.of(farm).standing().for_list()
    ]  # fmt: skip


def _jobs(farm: Farm, user_id: int, on: date) -> list[dict[str, Any]]:
    """Return the work that is due within a week, latest first; the person's own is never cut off."""
    jobs = Job.objects.of(farm).undone().filter(until_on__lt=on + AHEAD).for_list().select_related("farm")
    found = sorted(jobs.order_by("until_on", "pk"), key=lambda job: (job.assigned_to_id != user_id, job.until_on))
    return [_job(job, user_id, farm.units, on) for job in found[:MOST_JOBS]]


def _job(job: Job, user_id: int, units: str, on: date) -> dict[str, Any]:
    routine = job.plan.routine
    repair = getattr(job, "repair", None)
    return {
        "id": job.pk, "title": what_of(job, units), "where": place_of_job(job), "door": job.plan.opening_id,
        "tunnel": job.plan.tunnel_id, "until": job.until_on.isoformat(), "late": lateness(job, on),
        "is_late": job.until_on < on, "checklist": lines_in_units(routine.checklist, units),
        "answer": routine.answer, "mine": job.assigned_to_id == user_id,
        "who": person(job.assigned_to) if job.assigned_to else "", "repair": repair.pk if repair else None,
        "minutes": routine.minutes * routine.crew if repair is None or repair.minutes is None else repair.minutes,
        "spots": screw_spots(job, None) if routine.answer == Routine.Answer.SCREWS else [],
        "waits": bool(getattr(job, "is_held", False)),
    }  # fmt: skip


def _store(farm: Farm) -> list[dict[str, Any]]:
    """Return what can be taken from the store, and how much is left."""
    balances = StockMove.objects.of(farm).balances()
    book = Material.objects.of(farm).in_book().order_by("kind", "name", "pk")
    return [
        {"id": one.pk, "name": capfirst(one.name), "left": f"{(balances.get(one.pk) or Decimal(0)).normalize():f}",
         "unit": str(one.get_price_per_display()) if one.price_per else ""}
        for one in book[:MOST_MATERIALS]
    ]  # fmt: skip
