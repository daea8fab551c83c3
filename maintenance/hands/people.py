"""Who works before a storm, from where, and when."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

from farm.models import Membership
from maintenance.hands.places import place_of
from maintenance.messages.quiet import moment
from maintenance.models import Storm, StormPerson, StormTask
from maintenance.skies.latest import daylight_of, shifts_of
from maintenance.storm.crew import Person
from maintenance.storm.quantity import Interval

HEAD_START: Final = timedelta(hours=12)  # before the deadline the closing begins; common practice, no source
DAY: Final = timedelta(days=1)
MOST_DAYS: Final = 14  # no forecast looks further


@dataclass(frozen=True, slots=True)
class Crew:
    """Who works, as the core sees them; each person's code is the id of the account."""

    people: tuple[Person, ...]
    begins_at: datetime


def crew_of(*, storm: Storm, now: datetime) -> Crew:
    """Return who works and when: in their hours and in daylight, up to the deadline.

    Closing begins half a day before the deadline, or when it must begin to be done: tunnels that are shut for days
    get hot and damp.
    """
    ends_at = storm.deadline_at or storm.begins_at
    first = min(ends_at - HEAD_START, storm.start_by_at or ends_at)
    begins_at = max(now, first).astimezone(UTC)
    start = begins_at.astimezone(storm.farm.zone).date() - DAY
    days = min(max((ends_at - begins_at).days, 0) + 3, MOST_DAYS)
    hours = shifts_of(farm=storm.farm, start=start, days=days)
    light = daylight_of(farm=storm.farm, start=start, days=days)
    places = _last_places(storm)
    people = tuple(
        Person(
            code=str(one.membership.user_id), skills=frozenset(one.skills or StormTask.Kind.values),
            position=places.get(one.membership.user_id, (0.0, 0.0)),
            shifts=tuple(_shifts(one, hours, light, begins_at, ends_at)),
        )
        for one in workers_of(storm)
    )  # fmt: skip
    return Crew(people, begins_at)


def workers_of(storm: Storm) -> list[StormPerson]:
    """Return who is here; before anybody was named, all the farm's crew."""
    named = list(storm.people.select_related("membership__user").order_by("pk"))
    if not named:
        crew = Membership.objects.filter(farm=storm.farm, role=Membership.Role.CREW)
        named = [StormPerson(storm=storm, membership=one) for one in crew.select_related("user").order_by("pk")]
    return [one for one in named if one.is_here and one.membership.user.is_active]


def _shifts(
    person: StormPerson, hours: Iterable[tuple[datetime, datetime]], light: Sequence[tuple[datetime, datetime]],
    begins_at: datetime, ends_at: datetime,
) -> Iterable[Interval]:  # fmt: skip
    zone = person.storm.farm.zone
    for begins, ends in hours:
        until = person.works_until
        day = begins.astimezone(zone).date()
        last = ends if until is None else min(ends, moment(day, until, zone, last=True))
        for dawn, dusk in light or [(begins, last)]:  # where the farm lies is not known: the hours alone
            start, end = max(begins, dawn, begins_at), min(last, dusk, ends_at)
            if start < end:
                yield Interval(start.astimezone(UTC), end.astimezone(UTC))


def _last_places(storm: Storm) -> dict[int, tuple[float, float]]:
    """Return where each person did their last task."""
    done = storm.tasks.filter(state=StormTask.State.DONE, done_by__isnull=False).for_list().order_by("done_at", "pk")
    return {task.done_by_id: place_of(task) for task in done if task.done_by_id is not None}
