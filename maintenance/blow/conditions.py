"""A farm's tunnels as they stand today: what moves their levels, and what has to be done before a storm.

Whatever the number of tunnels, the number of queries is the same.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from django.db.models import Max

from doors.mechanics.wind_data import FASTEST_GUST
from doors.models import Component, Door
from doors.wind.inputs import DAYS_PER_YEAR
from farm.models import Farm, Opening, Tunnel
from maintenance.ages.ageing import FILMS
from maintenance.blow.closing import work_at
from maintenance.blow.limits import DoorLimit, any_unknown, counted, door_limits
from maintenance.blow.rules import FarmRules
from maintenance.models import Job, Repair, TunnelFactor, Turn
from maintenance.plans.places import FILM_DOORS
from maintenance.storm.condition import Condition, Posture
from maintenance.storm.local import Place, Shelter, Standing, local_factor
from maintenance.storm.quantity import DAY
from maintenance.storm.work import Structure

FIRST_CHECKS: Final = ("clamp-screws-first", "channel-screws-first")
AUTUMN_ROUNDS: Final = ("frame-autumn", "door-autumn")
ROOF_LIFE: Final = "roof-film-age"
ROUND_HOLDS: Final = timedelta(days=270)  # an autumn round is good until the next summer; common practice, no source


@dataclass(frozen=True, slots=True)
class Standings:
    """One tunnel before a storm.

    Attributes
    ----------
    condition : Condition
        What moves its levels.
    factor : float
        Gust at it over the gust forecast. [-]
    weakest : DoorLimit or None
        Its weakest shut door, where that can be told.
    work : Structure
        What there is to do at it.
    openings, repairs : tuple
        Its doors, and its open faults.
    limits : dict of int to float
        The gust each door stands that counts, by opening. [m/s]
    """

    tunnel: Tunnel
    condition: Condition
    factor: float
    weakest: DoorLimit | None
    work: Structure
    openings: tuple[Opening, ...]
    repairs: tuple[Repair, ...]
    limits: dict[int, float]


def standings(*, farm: Farm, on: date, rules: FarmRules) -> list[Standings]:
    """Return every tunnel in use as it stands on a day, by code."""
    tunnels = list(Tunnel.objects.of(farm).filter(status=Tunnel.Status.IN_USE).for_plan())
    doors = {door.opening_id: door for door in Door.objects.of(farm).in_use().for_storm()}
    parts = _parts(farm, on)
    repairs: dict[int, list[Repair]] = defaultdict(list)
    for repair in Repair.objects.of(farm).filter(state=Repair.State.OPEN, tunnel__isnull=False).for_list():
        repairs[repair.tunnel_id or 0].append(repair)
    ends = _last_days(farm)
    undone, rounds = _jobs(farm, on)
    learnt = dict(TunnelFactor.objects.filter(tunnel__farm=farm).values_list("tunnel_id", "factor"))
    limits = door_limits(farm, doors.values(), parts, on)
    found = []
    for tunnel in tunnels:
        openings = tuple(opening for wall in tunnel.end_walls.all() for opening in wall.openings.all())
        mine = tuple(repairs[tunnel.pk])
        known = [limits[one.pk] for one in openings if one.pk in limits]
        weakest = min(known, key=lambda limit: limit.gust) if known and not any_unknown(known) else None
        roofs = [part for part in parts if part.kind == Component.Kind.ROOF_FILM and part.tunnel_id == tunnel.pk]
        age, life = _film(roofs, ends, on)
        condition = Condition(
            film_age=age,
            film_life=life,
            loose_age=undone.get(tunnel.pk),
            critical_defects=sum(repair.is_critical for repair in mine),
            is_unbraced=_unbraced(tunnel),
            ends_only_width=_ends_only(openings, doors),
            has_windbreak=tunnel.shelter == Tunnel.Shelter.SHELTERED,
            is_film_sound=not any(repair.part in FILMS for repair in mine),
            autumn_round_logged=tunnel.pk in rounds,
            limit=counted(weakest, rules),
            posture=Posture(tunnel.storm_posture),
        )
        standing = Standing(
            place=Place.SITE,
            shelter=Shelter(tunnel.shelter or Shelter.OPEN),
            learnt=float(learnt.get(tunnel.pk, 1)),
        )
        found.append(
            Standings(
                tunnel=tunnel,
                condition=condition,
                factor=local_factor(standing, rules.shelter).total,
                weakest=weakest,
                work=work_at(tunnel, openings, [one for one in mine if one.is_critical], parts, age),
                openings=openings,
                repairs=mine,
                limits={one.pk: min(limits[one.pk].gust, FASTEST_GUST) for one in openings if one.pk in limits},
            )
        )
    return found


# Condition -----------------------------------------------------------------------


def _parts(farm: Farm, on: date) -> list[Component]:
    """Return films, shade cloth and blowers that are up."""
    kinds = (*FILMS, Component.Kind.SHADE)
    up = Component.objects.of(farm).in_service(on).filter(kind__in=kinds)
    down = up.filter(lay_ups__off_on__lte=on, lay_ups__back_on=None)
    return list(up.exclude(pk__in=down.values("pk")).select_related("material").order_by("fitted_on", "pk"))


def _jobs(farm: Farm, on: date) -> tuple[dict[int, float], set[int]]:
    """Return by tunnel the age of the youngest part whose first check is not logged, and where the autumn round is."""
    loose: dict[int, float] = {}
    waiting = Job.objects.of(farm).undone().filter(plan__routine__code__in=FIRST_CHECKS, plan__ended_on=None)
    for tunnel, fitted_on in waiting.values_list("plan__tunnel_id", "plan__component__fitted_on"):
        if fitted_on:
            loose[tunnel] = min((on - fitted_on).days * DAY, loose.get(tunnel, math.inf))
    rounds = Job.objects.of(farm).filter(plan__routine__code__in=AUTUMN_ROUNDS)
    done = rounds.filter(state=Job.State.DONE, ended_on__gte=on - ROUND_HOLDS)
    left = set(rounds.undone().values_list("plan__tunnel_id", flat=True))
    return loose, set(done.values_list("plan__tunnel_id", flat=True)) - left


def _last_days(farm: Farm) -> dict[int, date]:
    """Return the last day of the window in which each roof film is to be replaced, by part."""
    turns = Turn.objects.filter(plan__farm=farm, plan__routine__code=ROOF_LIFE)
    jobs = Job.objects.of(farm).filter(plan__routine__code=ROOF_LIFE)
    by_part = jobs.values_list("plan__component_id").annotate(Max("until_on"))
    return dict(turns.values_list("plan__component_id", "until_on")) | dict(by_part)


def _film(roofs: Sequence[Component], ends: dict[int, date], on: date) -> tuple[float | None, float | None]:
    """Return age and planned life of the oldest sheet: until the last day of its rated window. [s]"""
    if not roofs:
        return None, None
    oldest = roofs[0]
    age = (on - oldest.fitted_on).days * DAY
    if oldest.pk in ends:
        return age, (ends[oldest.pk] - oldest.fitted_on).days * DAY
    rated = oldest.material.rated_life_years if oldest.material else None
    return age, None if rated is None else float(rated) * DAYS_PER_YEAR * DAY


def _unbraced(tunnel: Tunnel) -> bool | None:
    tied = [wall.is_tied_to_bows for wall in tunnel.end_walls.all()]
    if any(one is False for one in tied):
        return True
    return None if None in tied else False


def _ends_only(openings: Iterable[Opening], doors: dict[int, Door]) -> float | None:
    """Return the width of the widest film door with nothing but its bar's two ends to hold it. [m]"""
    free = [
        float(one.rough_width_mm) / 1000
        for one in openings
        if one.kind in FILM_DOORS and one.pk in doors and doors[one.pk].hold_down_spacing_mm is None
    ]
    return max(free, default=None)
