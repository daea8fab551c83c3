"""Work out a farm's storm again: after every forecast, every deed and every few minutes. Twice is as good as once."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from farm.models import Farm
from maintenance.blow import record
from maintenance.blow.conditions import standings
from maintenance.blow.notices import tell_of
from maintenance.blow.reading import look_ahead, wind_of
from maintenance.blow.rules import FarmRules, rules_of
from maintenance.hands.plan import write_plan
from maintenance.models import Storm, StormRound, WeatherSource
from maintenance.skies.latest import Sky, forecast_of, source_of


def assess(*, farm: Farm, now: datetime, replans: bool = False, has_time: bool = True) -> Storm | None:
    """Update or open the storm of a farm and return it; None where nothing has to be closed.

    Without any forecast the storm there is stays as it was, and only ends by the clock.

    Parameters
    ----------
    replans : bool
        Give the work out anew although nothing else changed, such as when somebody has done theirs.
    has_time : bool
        Write the crew's plan at once, if one is needed; else it waits, so that other farms are warned first.
    """
    source = source_of(farm)
    sky = forecast_of(farm=farm, now=now, source=source)
    if sky is None:
        return _planned(record.by_the_clock(farm=farm, now=now), replans, has_time=has_time, now=now)
    rules = rules_of(farm)
    is_near = _comes_near(sky, source, rules, now)
    if not is_near and not Storm.objects.of(farm).ahead().exists():
        return None
    stands = standings(farm=farm, on=now.astimezone(farm.zone).date(), rules=rules) if is_near else []
    with transaction.atomic():
        farm = Farm.objects.select_for_update().get(pk=farm.pk)  # one assessment at a time
        storm = record.storm_ahead(farm)
        people = record.people_for(farm=farm, storm=storm)
        ended = record.ended_keys(storm)
        outlook = (
            look_ahead(
                farm=farm, now=now, sky=sky, source=source, rules=rules, stands=stands, people=people, ended=ended
            )
            if is_near
            else None
        )  # fmt: skip
        changed = record.keep(farm=farm, storm=storm, outlook=outlook, people=people, now=now)
        storm = changed.storm
        if storm is not None:
            tell_of(change=changed, now=now)
        is_stale = False
        if storm is not None and storm.state == Storm.State.COMING and (changed.look or changed.has_new_work):
            is_stale = True  # kept with the storm: whoever is killed before the plan is written leaves it to the next
            StormRound.objects.update_or_create(farm=farm, defaults={"plan_since": now, "urgent_at": storm.begins_at})
    if storm is None or storm.state not in (Storm.State.COMING, Storm.State.BLOWING):
        return None
    return _planned(storm, is_stale or replans, has_time=has_time, now=now)


def write_waiting_plan(*, farm: Farm, now: datetime) -> None:
    """Write the crew's plan that waits for a farm's storm, if the storm is still to come."""
    storm = Storm.objects.of(farm).filter(state=Storm.State.COMING).first()
    waits = StormRound.objects.filter(farm=farm)
    since = waits.values_list("plan_since", flat=True).first()
    if storm is not None:
        write_plan(storm=storm, now=now)
    waits.filter(plan_since=since).update(plan_since=None)


def _planned(storm: Storm | None, is_needed: bool, *, has_time: bool, now: datetime) -> Storm | None:
    """Return a storm, with its plan written where one is needed: it takes its time, so not within a transaction."""
    if storm is not None and is_needed and has_time:
        write_plan(storm=storm, now=now)
        StormRound.objects.filter(farm=storm.farm_id, plan_since__lte=now).update(plan_since=None)
    return storm


def _comes_near(sky: Sky, source: WeatherSource, rules: FarmRules, now: datetime) -> bool:
    """Return whether any gust, with every doubt on the safe side, could close anything on this farm."""
    wind = wind_of(source, sky.forecast)
    least = max(0.0, rules.levels.close_up - rules.offset.earlier) / 2  # no tunnel's factor is above 2
    if rules.door_limits_count:
        return True
    return any(
        (max(one.gust or 0.0, one.upper_gust or 0.0, 2 * (one.wind or 0.0)) + wind.step) * wind.factor >= least
        for one in sky.spells
        if one.end > now
    )
