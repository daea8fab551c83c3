"""The storm ahead of the demo farm, to the minute: loaded on a Tuesday in mid-November, read through the real client.

The work on paper: 12 walk-rounds of 6 minutes, 24 sides of 5, 13 film doors of 7, 4 wide ones of 2 x 12, 11 person
doors of 2, 2 sliding ones of 4, 4 blowers of 3, defects 190, shade 80: 691 person-minutes. With a reserve of 20 %
four people need 207.3 minutes: 17:00 less 3 h 27 min is 13:32.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.db import transaction
from django.urls import reverse

from farm.models import Farm, Membership, Tunnel
from maintenance.blow.assess import assess
from maintenance.blow.everywhere import assess_farms
from maintenance.blow.record import open_minutes
from maintenance.blow.rules import PRACTICE, change_rules, rules_of
from maintenance.demo.forecast import week_from
from maintenance.demo.load import load_demo_farm, reload_demo_farm
from maintenance.models import (
    Contact,
    Forecast,
    Reminder,
    Repair,
    Storm,
    StormLook,
    StormTask,
    WeatherCell,
    WeatherSource,
)
from maintenance.skies.codec import spells_to_json
from maintenance.skies.polling import poll_sources
from maintenance.skies.sources import choose
from maintenance.storm.quantity import MPH
from maintenance.weather.client import Caller
from tests.factories import make_farm, make_member
from tests.standin import StandIn, json_answer

pytestmark = pytest.mark.django_db

TUESDAY = date(2026, 11, 17)
MIDNIGHT = datetime(2026, 11, 17, 5, tzinfo=UTC)  # at the farm, five hours behind
DOORS = [f"T{number:02}-W" for number in range(1, 13)]


def at(day, clock):
    """Return a moment of the farm's clock; day 0 is the Tuesday."""
    hour, minute = map(int, clock.split(":"))
    return MIDNIGHT + timedelta(days=day, hours=hour, minutes=minute)


MORNING = at(0, "07:00")


