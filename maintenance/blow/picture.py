"""An outlook as the storm's record keeps it: what the pages print, without asking the core again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from maintenance.blow.conditions import Standings
from maintenance.blow.facts import facts_to_json, written
from maintenance.blow.reading import Outlook, key_of
from maintenance.storm.after import reopen
from maintenance.storm.deadline import Clock
from maintenance.storm.levels import LevelReading
from maintenance.storm.spells import Spell, gust_of


def picture_of(outlook: Outlook) -> dict[str, Any]:
    """Return an outlook as JSON; the same outlook gives the same."""
    event, clock = outlook.event, outlook.clock
    return {
        "forecast": outlook.sky.forecast.pk,
        "is_stale": outlook.sky.is_stale,
        "is_light_known": outlook.is_light_known,
        "acts_on_upper": outlook.clocks.act_on_upper,
        "peak_bearing": event.peak_bearing,
        "bearings": sorted({one.bearing_deg for one in event.spells if one.bearing_deg is not None}),
        "handling": outlook.rules.events.limit,
        "decides": list(clock.decides),
        "bound_by": clock.bound_by,
        "bounds": facts_to_json(clock.bounds),
        "facts": facts_to_json(clock.facts),
        "start": written(clock.latest_start),
        "missing_minutes": round(clock.missing / 60),
        "load": {"total": outlook.load.total, "dry": outlook.load.dry, "paired": outlook.load.paired},
        "reserve": outlook.rules.clock.reserve,
        "people": outlook.people,
        "unknown_from": written(clock.unknown_from),
        "dry_by": written(clock.dry_deadline),
        "upper": _upper(outlook.clocks.upper),
        "tunnels": [_tunnel(*pair) for pair in zip(outlook.standings, outlook.levels, strict=True)],
        "windward": [key_of(task) for task in outlook.tasks if task.faces_wind],
        "reopen": facts_to_json(reopen(event, outlook.daylight, outlook.rules.reopen)),
        "snow": _snow(outlook),
        "rain": _rain(outlook.spells),
        "thunder_at": written(next((one.start for one in outlook.spells if one.thunder), None)),
        "gusts": [
            [written(one.start), written(one.end), gust_of(one).speed, one.bearing_deg]
            for one in outlook.spells
            if one.start < event.end
        ],
    }


def _upper(clock: Clock | None) -> dict[str, Any] | None:
    if clock is None:
        return None
    return {
        "deadline": written(clock.deadline),
        "start": written(clock.latest_start),
        "peak": clock.event.peak if clock.event else None,
        "peak_at": written(clock.event.peak_at) if clock.event else None,
    }


def _tunnel(one: Standings, level: LevelReading) -> dict[str, Any]:
    return {
        "pk": one.tunnel.pk,
        "code": one.tunnel.code,
        "level": level.level,
        "gust": level.gust,
        "at": written(level.at),
        "since": {str(reached): written(at) for reached, at in level.since.items()},
        "margin": level.margin,
        "change": level.offset.change,
        "factor": one.factor,
        "reasons": facts_to_json(level.reasons),
        "offset": facts_to_json(level.offset.reasons),
        "unknown": facts_to_json(level.unknown),
        "actions": list(level.actions),
        "people": list(level.people),
        "weakest": None if one.weakest is None else [one.weakest.code, one.weakest.gust],
    }


def _snow(outlook: Outlook) -> dict[str, Any] | None:
    snow = outlook.snow
    if not snow.falls:
        return None
    return {
        "from": written(snow.falls[0].at),
        "depth": snow.depth,
        "water": snow.water,
        "load": snow.load,
        "clear_by": written(snow.clear_by),
        "facts": facts_to_json(snow.facts),
    }


def _rain(spells: Iterable[Spell]) -> Mapping[str, Any] | None:
    wet = [one for one in spells if one.rain and not one.snow]
    if not wet:
        return None
    return {"from": written(wet[0].start), "depth": sum(one.rain or 0.0 for one in wet)}
