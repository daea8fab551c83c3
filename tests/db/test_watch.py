"""What does not work is said, and told by the way that still works."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import Farm
from maintenance.messages.outbox import NO_MAIL_SERVER
from maintenance.models import Forecast, Heartbeat, Reminder, WeatherCell, WeatherSource
from maintenance.watching.notices import tell_watch
from maintenance.watching.watch import Severity, troubles_of
from maintenance.words.watching import say
from tests.factories import make_farm, make_member
from tests.messages import NOW, make_device, make_person, make_reminder

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)


@pytest.fixture
def farm(settings: Any) -> Farm:
    """A farm where all works: the worker lives, a forecast came an hour ago, mail and push are set up."""
    settings.HAS_MAIL_SERVER, settings.PUSH_CONTACT = True, "mailto:farm@farm.example"
    farm = make_farm(time_zone="America/New_York")
    beat(0)
    make_forecast(farm, age=HOUR)
    return farm


def beat(minutes: float) -> None:
    Heartbeat.objects.update_or_create(name="worker", defaults={"beat_at": NOW - minutes * MINUTE})


def make_forecast(farm: Farm, age: timedelta, **values: Any) -> Forecast:
    """Make a forecast of calm, typed in so long ago; or of a cell's service."""
    whose = {} if "cell" in values else {"farm": farm}
    spell = {"start": NOW.isoformat(), "end": (NOW + 48 * HOUR).isoformat(), "gust": 5.0, "thunder": False}
    given = {"source": "typed", "issued_at": NOW - age, "fetched_at": NOW - age, "spells": [spell], **whose, **values}
    return Forecast.objects.create(**given)


def polled(farm: Farm, age: timedelta, **cell: Any) -> None:
    """Let a farm's forecast come from a service; the last came so long ago."""
    Forecast.objects.filter(farm=farm).delete()
    place = {"latitude_deg": "42.9", "longitude_deg": "-76.9", "kind": "nws", "key": f"cell-{farm.pk}"}
    row = WeatherCell.objects.create(**place, **cell)
    WeatherSource.objects.create(farm=farm, kind="nws", cell=row)
    make_forecast(farm, age, cell=row, source="nws")


def keys(farm: Farm) -> list[str]:
    return [one.key for one in troubles_of(farm=farm, now=NOW)]


def test_nothing_is_said_when_all_is_well(farm):
    assert keys(farm) == []


def test_two_queries_find_it_out(farm):
    polled(farm, age=HOUR, failures=2)

    with CaptureQueriesContext(
        connection,
    ) as asked:
        troubles_of(farm=farm, now=NOW)

    assert len(asked) == 2


@pytest.mark.parametrize(("minutes", "expected"), [(4.9, []), (5.1, ["worker"])])
def test_a_worker_is_silent_after_five_minutes(farm, minutes, expected):
    beat(minutes)

    assert keys(farm) == expected


@pytest.mark.parametrize(("age", "expected"), [(4 * MINUTE, []), (6 * MINUTE, ["worker"])])
def test_a_worker_that_never_lived_is_missed_once_the_farm_is_five_minutes_old(farm, age, expected):
    Heartbeat.objects.all().delete()
    Farm.objects.filter(pk=farm.pk).update(created_at=NOW - age)

    assert keys(farm) == expected


@pytest.mark.parametrize(("hours", "expected"), [(5.9, []), (6.1, ["forecast"])])
def test_a_forecast_is_too_old_after_six_hours(farm, hours, expected):
    polled(farm, age=hours * HOUR)

    assert keys(farm) == expected


def test_a_farm_may_say_how_old_a_forecast_may_be(farm):
    polled(farm, age=9 * HOUR)
    WeatherSource.objects.update(oldest_hours=12)

    assert keys(farm) == []


def test_an_old_forecast_is_no_calm(farm):
    polled(farm, age=9 * HOUR)
    (found,) = troubles_of(farm=farm, now=NOW)

    assert say(found, NOW).text == (
        "No forecast has come for 9 hours. Do not take quiet for calm: ring the weather office or look yourself."
    )


def test_one_typed_in_stands_in_for_a_silent_service(farm):
    polled(farm, age=9 * HOUR)
    make_forecast(farm, age=2 * HOUR)

    assert keys(farm) == []


def test_an_old_one_typed_in_is_said_in_its_own_words(farm):
    Forecast.objects.update(issued_at=NOW - 50 * HOUR, fetched_at=NOW - 50 * HOUR)
    (found,) = troubles_of(farm=farm, now=NOW)

    assert found.key == "forecast-typed"
    assert "was typed in 2 days ago" in say(found, NOW).text


def test_a_service_that_never_answered_is_worse_than_one_never_chosen(farm):
    polled(farm, age=HOUR)
    Forecast.objects.all().delete()
    chosen = troubles_of(farm=farm, now=NOW)
    WeatherSource.objects.all().delete()
    nothing = troubles_of(farm=farm, now=NOW)

    assert [(one.key, one.severity) for one in chosen] == [("forecast-none", Severity.WARNING)]
    assert [(one.key, one.severity) for one in nothing] == [("forecast-none", Severity.NOTICE)]


def test_a_service_that_fails_now_is_said_while_its_forecast_still_serves(farm):
    polled(farm, age=2 * HOUR, failures=3)
    (found,) = troubles_of(farm=farm, now=NOW)

    assert found.key == "source"
    assert say(found, NOW).text == (
        "The weather service did not answer the last 3 times. The forecast in use is 2 hours old."
    )


@pytest.mark.parametrize(("starts", "expected"), [(-1, ["thunder"]), (23, ["thunder"]), (25, [])])
def test_thunder_within_a_day_calls_for_its_standing_rule(farm, starts, expected):
    start = NOW + starts * HOUR
    spell = {"start": start.isoformat(), "end": (start + 2 * HOUR).isoformat(), "thunder": True}
    Forecast.objects.update(spells=[spell])

    assert keys(farm) == expected


