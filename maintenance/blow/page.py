"""What the storm page prints, from the record alone: a look at it works nothing out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from django.utils.translation import gettext as _

from farm.models import Farm
from farm.units import format_gust, format_measure
from maintenance.blow.facts import facts_from_json, moment
from maintenance.blow.rules import FarmRules
from maintenance.models import Storm, StormLook, StormPerson, StormTask
from maintenance.plans.places import FILM_DOORS
from maintenance.storm.levels import PEOPLE as PEOPLE_RULES
from maintenance.words import storm as words
from maintenance.words.places import place_code

DANGER: Final = 4  # from this level nobody is at the tunnels
WARNED: Final = "nobody_at_structures"  # stands in the warning itself


@dataclass(frozen=True, slots=True)
class TunnelRow:
    """One tunnel with its level and why."""

    pk: int
    code: str
    level: int | None
    level_text: str
    since: datetime | None  # when its level is reached
    close_by: datetime | None  # when it is first to be closed up
    gust: float | None
    reasons: str
    more: str
    unknown: str
    weakest: str
    is_earlier: bool


@dataclass(frozen=True, slots=True)
class TaskRow:
    """One thing to do, as a list prints it."""

    task: StormTask
    what: str
    where: str
    who: str
    is_now: bool = False


@dataclass(frozen=True, slots=True)
class LookRow:
    """What was known at a moment."""

    look: StormLook
    what: str


def task_row(task: StormTask) -> TaskRow:
    """Return a task in words; tunnel, opening, repair and people must be loaded."""
    return TaskRow(task, what_text(task), where_text(task), who_text(task))


def what_text(task: StormTask) -> str:
    """Return what is to be done."""
    if task.repair is not None:
        repair = task.repair
        spot = f", {repair.spot}" if repair.spot else ""
        return _("Repair: %(part)s %(mode)s%(spot)s") % {
            "part": repair.get_part_display(), "mode": repair.get_mode_display(), "spot": spot,
        }  # fmt: skip
    return task.get_kind_display()[:1].upper() + task.get_kind_display()[1:]


def where_text(task: StormTask) -> str:
    """Return the place of a task, such as “T08-W” or “T06, N side”."""
    if task.repair is not None:
        return place_code(task.repair) if task.repair.end_wall_id else (task.opening or task.tunnel).code
    if task.opening is not None:
        return task.opening.code
    if task.side:
        axis = task.tunnel.axis_bearing_deg
        return f"{task.tunnel.code}, {words.side_text(task.side, None if axis is None else float(axis))}"
    return task.tunnel.code


def who_text(task: StormTask) -> str:
    """Return who does it."""
    people = [person for person in (task.assigned_to, task.second) if person is not None]
    return words.list_text(person.get_full_name() or person.get_username() for person in people)


def here_text(people: Sequence[StormPerson]) -> str:
    """Return who is here and until when, as one line."""
    said = []
    for one in people:
        if one.is_here:
            name = one.membership.user.get_full_name() or one.membership.user.get_username()
            until = _("until %(time)s") % {"time": f"{one.works_until:%H:%M}"} if one.works_until else ""
            said.append(f"{name} {until}".strip())
    return words.list_text(said) or _("Nobody.")


def tunnel_rows(facts: Mapping[str, Any], units: str) -> list[TunnelRow]:
    """Return the tunnels, the highest level first."""
    rows = [_tunnel_row(one, units) for one in facts.get("tunnels", ())]
    return sorted(rows, key=lambda row: (-(row.level or 0), not row.is_earlier, row.code))


def windward_doors(tasks: Sequence[StormTask]) -> list[str]:
    """Return the codes of the film and other wide doors that the storm presses on."""
    return sorted(
        task.opening.code
        for task in tasks
        if task.is_windward and task.opening is not None and task.repair_id is None
    )  # fmt: skip


def windward_film_doors(tasks: Sequence[StormTask]) -> int:
    """Return how many of them are film doors."""
    return sum(
        task.is_windward and task.opening is not None and task.repair_id is None and task.opening.kind in FILM_DOORS
        for task in tasks
    )


def page_of(
    *, storm: Storm, tasks: Sequence[StormTask], looks: Sequence[StormLook], rules: FarmRules, farm: Farm, now: datetime
) -> dict[str, Any]:
    """Return what the page prints; ``farm`` is in its reader's units."""
    facts, units = storm.facts, farm.units
    still_open = [task for task in tasks if task.state == StormTask.State.OPEN]
    minutes = sum(task.minutes * task.people for task in still_open)
    people = facts.get("people", 0)
    context: dict[str, Any] = {
        "tunnels": tunnel_rows(facts, units),
        "windward": windward_doors(tasks),
        "left": [task_row(task) for task in still_open],
        "unfit": [task_row(task) for task in still_open if task.is_left_out],
        "cannot": [task_row(task) for task in tasks if task.state == StormTask.State.CANNOT],
        "done_count": sum(task.state == StormTask.State.DONE for task in tasks),
        "minutes": minutes,
        "work": words.work_text(minutes, people),
        "has_people": bool(people),
        "looks": [LookRow(look, _what(look)) for look in looks],
        "bearing": words.bearing_text(facts.get("peak_bearing")),
        "level_text": words.level_text(storm.level),
        "actions": list(_said(words.ACTIONS, _all(facts, "actions"), rules, units)),
        "people_rules": list(_said(words.PEOPLE, [key for key in _people(facts) if key != WARNED], rules, units)),
        "stay_out": rules.levels.stay_out,
        "is_danger": storm.level >= DANGER,
        "thunder_at": moment(facts.get("thunder_at")),
        "snow": _snow(facts, units),
        "rain": _rain(facts),
        "open_from": _at(facts, "reopen", "closed_tunnel_heats"),
        "open_by": _at(facts, "reopen", "open_by"),
        "missing": facts.get("missing_minutes", 0),
        "upper": _upper(facts),
        "is_light_known": facts.get("is_light_known", True),
        "unknown_from": moment(facts.get("unknown_from")),
    }
    if storm.deadline_at is not None:
        bounds = facts_from_json(facts.get("bounds", ()))
        context["why"] = words.why_deadline(bounds, storm.deadline_at, units)
        context["deadline"] = words.day_text(storm.deadline_at, now)
    if storm.start_by_at is not None and storm.deadline_at is not None:
        same = _day(storm.start_by_at, farm) == _day(storm.deadline_at, farm)
        say = words.clock_text if same else words.day_text
        context["start_by"] = say(storm.start_by_at)
        context["margin"] = words.margin_text(storm.start_by_at, now)
        context["is_late"] = storm.start_by_at < now
    return context


