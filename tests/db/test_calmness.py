"""The forecast offers hours to work in, or says what stands in their way."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from doors.models import StockMove
from maintenance.models import WeatherSource, WorkHours
from maintenance.skies.calmness import offers, waiting
from maintenance.skies.latest import daylight_of, forecast_of, shifts_of
from tests.factories import make_component, make_farm, make_material, make_tunnel
from tests.skies import HOUR, MPH, make_forecast, spell
from tests.upkeep_rows import make_job, make_plan, make_routine

pytestmark = pytest.mark.django_db

ZONE = ZoneInfo("America/New_York")
SUNDAY = datetime(2026, 11, 29, 18, tzinfo=ZONE)
MONDAY = datetime(2026, 11, 30, tzinfo=ZONE)
MINUTES = timedelta(minutes=1)


def fahrenheit(degrees):
    return (degrees - 32) / 1.8 + 273.15


def monday(gust=4, rain=0.0, temperature=45):
    """Return the demo's Monday: all of it windy and cold but 08:00 to 11:30."""
    rough = {"gust": 12 * MPH, "wind": 6 * MPH, "rain": 0.0, "temperature": fahrenheit(45)}
    calm = {"gust": gust * MPH, "wind": 2 * MPH, "rain": rain, "temperature": fahrenheit(temperature)}
    return [
        spell(MONDAY.astimezone(UTC), 8, **rough),
        spell((MONDAY + 8 * HOUR).astimezone(UTC), 3.5, **calm),
        spell((MONDAY + 11.5 * HOUR).astimezone(UTC), 12.5, **rough),
    ]


@pytest.fixture
def farm():
    return make_farm(time_zone="America/New_York", latitude_deg=Decimal("42.51"), longitude_deg=Decimal("-76.79"))


def film_job(farm, **values):
    """Make the job of replacing a roof's film, which takes a day but only some hours of calm."""
    routine = make_routine(
        farm, target="component", trigger="age", answer="replaced", needs_dry=True, needs_daylight=True,
        most_gust_m_s=Decimal("2.24"), least_temperature_k=Decimal("277.59"), minutes=480, crew=6,
        parts=[{"material": "film", "quantity": 1}],
    )  # fmt: skip
    roof = make_component(make_tunnel(farm, code="T04"), kind="roof_film")
    return make_job(make_plan(routine, roof), **{"until_on": date(2026, 10, 1), "due_on": date(2026, 9, 1), **values})


def found(farm, now=SUNDAY):
    return [
        [(one.start.astimezone(ZONE), one.end.astimezone(ZONE)) for one in offer.windows]
        for offer in offers(farm=farm, now=now)
    ]


def test_a_calm_monday_morning_is_offered_to_the_film(farm):
    make_forecast(farm, monday(), issued_at=SUNDAY)
    job = film_job(farm)

    assert found(farm) == [[(MONDAY + 8 * HOUR, MONDAY + 11.5 * HOUR)]]
    window = offers(farm=farm, now=SUNDAY)[0].windows[0]
    assert offers(farm=farm, now=SUNDAY)[0].job == job
    assert window.most_gust == pytest.approx(4 * MPH)
    assert window.least_temperature == pytest.approx(fahrenheit(45))


def test_what_has_passed_of_a_window_is_offered_no_more(farm):
    make_forecast(farm, monday(), issued_at=MONDAY + 7 * HOUR)
    film_job(farm)

    assert found(farm, MONDAY + 9 * HOUR) == [[(MONDAY + 9 * HOUR, MONDAY + 11.5 * HOUR)]]
    assert found(farm, MONDAY + 10 * HOUR) == [[]]  # less than two hours are left


@pytest.mark.parametrize(
    ("weather", "reason"), [({"gust": 6}, "wind"), ({"rain": 0.001}, "rain"), ({"temperature": 39}, "cold")]
)
def test_where_nothing_fits_the_reason_is_said(farm, weather, reason):
    make_forecast(farm, monday(**weather), issued_at=SUNDAY)
    film_job(farm)

    offer = offers(farm=farm, now=SUNDAY)[0]

    assert offer.windows == ()
    lost = {name: getattr(offer.hold_ups, name) for name in ("rain", "cold")}
    assert {name for name, time in lost.items() if time} == {reason} - {"wind"}
    # of the ten hours from seven to five; the wind takes all but the morning, or that too
    assert offer.hold_ups.wind == (10 * HOUR if reason == "wind" else 6.5 * HOUR)


@pytest.mark.parametrize(("factor", "count"), [("1.00", 1), ("1.30", 0)])
def test_the_farms_own_gusts_count(farm, factor, count):
    make_forecast(farm, monday(), issued_at=SUNDAY)
    WeatherSource.objects.create(farm=farm, gust_factor=Decimal(factor))
    film_job(farm)

    assert len(found(farm)[0]) == count


def test_who_acts_on_the_upper_value_finds_less(farm):
    rows = [{**row, "upper_gust": row["gust"] * 1.5} for row in monday()]
    make_forecast(farm, rows, issued_at=SUNDAY)
    source = WeatherSource.objects.create(farm=farm)
    film_job(farm)
    assert len(found(farm)[0]) == 1

    source.acts_on_upper = True
    source.save()

    assert found(farm) == [[]]