def test_mail_that_nobody_set_up_is_missed_where_somebody_wants_it(farm, settings):
    settings.HAS_MAIL_SERVER = False
    member = make_person(farm, email="a@farm.example")
    make_member(farm)  # no address
    wanted = keys(farm)
    member.contact.by_email = False
    member.contact.save()

    assert wanted == ["mail-unset"]
    assert keys(farm) == []


def failing(member: Any, way: str, *, error: str = "no route to host", minutes: int = 5, **values: Any) -> Reminder:
    """Make a message that was tried so many minutes ago and did not leave."""
    if way == "push" and not member.push_subscriptions.exists():
        make_device(member)
    row = make_reminder(member, key=f"tried-{member.pk}", now=NOW - 20 * MINUTE)
    Reminder.objects.filter(key=row.key).exclude(way=way).delete()
    given = {"tries": 3, "error": error, "claimed_at": NOW - minutes * MINUTE, "not_before": NOW, **values}
    Reminder.objects.filter(key=row.key).update(**given)
    return Reminder.objects.get(key=row.key)


@pytest.mark.parametrize(("way", "key"), [("email", "mail"), ("push", "push")])
def test_a_way_that_failed_last_is_broken_until_something_leaves(farm, way, key):
    member = make_person(farm)
    row = failing(member, way)
    broken = keys(farm)
    Reminder.objects.create(**{
        column: getattr(row, column) for column in
        ("farm", "membership", "kind", "way", "subscription", "subject", "body", "path", "not_before", "made_at")
    } | {"key": "later", "state": "sent", "sent_at": NOW - MINUTE})  # fmt: skip

    assert broken == [key]
    assert keys(farm) == []


def test_a_person_who_left_breaks_no_way(farm):
    failing(make_person(farm), "email", error="this way was turned off", state="failed")

    assert keys(farm) == []


@pytest.mark.parametrize(("minutes", "expected"), [(14, []), (16, ["waiting"])])
def test_a_message_that_nothing_holds_up_waits_a_quarter_of_an_hour_at_most(farm, minutes, expected):
    make_reminder(make_person(farm), now=NOW - minutes * MINUTE)

    assert keys(farm) == expected


def test_another_farms_troubles_are_its_own(farm):
    failing(make_person(make_farm()), "email")
    polled(make_farm(), age=9 * HOUR)

    assert keys(farm) == []


# Telling --------------------------------------------------------------------------


def told(farm: Farm) -> list[tuple[str, str]]:
    rows = Reminder.objects.of(farm).filter(key__startswith="watch-").order_by("key", "way")
    return [(row.key, row.way) for row in rows]


def manager(farm: Farm) -> Any:
    member = make_person(farm, "manager")
    make_device(member)
    return member


def test_an_old_forecast_is_told_once_a_day_to_managers_only(farm):
    manager(farm)
    make_person(farm, "crew")
    polled(farm, age=9 * HOUR)

    for minutes in (0, 5, 10):
        tell_watch(now=NOW + minutes * MINUTE)

    assert told(farm) == [("watch-forecast-2026-11-24", "email"), ("watch-forecast-2026-11-24", "push")]


def test_news_of_dead_mail_goes_by_phone_and_of_dead_push_by_mail(farm):
    failing(manager(farm), "email")
    tell_watch(now=NOW)
    other = make_farm()
    make_forecast(other, age=HOUR)
    failing(manager(other), "push")
    tell_watch(now=NOW)

    assert told(farm) == [("watch-mail-2026-11-24", "push")]
    assert told(other) == [("watch-push-2026-11-24", "email")]


def test_that_it_works_again_is_told_once_however_often_it_fails(farm):
    manager(farm)
    polled(farm, age=9 * HOUR)
    for minutes in range(0, 60, 10):  # breaks, heals, breaks ...
        is_fresh = minutes % 20 == 10
        age = HOUR if is_fresh else 9 * HOUR
        Forecast.objects.update(issued_at=NOW - age, fetched_at=NOW - age)
        tell_watch(now=NOW + minutes * MINUTE)

    mails = [key for key, way in told(farm) if way == "email"]
    assert mails == ["watch-forecast-2026-11-24", "watch-forecast-2026-11-24-over"]
    assert Reminder.objects.get(key__endswith="-over", way="email").body == "There is a fresh forecast again."


def test_what_lasted_over_midnight_is_over_once(farm):
    manager(farm)
    polled(farm, age=9 * HOUR)
    for hours in (0, 18, 22):
        if hours == 22:
            Forecast.objects.update(issued_at=NOW + 21 * HOUR, fetched_at=NOW + 21 * HOUR)
        tell_watch(now=NOW + hours * HOUR)

    assert [key for key, way in told(farm) if way == "email"] == [
        "watch-forecast-2026-11-24", "watch-forecast-2026-11-25", "watch-forecast-2026-11-25-over"
    ]  # fmt: skip


def test_what_was_never_told_is_not_told_as_mended(farm):
    manager(farm)

    tell_watch(now=NOW)

    assert told(farm) == []


def test_thunder_and_what_is_not_set_up_are_said_on_pages_only(farm, settings):
    settings.HAS_MAIL_SERVER = False
    manager(farm)
    spell = {"start": NOW.isoformat(), "end": (NOW + HOUR).isoformat(), "thunder": True}
    Forecast.objects.update(spells=[spell])

    tell_watch(now=NOW)

    assert keys(farm) == ["thunder", "mail-unset"]
    assert told(farm) == []
    assert not Reminder.objects.filter(error=NO_MAIL_SERVER).exists()