def _day(at: datetime, farm: Farm) -> object:
    return at.astimezone(farm.zone).date()


def _tunnel_row(one: Mapping[str, Any], units: str) -> TunnelRow:
    """Return a tunnel in words; what an older assessment did not write down is left out."""
    level, since, change = one.get("level"), one.get("since", {}), one.get("change", 0)
    weakest = one.get("weakest")
    reasons = words.earlier_text(one["code"], change, facts_from_json(one.get("offset", ())), units)
    others = [
        text
        for fact in facts_from_json(one.get("reasons", ()))
        if fact.key in ("own_limit", "local_factor", "thunder", "gust_from_mean")
        and (text := words.reason_text(fact, units))
    ]
    unknown = [text for fact in facts_from_json(one.get("unknown", ())) if (text := words.unknown_text(fact, units))]
    return TunnelRow(
        pk=one["pk"], code=one["code"], level=level, level_text=words.level_text(level),
        since=moment(since.get(str(level))), close_by=moment(since.get("2")), gust=one.get("gust"),
        reasons=reasons, more=" ".join(f"{text[:1].upper()}{text[1:]}." for text in others),
        unknown=words.list_text(unknown), weakest=words.weakest_text(weakest[0], weakest[1], units) if weakest else "",
        is_earlier=change < 0,
    )  # fmt: skip


def _what(look: StormLook) -> str:
    return words.list_text(str(words.STATES.get(key, key)) for key in look.what.split(","))


def _all(facts: Mapping[str, Any], name: str) -> list[str]:
    """Return the keys that any tunnel has, in their order from the lowest level up."""
    return list(dict.fromkeys(key for one in facts.get("tunnels", ()) for key in one.get(name, ())))


def _people(facts: Mapping[str, Any]) -> list[str]:
    order = [key for keys in PEOPLE_RULES.values() for key in keys]
    return sorted(_all(facts, "people"), key=lambda key: order.index(key) if key in order else len(order))


def _said(known: Mapping[str, Any], keys: Sequence[str], rules: FarmRules, units: str) -> Iterator[str]:
    params = {
        "handling": format_gust(rules.events.handling, units),
        "stay_out": format_gust(rules.levels.stay_out, units),
    }
    for key in keys:
        if key in known:
            yield str(known[key]) % params


def _snow(facts: Mapping[str, Any], units: str) -> dict[str, Any] | None:
    snow = facts.get("snow")
    if snow is None:
        return None
    said = [str(words.SNOW[one["key"]]) for one in snow["facts"] if one["key"] in words.SNOW]
    return {
        **snow,
        "from": moment(snow["from"]),
        "clear_by": moment(snow["clear_by"]),
        "said": said,
        "load_text": format_measure("pressure", snow["load"], units),
    }


def _rain(facts: Mapping[str, Any]) -> dict[str, Any] | None:
    rain = facts.get("rain")
    return None if rain is None else {**rain, "from": moment(rain["from"])}


def _at(facts: Mapping[str, Any], name: str, key: str) -> datetime | None:
    return next((one.at for one in facts_from_json(facts.get(name, ())) if one.key == key), None)


def _upper(facts: Mapping[str, Any]) -> dict[str, Any] | None:
    upper = facts.get("upper")
    if upper is None or facts.get("acts_on_upper"):
        return None
    return {**upper, "deadline": moment(upper["deadline"]), "start": moment(upper["start"])}
