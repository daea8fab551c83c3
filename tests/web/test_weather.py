"""The forecast's pages: what they say of its age, a forecast typed in, and the instrument's own door."""

import json
import re
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from maintenance.models import Forecast, WeatherSource, WindDay, WindReading, WorkHours
from maintenance.skies.codec import spells_from_json
from maintenance.skies.readings import new_token
from tests.factories import make_component, make_farm, make_member, make_tunnel
from tests.skies import HOUR, MPH, make_forecast, spell
from tests.upkeep_rows import make_job, make_plan, make_routine

pytestmark = pytest.mark.django_db

NAMES = ("time", "gust", "direction", "wind", "rain", "temperature")


@pytest.fixture
def farm():
    return make_farm(time_zone="America/New_York", latitude_deg="42.51", longitude_deg="-76.79")


@pytest.fixture
def manager(farm, client):
    client.force_login(make_member(farm).user)
    return client


def url(farm, name="weather"):
    return reverse(name, args=[farm.slug])


def text_of(answer):
    return " ".join(re.sub(r"<[^>]*>", " ", answer.content.decode()).split())


def hour_ago(hours):
    return timezone.now() - hours * HOUR


def soon(hours=1):
    """Return a full hour that is still to come, as a row of New York writes it."""
    full = timezone.now().replace(minute=0, second=0, microsecond=0) + hours * HOUR
    return full, full.astimezone(ZoneInfo("America/New_York")).isoformat(sep=" ", timespec="minutes")


def rows(*lines, **more):
    return {name: [line.get(name, "") for line in lines] for name in NAMES} | more


def test_without_a_forecast_the_page_says_so(manager, farm):
    assert "There is no forecast." in text_of(manager.get(url(farm)))


def test_a_fresh_forecast_shows_its_age_its_worst_and_its_remarks(manager, farm):
    now = timezone.now()
    figures = {"gust": 61 * MPH, "bearing_deg": 270.0, "rain": 0.0254, "temperature": 283.15}
    make_forecast(
        farm, [spell(now + HOUR, **figures)], issued_at=hour_ago(3), remarks=[{"reason": "no_place", "params": {}}]
    )

    text = text_of(manager.get(url(farm)))

    assert "Made 3 hours ago." in text
    assert "gusts to 61 mph" in text
    assert "W rain 1 in 50 °F" in text  # an inch, and 10 °C
    assert "The place the forecast is for is not said." in text
    assert "Planning estimate" in text


def test_an_old_forecast_is_shown_as_too_old(manager, farm):
    make_forecast(farm, [spell(timezone.now(), gust=9)], issued_at=hour_ago(7))

    text = text_of(manager.get(url(farm)))

    assert "This forecast is too old: 7 hours." in text
    assert "Nothing is planned by it." in text


def test_a_forecast_that_has_run_out_says_so(manager, farm):
    make_forecast(farm, [spell(hour_ago(3), gust=9)], issued_at=hour_ago(4))

    assert "This forecast has run out." in text_of(manager.get(url(farm)))


def test_a_gust_that_is_not_known_is_said_not_drawn_as_calm(manager, farm):
    make_forecast(farm, [spell(timezone.now() + HOUR)], issued_at=hour_ago(0))

    assert "gusts not known" in text_of(manager.get(url(farm)))


def test_a_manager_chooses_a_service(manager, farm):
    form = {"action": "source", "kind": "open_meteo", "poll_minutes": 30, "oldest_hours": 6, "gust_factor": "1.10"}

    answer = manager.post(url(farm), form)

    source = WeatherSource.objects.select_related("cell").get(farm=farm)
    assert answer.status_code == 302
    assert (source.kind, source.cell.key, str(source.gust_factor)) == ("open_meteo", "42.51,-76.79", "1.10")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"poll_minutes": 5}, "Write 10 to 1440 minutes"),
        ({"poll_minutes": 240}, "Ask at least twice before a forecast is too old."),
        ({"oldest_hours": 100}, "Write 1 to 72 hours."),
        ({"gust_factor": "9"}, "Write a factor from 0.5 to 2."),
    ],
)
def test_what_a_source_cannot_be_is_refused_in_words(manager, farm, change, said):
    form = {"action": "source", "kind": "open_meteo", "poll_minutes": 30, "oldest_hours": 6, "gust_factor": "1"}

    answer = manager.post(url(farm), {**form, **change})

    assert answer.status_code == 422
    assert said in text_of(answer)
    assert not WeatherSource.objects.exists()


def test_a_service_needs_a_place(client):
    farm = make_farm()
    client.force_login(make_member(farm).user)

    answer = client.post(
        url(farm), {"action": "source", "kind": "nws", "poll_minutes": 30, "oldest_hours": 6, "gust_factor": "1"}
    )

    assert answer.status_code == 422
    assert "Write the farm&#x27;s latitude and longitude first" in answer.content.decode()


