"""Services are asked once for all farms in a cell, left alone when they fail, and what they said is kept."""

import threading
import zlib
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection

from maintenance.models import Forecast, StormLook, WeatherAlert, WeatherCell, WeatherSource
from maintenance.skies.codec import spells_from_json
from maintenance.skies.keeping import drop_old, original_of
from maintenance.skies.latest import forecast_of
from maintenance.skies.polling import poll_sources
from maintenance.skies.sources import choose
from maintenance.weather.client import Caller
from tests.skies import (
    ALERTS,
    GRID,
    HOUR,
    METEO,
    POINTS,
    asked_of,
    make_forecast,
    meteo,
    nws,
    patient,
    spell,
    urls,
    watching,
)
from tests.standin import EXPIRED, Answer, StandIn, json_answer, problem
from tests.weather_documents import NOW, START, alert, alerts, dumped, gridpoint, open_meteo, points

pytestmark = pytest.mark.django_db

MINUTE = timedelta(minutes=1)
STUMBLE = Answer(b"", status=500, kind="text/plain")
HTML = Answer(b"<html><body>Down for repair</body></html>", kind="text/html")


@pytest.fixture
def standin():
    with StandIn() as standin:
        yield standin


def poll(standin, now=NOW):
    return poll_sources(now=now, base_urls=urls(standin), caller=patient())


def state(farm):
    """Return how it went with a farm's cell: what was heard when, and what is wrong."""
    cell = WeatherSource.objects.select_related("cell").get(farm=farm).cell
    return cell.heard_at, cell.failures, cell.error


def test_two_farms_in_one_cell_are_asked_for_once(standin):
    meteo(standin)
    here, there = watching(), watching(latitude_deg="41.2604", longitude_deg="-96.4996")

    poll(standin)

    assert asked_of(standin, METEO) == 1
    assert Forecast.objects.count() == 1
    skies = [forecast_of(farm=farm, now=NOW) for farm in (here, there)]
    assert skies[0].forecast == skies[1].forecast
    assert skies[0].spells[0].gust == 12.0  # m/s, the stand-in's first


def test_two_farms_in_one_grid_cell_of_nws_share_its_forecast(standin):
    nws(standin)
    standin.on("/points/41.27,-96.5", json_answer(points()))
    farms = [watching("nws"), watching("nws", latitude_deg="41.27")]

    poll(standin)

    assert asked_of(standin, GRID) == 1
    assert {forecast_of(farm=farm, now=NOW).forecast.pk for farm in farms} == {Forecast.objects.get().pk}
    cells = WeatherSource.objects.values_list("cell__kind", "cell__key")
    assert set(cells) == {("nws", "QQZ/12,34")}


def test_the_grid_address_is_asked_for_once(standin):
    nws(standin)
    watching("nws")

    poll(standin)
    poll(standin, NOW + 30 * MINUTE)

    assert asked_of(standin, POINTS) == 1
    assert asked_of(standin, GRID) == 2


def test_a_service_is_not_asked_before_the_farm_wants_it(standin):
    meteo(standin)
    watching(poll_minutes=60)

    asked = [poll(standin, NOW + minutes * MINUTE) for minutes in (0, 5, 30, 55, 60)]

    assert asked == [1, 0, 0, 0, 1]


def test_the_most_eager_farm_sets_the_rhythm_of_a_cell(standin):
    meteo(standin)
    watching(poll_minutes=60)
    watching(poll_minutes=15)

    assert [poll(standin, NOW + minutes * MINUTE) for minutes in (0, 10, 15)] == [1, 0, 1]


def test_nothing_new_is_heard_but_not_kept_again(standin):
    document = json_answer(gridpoint(), headers={"ETag": '"one"'})
    nws(standin, [document])
    farm = watching("nws")
    poll(standin)

    later = NOW + 30 * MINUTE
    poll(standin, later)

    assert standin.asked[-2].headers["if-none-match"] == '"one"'
    assert Forecast.objects.count() == 1
    assert Forecast.objects.get().fetched_at == NOW
    assert state(farm) == (later, 0, "")