@pytest.fixture(scope="module")
def loaded(django_db_setup, django_db_blocker):
    """The demo farm, loaded once for all: each test starts from it and leaves it as it was."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield load_demo_farm(on=TUESDAY)
        transaction.set_rollback(True)


@pytest.fixture
def farm(loaded):
    return Farm.objects.get(pk=loaded.pk)


@pytest.fixture
def storm(farm):
    return Storm.objects.get(farm=farm)


def issue(farm, spells, now):
    """Type a new forecast in."""
    return Forecast.objects.create(
        farm=farm, source="typed", issued_at=now, fetched_at=now, spells=spells_to_json(spells)
    )


def scaled(spells, share):
    return [replace(one, gust=one.gust * share, wind=one.wind * share) for one in spells]


def key_facts(storm):
    return {
        "peak_at": storm.peak_at, "peak": float(storm.peak_gust_m_s), "deadline": storm.deadline_at,
        "start": storm.start_by_at, "level": storm.level, "begins": storm.begins_at,
    }  # fmt: skip


EXPECTED = {
    "peak_at": at(2, "16:00"), "peak": pytest.approx(61 * MPH, abs=0.01), "deadline": at(1, "17:00"),
    "start": at(1, "13:30"), "level": 4, "begins": at(1, "19:00"),
}  # fmt: skip


def test_the_first_morning_shows_the_storm_to_the_minute(storm):
    assert key_facts(storm) == EXPECTED
    assert open_minutes(storm) == 691
    assert {look.what for look in storm.looks.all()} == {"opened"}


def test_what_stops_the_work_is_said_in_its_order(client, farm, storm):
    client.force_login(make_member(farm, "viewer").user)

    text = client.get(storm.get_absolute_url()).content.decode()

    assert "Done by Wednesday 17:00" in text
    assert "work ends 17:00; dark from 17:1" in text  # civil dusk, NOAA: 17:12
    assert "; gusts pass 30 mph at 19:00" in text
    assert "<strong>13:30</strong>" in text
    assert "11.5 person-hours of work left, 4 people here" in text
    assert "T04 moves one level earlier because: film 6.2 years, past its planned life, one critical defect" in text
    assert "12 windward doors" in text


def test_all_twelve_windward_doors_and_the_four_broken_first(storm):
    windward = storm.tasks.filter(is_windward=True)
    doors = windward.filter(repair=None, opening__isnull=False).values_list("opening__code", flat=True)
    broken = windward.filter(is_critical=True).select_related("opening", "tunnel")

    assert sorted(doors) == DOORS
    assert {one.opening.code if one.opening else one.tunnel.code for one in broken} == {
        "T04",
        "T08-W",
        "T09-W",
        "T11-W",
    }
    assert set(storm.tasks.order_by("position")[:4]) == set(broken)


def test_people_who_leave_at_three_have_to_start_at_half_past_eleven(client, farm, storm):
    client.force_login(make_member(farm, "manager").user)
    crew = Membership.objects.filter(farm=farm, role="crew").values_list("pk", flat=True)
    storm.people.update(works_until=time(15))
    assert len(crew) == 4

    assess(farm=farm, now=MORNING)

    storm.refresh_from_db()
    assert storm.start_by_at == at(1, "11:30")
    assert storm.deadline_at == at(1, "15:00")


def test_a_manager_says_who_is_here(client, farm, storm):
    client.force_login(make_member(farm, "manager").user)
    one = storm.people.order_by("pk").first()

    answer = client.post(
        storm.get_absolute_url(), {f"here_{one.membership_id}": "on", f"until_{one.membership_id}": "15:00"}
    )

    assert answer.status_code == 302
    here = storm.people.filter(is_here=True)
    assert [(row.membership_id, row.works_until) for row in here] == [(one.membership_id, time(15))]


@pytest.mark.parametrize("role", ["viewer", "crew"])
def test_nobody_else_says_who_is_here_or_sees_the_rules(client, farm, storm, role):
    client.force_login(make_member(farm, role).user)

    assert client.post(storm.get_absolute_url(), {}).status_code == 403
    assert client.get(reverse("storm-rules", args=[farm.slug])).status_code == 403
    assert storm.people.filter(is_here=True).count() == 4


def state_of(storm):
    """Return everything an assessment may write, but when it was made."""
    rows = [*storm.tasks.order_by("pk").values(), *storm.looks.order_by("pk").values(), *storm.people.values()]
    rows += list(Storm.objects.filter(pk=storm.pk).values())
    return [{name: value for name, value in row.items() if name != "assessed_at"} for row in rows]


def test_working_it_out_twice_changes_nothing(farm, storm):
    before = state_of(storm)

    assess(farm=farm, now=MORNING)
    assess_farms(now=MORNING)

    assert state_of(storm) == before


def test_ten_forecasts_make_one_storm_with_a_look_for_each_that_matters(farm, storm):
    week = week_from(TUESDAY, farm)
    for number in range(1, 11):  # every third one has a higher peak
        now = MORNING + timedelta(minutes=30 * number)
        issue(farm, scaled(week, 1 + 0.01 * (number // 3)), now)
        assess(farm=farm, now=now)

    assert list(Storm.objects.filter(farm=farm)) == [storm]
    assert storm.tasks.count() == 76  # 12 + 24 + 13 + 4 + 11 + 2 + 4 + 5 + 1
    assert len({task.key for task in storm.tasks.all()}) == 76
    looks = [look.what for look in storm.looks.order_by("at")]
    assert looks[0] == "opened"
    assert len([what for what in looks if "peak" in what]) == 3


def test_a_forecast_that_drops_ends_it_and_one_that_returns_brings_the_same_back(farm, storm):
    week = week_from(TUESDAY, farm)
    issue(farm, scaled(week, 0.3), at(0, "12:00"))

    assert assess(farm=farm, now=at(0, "12:00")) is None
    storm.refresh_from_db()
    assert storm.state == Storm.State.GONE

    issue(farm, week, at(0, "18:00"))
    again = assess(farm=farm, now=at(0, "18:00"))

    assert again == storm
    assert again.state == Storm.State.COMING
    assert [look.what for look in storm.looks.order_by("at")] == ["opened", "gone", "again"]


def test_done_work_is_taken_off_and_a_fault_mended_elsewhere_is_done(farm, storm):
    repair = Repair.objects.get(farm=farm, opening__code="T09-W", state="open")
    Repair.objects.filter(pk=repair.pk).update(state="done", mended_on=TUESDAY)
    storm.tasks.filter(key__startswith="side-").update(state="done", done_at=MORNING)

    assess(farm=farm, now=MORNING)

    assert open_minutes(storm) == 691 - 50 - 120
    assert storm.tasks.get(repair=repair).state == StormTask.State.DONE
    storm.refresh_from_db()
    # 521 x 1.2 / 4 = 156.3 minutes before 17:00 is 14:23; down to the quarter it is 14:15.
    assert storm.start_by_at == at(1, "14:15")


def test_a_storm_that_blows_keeps_its_deadline_and_is_over_in_its_time(farm, storm):
    assess(farm=farm, now=at(2, "10:00"))
    storm.refresh_from_db()
    assert (storm.state, storm.deadline_at, storm.begins_at) == ("blowing", at(1, "17:00"), at(1, "19:00"))
    assert float(storm.peak_gust_m_s) == pytest.approx(61 * MPH, abs=0.01)

    assess(farm=farm, now=at(3, "10:00"))
    storm.refresh_from_db()
    assert storm.level == 4  # what it was, not what is left of it

    assert assess(farm=farm, now=at(5, "10:00")) is None
    storm.refresh_from_db()
    assert storm.state == Storm.State.OVER
    assert Storm.objects.filter(farm=farm).count() == 1


def test_the_same_forecast_from_a_service_is_the_same_storm(farm, storm):
    Storm.objects.filter(farm=farm).delete()
    Forecast.objects.filter(farm=farm).delete()
    week = [one for one in week_from(TUESDAY, farm) if one.start.minute == 0 and one.end.minute == 0]
    moments = [one.end for one in week]
    hourly = {
        "time": [int(moment.timestamp()) for moment in moments],
        "wind_gusts_10m": [one.gust for one in week],
        "wind_speed_10m": [one.wind for one in week],
        "wind_direction_10m": [one.bearing_deg for one in week],
        "temperature_2m": [one.temperature - 273.15 for one in week],
        "precipitation": [one.rain * 1000 for one in week],
        "snowfall": [one.snow * 100 for one in week],
        "weather_code": [3 for _ in week],
    }
    units = {"time": "unixtime", "wind_gusts_10m": "m/s", "wind_speed_10m": "m/s", "wind_direction_10m": "°",
             "temperature_2m": "°C", "precipitation": "mm", "snowfall": "cm", "weather_code": "wmo code"}  # fmt: skip
    document = {"latitude": 42.51, "longitude": -76.79, "utc_offset_seconds": 0, "timezone": "GMT",
                "hourly_units": units, "hourly": hourly}  # fmt: skip
    choose(source=WeatherSource(farm=farm, kind=WeatherSource.Kind.OPEN_METEO), now=MORNING)
    with StandIn() as service:
        service.on("/v1/forecast", json_answer(document, kind="application/json"))
        poll_sources(
            now=MORNING, base_urls={"open_meteo": service.url, "nws": service.url}, caller=Caller("Tests (a@b.example)")
        )

    found = assess(farm=farm, now=MORNING)

    assert found is not None
    assert WeatherCell.objects.get().forecasts.count() == 1
    assert key_facts(found) == EXPECTED
    assert open_minutes(found) == 691


# Messages ------------------------------------------------------------------------


def reach(member):
    Contact.objects.update_or_create(
        membership=member, defaults={"email": "someone@farm.example", "quiet_from": time(0), "quiet_until": time(0)}
    )


def told(member):
    return list(Reminder.objects.filter(membership=member, key__startswith="storm-").order_by("pk"))


def test_managers_are_told_of_the_deadline_once_and_again_when_it_moves(farm, storm):
    manager = Membership.objects.get(farm=farm, role="manager")
    viewer = Membership.objects.get(farm=farm, role="viewer")
    reach(manager)
    reach(viewer)
    Storm.objects.filter(farm=farm).delete()
    for minutes in (0, 5, 10):
        assess(farm=farm, now=MORNING + timedelta(minutes=minutes))

    [first] = told(manager)
    assert first.subject == "Done by Wednesday 17:00: start by Wednesday 13:30"
    assert first.body.startswith("Done by Wednesday 17:00.\nwork ends 17:00; ")
    assert first.path == reverse("storm", args=[farm.slug, Storm.objects.get(farm=farm).pk])

    early = [
        replace(one, start=one.start - timedelta(hours=5), end=one.end - timedelta(hours=5))
        for one in week_from(TUESDAY, farm)
    ]
    issue(farm, early, at(0, "09:00"))
    for minutes in (0, 5):
        assess(farm=farm, now=at(0, "09:00") + timedelta(minutes=minutes))

    assert [one.subject for one in told(manager)][1:] == ["Done by Wednesday 14:00: start by Wednesday 10:30"]
    assert told(viewer) == []


def test_two_hours_before_the_start_it_is_said_once_with_danger(farm, storm):
    manager = Membership.objects.get(farm=farm, role="manager")
    reach(manager)

    assess(farm=farm, now=at(1, "11:29"))
    assert told(manager) == []
    for clock in ("11:30", "11:35", "12:00"):
        assess(farm=farm, now=at(1, clock))

    [one] = told(manager)
    assert one.subject == "Start by Wednesday 13:30: all shut by Wednesday 17:00"


def test_the_crew_is_told_before_its_work_is_given_out(farm, storm):
    people = list(Membership.objects.filter(farm=farm, role="crew"))
    for member in people:
        reach(member)
    Storm.objects.filter(farm=farm).delete()

    assess(farm=farm, now=MORNING)

    assert [len(told(member)) for member in people] == [1] * 4


def test_those_who_were_told_are_told_once_that_it_does_not_come_and_again_when_it_does(farm, storm):
    manager, late = (make_member(farm, "manager") for _ in range(2))
    reach(manager)
    Storm.objects.filter(farm=farm).delete()
    assess(farm=farm, now=MORNING)
    reach(late)  # was not told
    week = week_from(TUESDAY, farm)
    for hour, spells in ((12, scaled(week, 0.3)), (18, week), (20, scaled(week, 0.3))):
        issue(farm, spells, at(0, f"{hour}:00"))
        for minutes in (0, 5):
            assess(farm=farm, now=at(0, f"{hour}:00") + timedelta(minutes=minutes))

    assert [one.subject for one in told(manager)] == [
        "Done by Wednesday 17:00: start by Wednesday 13:30",
        "Called off: the storm of Wednesday 19:00",
        "Done by Wednesday 17:00: start by Wednesday 13:30",
        "Called off: the storm of Wednesday 19:00",
    ]
    assert "open it again" in told(manager)[1].body
    assert [one.subject.partition(":")[0] for one in told(late)] == ["Done by Wednesday 17", "Called off"]


def test_a_record_without_all_its_facts_still_has_a_page(client, farm, storm):
    storm.facts["tunnels"] = [{"pk": one["pk"], "code": one["code"]} for one in storm.facts["tunnels"]]
    Storm.objects.filter(pk=storm.pk).update(facts={"tunnels": storm.facts["tunnels"]})
    client.force_login(make_member(farm, "viewer").user)

    page = client.get(reverse("storm", args=[farm.slug, storm.pk]))

    assert page.status_code == 200
    assert "T12" in page.content.decode()


# Rules ---------------------------------------------------------------------------


def test_rules_are_kept_as_they_differ_and_put_back(client, farm):
    farm = reload_demo_farm(on=datetime.now(UTC).date())  # the page works by the clock
    storm = Storm.objects.get(farm=farm)
    client.force_login(make_member(farm, "manager").user)
    page = reverse("storm-rules", args=[farm.slug])
    form = {"clock-reserve": "1.5", "times-side": "10", "events-handling": "28"}

    assert client.post(page, form).status_code == 302

    rules = rules_of(farm)
    assert rules.clock.reserve == 1.5
    assert rules.times.side == 600
    assert rules.events.handling == pytest.approx(28 * 0.44704)
    assert rules.clock.events.handling == rules.events.handling
    assert farm.storm_rules.changes.keys() == {"clock.reserve", "times.side", "events.handling"}
    assert open_minutes(storm) == 691 + 24 * 5
    assert 'value="1.5"' in client.get(page).content.decode()

    client.post(page, {"reset": "1"})
    assert rules_of(farm) == PRACTICE
    assert open_minutes(storm) == 691


@pytest.mark.parametrize(
    ("form", "field", "said"),
    [
        ({"levels-close_up": "20"}, "levels-close_up", "Each level must begin at a higher gust"),
        ({"clock-reserve": "0.5"}, "clock-reserve", "Write a larger figure"),
        ({"shelter-half": "1.5"}, "shelter-half", "Write a smaller figure"),
    ],
)
def test_rules_that_cannot_be_are_refused_where_they_stand(client, farm, form, field, said):
    client.force_login(make_member(farm, "manager").user)

    answer = client.post(reverse("storm-rules", args=[farm.slug]), form)

    assert answer.status_code == 422
    assert said in str(answer.context["form"].errors[field])
    assert rules_of(farm) == PRACTICE


def test_rules_of_nobody_knows_when_are_passed_over():
    farm = make_farm()
    change_rules(farm=farm, rules=PRACTICE)
    farm.storm_rules.changes = {"levels.hurricane": 40, "clock.reserve": 1.3}
    farm.storm_rules.save()

    assert rules_of(farm).clock.reserve == 1.3


# Size ----------------------------------------------------------------------------


def test_the_page_and_the_reading_ask_as_often_for_one_tunnel_as_for_twelve(
    client, farm, storm, django_assert_max_num_queries
):
    client.force_login(make_member(farm, "manager").user)
    counts = []
    for keep in (12, 3):
        gone = list(Tunnel.objects.filter(farm=farm).order_by("code")[keep:].values_list("pk", flat=True))
        Tunnel.objects.filter(pk__in=gone).update(status="retired", retired_on=TUESDAY)
        assess(farm=farm, now=MORNING)
        client.get(storm.get_absolute_url())
        with django_assert_max_num_queries(60) as pages:
            client.get(storm.get_absolute_url())
        with django_assert_max_num_queries(80) as readings:
            assess(farm=farm, now=MORNING)
        counts.append((len(pages), len(readings)))

    assert counts[0] == counts[1]


def test_nobody_here_has_a_deadline_and_no_start(farm, storm):
    storm.people.update(is_here=False)

    assess(farm=farm, now=MORNING)

    storm.refresh_from_db()
    assert (storm.deadline_at, storm.start_by_at) == (at(1, "17:00"), None)
    assert storm.facts["missing_minutes"] == 691
    assert Farm.objects.get(pk=farm.pk).storms.count() == 1
    assert StormLook.objects.filter(storm=storm).order_by("-pk").first().people == 0


@pytest.mark.parametrize(
    ("state", "headline"),
    [
        ("coming", "Done by Wednesday 17:00"),
        ("blowing", "The storm is here"),
        ("over", "The storm is over"),
        ("closed", "The storm is over"),
        ("gone", "It did not come"),
    ],
)
def test_every_state_has_its_headline(client, farm, storm, state, headline):
    client.force_login(make_member(farm, "viewer").user)
    Storm.objects.filter(pk=storm.pk).update(state=state)

    page = client.get(storm.get_absolute_url())
    listed = client.get(reverse("storms", args=[farm.slug]))

    assert f'<h1 class="storm-deadline">{headline}' in page.content.decode()
    assert listed.status_code == 200
    assert ("storm-ahead" in listed.content.decode()) == (state in ("coming", "blowing"))