def test_a_gust_that_is_not_known_is_not_calm(farm):
    rows = [{**row, "gust": None, "wind": None} for row in monday()]
    make_forecast(farm, rows, issued_at=SUNDAY)
    film_job(farm)

    offer = offers(farm=farm, now=SUNDAY)[0]

    assert (offer.windows, offer.hold_ups.unknown) == ((), 10 * HOUR)


@pytest.mark.parametrize("hours", [6, 7])
def test_an_old_forecast_offers_nothing(farm, hours):
    make_forecast(farm, monday(), issued_at=SUNDAY - hours * HOUR)
    film_job(farm)

    sky = forecast_of(farm=farm, now=SUNDAY)

    assert (sky.is_stale, sky.age, len(found(farm))) == (hours > 6, hours * HOUR, hours <= 6)


def test_late_film_comes_before_other_late_work(farm):
    make_forecast(farm, monday(), issued_at=SUNDAY)
    other = make_job(
        make_plan(make_routine(farm, needs_dry=True), make_tunnel(farm)), due_on=date(2026, 1, 1),
        until_on=date(2026, 1, 2),
    )  # fmt: skip
    indoors = make_job(make_plan(make_routine(farm), make_tunnel(farm)))
    film = film_job(farm)

    assert [offer.job for offer in offers(farm=farm, now=SUNDAY)] == [film, other]
    assert indoors not in [offer.job for offer in offers(farm=farm, now=SUNDAY)]


def test_work_that_waits_for_other_work_is_offered_and_says_so(farm):
    make_forecast(farm, monday(), issued_at=SUNDAY)
    film = film_job(farm)
    film.waits_for.add(make_job(make_plan(make_routine(farm), make_tunnel(farm))))

    offer = offers(farm=farm, now=SUNDAY)[0]

    assert (offer.is_held, len(offer.windows)) == (True, 1)


def test_the_sheet_in_the_store_is_known(farm):
    make_forecast(farm, monday(), issued_at=SUNDAY)
    film_job(farm)
    sheet = make_material(farm, kind="film", name="Sheet of 6 mil")
    before = offers(farm=farm, now=SUNDAY)[0]

    StockMove.objects.create(farm=farm, material=sheet, quantity=1, on=date(2026, 11, 1), reason="bought")

    after = offers(farm=farm, now=SUNDAY)[0]
    assert [(one.has_parts, one.has_sheet) for one in (before, after)] == [(False, False), (True, True)]


def test_the_queries_do_not_grow_with_the_jobs(farm):
    make_forecast(farm, monday(), issued_at=SUNDAY)
    film_job(farm)
    with CaptureQueriesContext(
        connection,
    ) as one:
        offers(farm=farm, now=SUNDAY)
    routine = make_routine(farm, needs_dry=True)
    for _ in range(3):
        make_job(make_plan(routine, make_tunnel(farm)))

    with CaptureQueriesContext(connection) as four:
        assert len(offers(farm=farm, now=SUNDAY)) == 4

    assert len(four) == len(one)


def test_working_hours_follow_the_farms_clock_over_both_changes(farm):
    # US clocks went forward on 8 March 2026 and back on 1 November: 15 U.S.C. 260a
    spring = shifts_of(farm=farm, start=date(2026, 3, 7), days=2)
    autumn = shifts_of(farm=farm, start=date(2026, 10, 31), days=2)

    assert [begins.hour for begins, _ends in (*spring, *autumn)] == [12, 11, 11, 12]
    assert {ends - begins for begins, ends in (*spring, *autumn)} == {10 * HOUR}


def test_a_night_shift_gains_and_loses_the_hour(farm):
    nights = WorkHours(farm=farm, work_from=datetime(1, 1, 1, 0, 30).time(), work_until=datetime(1, 1, 1, 4).time())

    lengths = [
        ends - begins
        for day in (date(2026, 3, 8), date(2026, 11, 1))
        for begins, ends in shifts_of(farm=farm, start=day, days=1, hours=nights)
    ]

    assert lengths == [2.5 * HOUR, 4.5 * HOUR]


def test_there_is_light_by_day_only(farm):
    # NOAA's solar calculator for 42.51 N 76.79 W, 30 November 2026: civil dawn and dusk about 06:45 and 17:06 (by
    # memory, within five minutes)
    [(dawn, dusk)] = daylight_of(farm=farm, start=date(2026, 11, 30), days=1)

    assert abs(dawn - (MONDAY + 6 * HOUR + 45 * MINUTES)) < 5 * MINUTES
    assert abs(dusk - (MONDAY + 17 * HOUR + 6 * MINUTES)) < 5 * MINUTES


def test_a_farm_without_a_place_has_no_daylight_but_its_work_is_offered(farm):
    farm.latitude_deg = farm.longitude_deg = None
    farm.save()
    make_forecast(farm, monday(), issued_at=SUNDAY)
    film_job(farm)

    assert daylight_of(farm=farm, start=date(2026, 11, 30), days=1) == []
    assert found(farm) == [[(MONDAY + 8 * HOUR, MONDAY + 11.5 * HOUR)]]


def test_the_film_plan_asks_for_film_alone(farm):
    make_job(make_plan(make_routine(farm, needs_dry=True), make_tunnel(farm)))
    film = film_job(farm)

    assert waiting(farm=farm, now=SUNDAY, only_film=True) == [film]
    assert len(waiting(farm=farm, now=SUNDAY)) == 2