def test_a_manager_changes_the_hours(manager, farm):
    manager.post(url(farm), {"action": "hours", "work_from": "06:30", "work_until": "15:00"})
    refused = manager.post(url(farm), {"action": "hours", "work_from": "16:00", "work_until": "15:00"})

    assert str(WorkHours.objects.get(farm=farm)) == "06:30 to 15:00"
    assert (refused.status_code, "Work must end after it begins." in text_of(refused)) == (422, True)


@pytest.mark.parametrize("role", ["viewer", "crew"])
def test_others_look(client, farm, role):
    client.force_login(make_member(farm, role).user)

    assert client.get(url(farm)).status_code == 200
    assert client.post(url(farm), {"action": "token"}).status_code == 403
    assert "Keep the source" not in text_of(client.get(url(farm)))


# Typed in ---------------------------------------------------------------------------------


def test_rows_typed_in_are_looked_at_and_then_kept(manager, farm):
    first, written = soon()
    typed = rows(
        {"time": written, "gust": "31", "direction": "SW", "rain": "0.5", "temperature": "41"},
        {"time": soon(2)[1], "gust": "61", "direction": "W"},
        {"time": soon(3)[1]},
    )

    look = manager.post(url(farm, "weather-typed"), {**typed, "action": "look"})
    table = look.context["table"]
    assert (look.status_code, Forecast.objects.count()) == (200, 0)
    assert "gusts to 61 mph" in text_of(look)
    answer = manager.post(url(farm, "weather-typed"), {"table": table, "action": "keep"})

    spells = spells_from_json(Forecast.objects.get(farm=farm).spells)
    assert answer.status_code == 302
    assert [one.start for one in spells] == [first, first + HOUR]
    assert spells[0].gust == pytest.approx(13.858, abs=5e-4)  # 31 mph, NIST SP 811 B.8: 1 mph = 0.44704 m/s
    assert (spells[0].bearing_deg, spells[0].rain) == (225.0, pytest.approx(0.0127))
    assert spells[0].temperature == pytest.approx(278.15)  # 41 °F is 5 °C


def test_a_row_that_needs_a_change_comes_back_with_all_others(manager, farm):
    typed = rows(
        {"time": soon()[1], "gust": "31"}, {"time": soon(2)[1]}, {"time": soon(3)[1], "gust": "strong", "wind": "7"}
    )

    answer = manager.post(url(farm, "weather-typed"), {**typed, "action": "look"})

    page = answer.content.decode()
    assert answer.status_code == 422
    assert "“strong” is not a number for the gust" in page
    assert page.index('value="strong"') < page.index('id="wrong-3"')
    assert all(f'value="{value}"' in page for value in ("31", "strong", "7", soon(2)[1]))
    assert not Forecast.objects.exists()


@pytest.mark.parametrize(
    ("time", "said"),
    [("2026-11-01 01:30", "comes twice, the clocks go back then"), ("2026-03-08 02:30", "does not exist")],
)
def test_an_hour_that_the_clocks_repeat_or_skip_is_asked_about(client, farm, time, said, monkeypatch):
    # US clocks went forward on 8 March 2026 and back on 1 November: 15 U.S.C. 260a
    day = datetime.fromisoformat(time).replace(tzinfo=UTC)
    monkeypatch.setattr(timezone, "now", lambda: day - timedelta(days=1))
    client.force_login(make_member(farm).user)

    answer = client.post(url(farm, "weather-typed"), {**rows({"time": time, "gust": "30"}), "action": "look"})

    assert answer.status_code == 422
    assert said in text_of(answer)


def test_more_rows_keep_what_was_typed(manager, farm):
    answer = manager.post(url(farm, "weather-typed"), {**rows({"time": "x", "gust": "31"}), "action": "more"})

    assert 'value="31"' in answer.content.decode()
    assert answer.content.decode().count('name="gust"') == 13


def test_a_file_that_cannot_be_read_comes_back_to_be_changed(manager, farm):
    upload = SimpleUploadedFile("week.csv", f"time,gust\n{soon()[1]},30\n".encode())

    answer = manager.post(url(farm, "weather-typed"), {"action": "file", "file": upload})

    assert answer.status_code == 422
    assert "needs its unit" in text_of(answer)
    assert f"{soon()[1]},30" in answer.content.decode()


def test_a_json_file_is_looked_at(manager, farm):
    content = json.dumps([{"time": soon()[1], "gust mph": 61}]).encode()

    answer = manager.post(url(farm, "weather-typed"), {"action": "file", "file": SimpleUploadedFile("w.json", content)})

    assert (answer.status_code, "gusts to 61 mph" in text_of(answer)) == (200, True)


# The instrument ----------------------------------------------------------------------------


@pytest.fixture
def station(farm):
    own = new_token(source=WeatherSource.objects.create(farm=farm))

    def send(body, token=own, scheme="Bearer"):
        headers = {} if token is None else {"authorization": f"{scheme} {token}"}
        strict = Client(enforce_csrf_checks=True)
        return strict.post(url(farm, "weather-station"), body, content_type="application/json", headers=headers)

    return send


