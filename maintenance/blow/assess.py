"""Work out a farm's storm again: after every forecast, every deed and every few minutes. Twice is as good as once."""

from __future__ import annotations

import logging
from datetime import datetime

from django.db import transaction
from django.db.models import Q

from farm.models import Farm
from maintenance.blow import record
from maintenance.blow.conditions import standings
from maintenance.blow.notices import tell_of
from maintenance.blow.reading import look_ahead, wind_of
from maintenance.blow.rules import FarmRules, rules_of
from maintenance.hands.plan import write_plan
from maintenance.models import Storm, WeatherSource
from maintenance.skies.latest import Sky, forecast_of, source_of

logger = logging.getLogger(__name__)


def assess_farms(*, now: datetime) -> int:
    """Work out the storm of every farm that has a forecast; return how many have one.

    A farm whose forecast comes nowhere near closing anything is passed over at once, and one that fails does not
    keep the others from their warning.
    """
    found = 0
    has_forecast = Q(forecasts__isnull=False) | Q(weather_source__cell__forecasts__isnull=False)
    farms = Farm.objects.filter(has_forecast | Q(storms__state__in=("coming", "blowing"))).distinct().order_by("pk")
    for farm in farms:
        try:
            found += assess(farm=farm, now=now) is not None
        except Exception:
            logger.exception("the storm of farm %s could not be worked out", farm.pk)
    return found


def assess(*, farm: Farm, now: datetime) -> Storm | None:
    """Update or open the storm of a farm and return it; None where nothing has to be closed.

    Without any forecast the storm there is stays as it was, and only ends by the clock.
    """
    source = source_of(farm)
    sky = forecast_of(farm=farm, now=now, source=source)
    if sky is None:
        return record.by_the_clock(farm=farm, now=now)
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
        if changed.storm is not None:
            tell_of(change=changed, now=now)
    storm = changed.storm
    if storm is None or storm.state not in (Storm.State.COMING, Storm.State.BLOWING):
        return None
    if storm.state == Storm.State.COMING and (changed.look or changed.has_new_work):
        write_plan(storm=storm, now=now)  # takes its time: not within the transaction
    return storm


def _comes_near(sky: Sky, source: WeatherSource, rules: FarmRules, now: datetime) -> bool:
    """Return whether any gust, with every doubt on the safe side, could close anything on this farm."""
    wind = wind_of(source, sky)
    least = max(0.0, rules.levels.close_up - rules.offset.earlier) / 2  # no tunnel's factor is above 2
    if rules.door_limits_count:
        return True
    return any(
        (max(one.gust or 0.0, one.upper_gust or 0.0, 2 * (one.wind or 0.0)) + wind.step) * wind.factor >= least
        for one in sky.spells
        if one.end > now
    )