def test_the_answer_is_kept_as_it_came(standin):
    document = dumped(open_meteo())
    meteo(standin, Answer(document, kind="application/json"))
    watching()

    poll(standin)

    row = Forecast.objects.get()
    assert original_of(row) == document
    assert zlib.decompress(bytes(row.original)) == document
    assert spells_from_json(row.spells)[0].end == START  # the service gives the hour before each time


def test_a_service_that_stumbles_for_a_moment_is_asked_again_at_once(standin):
    meteo(standin, STUMBLE, json_answer(open_meteo(), kind="application/json"))
    farm = watching()

    poll(standin)

    assert asked_of(standin, METEO) == 2
    assert state(farm) == (NOW, 0, "")


def test_a_service_that_stays_down_is_said_and_left_alone_for_longer_each_time(standin):
    meteo(standin, STUMBLE)
    farm = watching(poll_minutes=30, oldest_hours=6)

    asked = [minutes for minutes in range(0, 600, 5) if poll(standin, NOW + minutes * MINUTE)]

    # 30 min doubled, but never beyond half of the six hours that the forecast may be old
    assert asked == [0, 60, 180, 360, 540]
    heard, failures, error = state(farm)
    assert (heard, failures) == (None, 5)
    assert "answered with status 500" in error
    assert WeatherSource.objects.get(farm=farm).error == error


def test_when_it_is_back_nothing_is_left_of_the_failure(standin):
    meteo(standin, *[STUMBLE] * 3, json_answer(open_meteo(), kind="application/json"))
    farm = watching()

    poll(standin)
    poll(standin, NOW + HOUR)

    assert state(farm) == (NOW + HOUR, 0, "")
    assert WeatherSource.objects.get(farm=farm).error == ""


@pytest.mark.parametrize(
    ("answer", "said"),
    [(HTML, "A web page came"), (problem(EXPIRED), "Forecast Grid Expired"), (json_answer({}), "is missing")],
)
def test_what_is_no_forecast_leaves_the_last_one_standing(standin, answer, said):
    nws(standin, [json_answer(gridpoint()), answer])
    farm = watching("nws")
    poll(standin)

    poll(standin, NOW + 30 * MINUTE)

    assert said in state(farm)[2]
    assert said in WeatherSource.objects.get(farm=farm).error
    assert forecast_of(farm=farm, now=NOW + 30 * MINUTE).forecast == Forecast.objects.get()


def test_one_service_that_fails_keeps_no_other_from_being_asked(standin):
    nws(standin, [problem(EXPIRED)])
    meteo(standin)
    broken, sound = watching("nws"), watching()

    poll(standin)

    assert state(broken)[1] == 1
    assert forecast_of(farm=sound, now=NOW) is not None


def test_a_cell_that_keeps_failing_is_looked_up_anew_for_grids_move(standin):
    nws(standin, [problem({"title": "Not Found", "status": 404, "detail": "No such grid."})])
    farm = watching("nws", poll_minutes=10)
    for number in range(3):
        poll(standin, NOW + number * 3 * HOUR)

    standin.on(POINTS, json_answer(points(gridX=13)))
    standin.on("/gridpoints/QQZ/13,34", json_answer(gridpoint()))
    poll(standin, NOW + 9 * HOUR)

    assert WeatherSource.objects.get(farm=farm).cell.key == "QQZ/13,34"
    assert state(farm) == (NOW + 9 * HOUR, 0, "")


def test_a_farm_that_moves_is_asked_for_where_it_lies_now(standin):
    meteo(standin)
    farm = watching()
    poll(standin)

    farm.latitude_deg = Decimal("44.5")
    farm.save(update_fields=["latitude_deg"])
    poll(standin, NOW + 5 * MINUTE)

    assert "latitude=44.5&" in standin.asked[-1].path
    assert WeatherSource.objects.get(farm=farm).cell.key == "44.50,-96.50"


def test_a_farm_without_a_place_asks_nothing(standin):
    farm = watching()
    farm.latitude_deg = None
    farm.save(update_fields=["latitude_deg"])

    assert poll(standin) == 0
    assert WeatherSource.objects.get(farm=farm).cell is None