def reading(gust=31, unit="mph", at=None):
    return json.dumps({"at": (at or timezone.now()).isoformat(), "gust": gust, "unit": unit}).encode()


def test_an_instrument_sends_a_reading_once(station, farm):
    body = reading()

    answers = [station(body) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [201, 200]
    assert [answer.json()["gust_m_s"] for answer in answers] == [13.86, 13.86]
    assert (WindReading.objects.count(), WindDay.objects.get().source) == (1, "measured")


@pytest.mark.parametrize(
    ("token", "scheme"), [(None, "Bearer"), ("", "Bearer"), ("guess", "Bearer"), ("guess", "Basic")]
)
def test_nobody_else_sends_any(station, token, scheme):
    answer = station(reading(), token=token, scheme=scheme)

    assert (answer.status_code, answer["WWW-Authenticate"]) == (401, "Bearer")
    assert "A manager makes a new one." in answer.json()["error"]
    assert not WindReading.objects.exists()


def test_one_farms_token_opens_no_other_farm(station, farm):
    other = make_farm()
    token = new_token(source=WeatherSource.objects.create(farm=other))

    assert station(reading(), token=token).status_code == 401


@pytest.mark.parametrize(
    ("body", "status", "said"),
    [
        (b"", 400, "empty"),
        (b"<html>", 400, "A web page came"),
        (reading(unit="parsec"), 400, "is not a speed"),
        (reading(gust=-4), 400, "must be a speed between 0 and"),
        (reading(at=datetime(2020, 1, 1, tzinfo=UTC)), 400, "in the future or too old"),
        (b" " * 10_001, 413, "at most 10 kB"),
    ],
    ids=["empty", "web page", "unit", "below zero", "old", "long"],
)
def test_what_is_no_reading_is_said_in_a_sentence(station, body, status, said):
    answer = station(body)

    assert answer.status_code == status
    assert said in answer.json()["error"]
    assert not WindReading.objects.exists()


def test_an_instrument_that_sends_without_end_is_slowed(station, settings):
    settings.CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "LOCATION": "station"}}
    answers = [station(b"{}").status_code for _ in range(302)]

    assert answers[:300] == [400] * 300
    assert answers[300:] == [429, 429]


def test_nothing_is_read_from_that_address(farm, client):
    assert client.get(url(farm, "weather-station")).status_code == 405


def test_the_token_is_shown_once(manager, farm):
    page = manager.post(url(farm), {"action": "token"})
    token = page.context["token"]

    assert token in page.content.decode()
    assert "no-store" in page["Cache-Control"]
    assert token not in manager.get(url(farm)).content.decode()
    assert token not in WeatherSource.objects.get(farm=farm).anemometer_hash


# Calm hours ---------------------------------------------------------------------------------


@pytest.fixture
def job(farm):
    WorkHours.objects.create(farm=farm, work_from="00:00", work_until="23:59")
    routine = make_routine(farm, needs_dry=True, most_gust_m_s="2.24", target="component", minutes=60)
    roof = make_component(make_tunnel(farm, code="T04"), kind="roof_film")
    return make_job(make_plan(routine, roof), until_on="2026-01-02", due_on="2026-01-01")


def test_a_jobs_card_says_when_it_is_calm(manager, farm, job):
    make_forecast(farm, [spell(timezone.now(), 30, gust=4 * MPH, rain=0.0)], issued_at=hour_ago(1))

    text = text_of(manager.get(reverse("job", args=[farm.slug, job.pk])))

    assert "gusts up to 4 mph, dry" in text


def test_a_calm_time_is_booked_from_the_list(manager, farm, job):
    make_forecast(farm, [spell(timezone.now(), 30, gust=4 * MPH, rain=0.0)], issued_at=hour_ago(1))
    page = manager.get(reverse("due", args=[farm.slug])).content.decode()
    fields = dict(re.findall(r'name="(later-[a-z]+)" value="([^"]*)"', page))

    manager.post(reverse("job-change", args=[farm.slug, job.pk]), {**fields, "action": "put-off"})

    job.refresh_from_db()
    assert job.until_on.isoformat() == fields["later-until"]
    assert "gusts up to 4 mph" in job.events.get().note


def test_where_no_time_is_calm_the_reason_is_said(manager, farm, job):
    make_forecast(farm, [spell(timezone.now(), 30, gust=20 * MPH, rain=0.0)], issued_at=hour_ago(1))

    assert re.search(r"No time found\. Of .* working hours ahead: wind", text_of(manager.get(url(farm))))


def test_an_old_forecast_finds_no_calm(manager, farm, job):
    make_forecast(farm, [spell(timezone.now(), 30, gust=4 * MPH, rain=0.0)], issued_at=hour_ago(8))

    assert "too old to find calm hours by" in text_of(manager.get(url(farm)))


def test_without_work_that_minds_the_weather_nothing_is_said(manager, farm):
    make_forecast(farm, [spell(timezone.now(), 30, gust=4 * MPH)], issued_at=hour_ago(1))

    assert "Calm hours" not in text_of(manager.get(url(farm)))