def test_warnings_of_nws_come_to_the_farm_and_go_when_it_no_longer_names_them(standin):
    nws(standin)
    farm = watching("nws")
    poll(standin)

    row = WeatherAlert.objects.get(farm=farm)
    assert (row.event, row.severity, row.gone_at) == ("High Wind Warning", "Severe", None)
    assert [found.event for found in forecast_of(farm=farm, now=NOW).alerts] == ["High Wind Warning"]

    standin.on(ALERTS, json_answer({**alerts(), "features": []}))
    poll(standin, NOW + HOUR)

    assert WeatherAlert.objects.get(farm=farm).gone_at == NOW + HOUR
    assert forecast_of(farm=farm, now=NOW + HOUR).alerts == []


def test_a_warning_that_is_replaced_stands_no_more(standin):
    nws(standin)
    newer = alert(id="urn:oid:2", references=[{"identifier": "urn:oid:2.49.0.1.840.0.1"}], event="Extreme Wind Warning")
    farm = watching("nws")
    poll(standin)

    standin.on(ALERTS, json_answer(alerts(alert(), newer)))
    poll(standin, NOW + HOUR)

    assert [found.event for found in forecast_of(farm=farm, now=NOW + HOUR).alerts] == ["Extreme Wind Warning"]


def test_a_farm_that_joins_gets_the_warnings_that_have_not_changed(standin):
    nws(standin)
    standin.on(ALERTS, json_answer(alerts(), headers={"ETag": '"a"'}))
    watching("nws")
    poll(standin)

    farm = watching("nws")
    poll(standin, NOW + HOUR)

    assert WeatherAlert.objects.filter(farm=farm).count() == 1


def test_an_address_of_warnings_in_the_farms_own_network_is_refused(standin):
    farm = watching("typed", cap_url=f"{standin.url}/warnings.xml")

    poll_sources(now=NOW, base_urls=urls(standin))

    assert standin.asked == []
    assert "is inside a private network" in WeatherSource.objects.get(farm=farm).error


def test_with_another_source_the_old_ones_warnings_end(standin):
    nws(standin)
    farm = watching("nws")
    poll(standin)

    source = WeatherSource.objects.get(farm=farm)
    source.kind = "typed"
    choose(source=source, now=NOW + HOUR)

    assert WeatherAlert.objects.get(farm=farm).gone_at == NOW + HOUR
    assert source.cell is None


@pytest.mark.django_db(transaction=True)
def test_of_two_workers_at_once_one_asks(standin):
    meteo(standin)
    watching()
    ready = threading.Barrier(2)
    asked = []

    def work():
        ready.wait()
        try:
            asked.append(poll(standin))
        finally:
            connection.close()

    workers = [threading.Thread(target=work) for _ in range(2)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()

    assert sorted(asked) == [0, 1]
    assert asked_of(standin, METEO) == 1
    assert Forecast.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_no_transaction_is_open_while_a_service_is_asked(standin):
    meteo(standin, STUMBLE)
    watching()
    seen = []
    caller = Caller("Gablekeep tests", sleep=lambda _seconds: seen.append(connection.in_atomic_block))

    poll_sources(now=NOW, base_urls=urls(standin), caller=caller)

    assert seen == [False, False]


def test_old_forecasts_go_but_the_last_and_those_a_storm_was_judged_by_stay(standin):
    farm = watching("typed")
    rows = [make_forecast(farm, [spell(NOW)], issued_at=NOW - timedelta(days=days)) for days in (40, 30, 20, 15, 1)]
    storm = farm.storms.create(
        opened_at=NOW, begins_at=NOW, ends_at=NOW, peak_at=NOW, peak_gust_m_s=25, level=3, assessed_at=NOW
    )
    StormLook.objects.create(
        storm=storm, at=NOW, forecast=rows[1], level=3, peak_at=NOW, peak_gust_m_s=25, open_minutes=1, people=1,
        what="level",
    )  # fmt: skip
    other = make_forecast(watching("typed"), [spell(NOW)], issued_at=NOW - timedelta(days=90))

    drop_old(now=NOW)

    assert set(Forecast.objects.all()) == {rows[1], rows[4], other}


def test_a_poll_that_has_no_more_time_leaves_the_rest_for_the_next(standin):
    meteo(standin)
    watching()

    assert poll_sources(now=NOW, base_urls=urls(standin), caller=patient(), is_enough=lambda: True) == 0
    assert WeatherCell.objects.get().asked_at is None
