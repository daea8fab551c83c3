"""A farm is given the routines of the trade, once, and keeps what it makes of them."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from maintenance.models import Plan, Routine
from maintenance.plans.laying import lay_plans
from maintenance.practice.start import STARTERS, start_routines
from tests.factories import feet, make_component, make_farm, make_opening, make_tunnel, make_wall

pytestmark = pytest.mark.django_db


def links_of(farm):
    return set(Routine.waits_for.through.objects.filter(from_routine__farm=farm).values_list(
        "from_routine__code", "to_routine__code"
    ))  # fmt: skip


def test_a_new_farm_gets_every_routine_and_what_waits_for_what():
    farm = make_farm()

    start_routines(farm=farm)

    assert set(Routine.objects.of(farm).values_list("code", flat=True)) == {starter.code for starter in STARTERS}
    assert links_of(farm) == {(starter.code, code) for starter in STARTERS for code in starter.waits_for}


def test_words_numbers_and_conditions_arrive_as_they_are_kept():
    farm = make_farm()

    start_routines(farm=farm)

    film = Routine.objects.of(farm).get(code="roof-film-age")
    assert film.name == {"en": "Replace the roof film", "es": "Cambiar el plástico del techo"}
    assert (film.target, film.kinds, film.trigger, film.answer) == ("component", ["roof_film"], "age", "replaced")
    assert (film.after_days, film.window_days, film.minutes, film.crew) == (1461, 730, 480, 6)
    assert (str(film.most_gust_m_s), str(film.least_temperature_k)) == ("2.24", "277.59")
    assert film.parts == [{"material": "film", "quantity": 1}, {"material": "wire", "quantity": 4}]
    assert film.checklist["en"][-1] == "Write the date on the tucked edge."
    assert film.checklist["es"][-1] == "Escriba la fecha en la orilla doblada."
    assert all(
        set(routine.checklist) == {"en", "es"} and len(routine.checklist["en"]) == len(routine.checklist["es"]) >= 3
        for routine in Routine.objects.of(farm)
    )


def test_a_second_start_changes_nothing():
    farm = make_farm()
    start_routines(farm=farm)
    before = list(Routine.objects.of(farm).order_by("pk").values()), links_of(farm)

    start_routines(farm=farm)

    assert (list(Routine.objects.of(farm).order_by("pk").values()), links_of(farm)) == before


def test_what_the_farm_changed_stays_and_what_it_lacks_comes_back():
    farm = make_farm()
    start_routines(farm=farm)
    own = Routine.objects.of(farm).get(code="clamp-screws-spring")
    own.name, own.minutes, own.is_active = {"en": "Ours", "es": "Lo nuestro"}, 25, False
    own.save(update_fields=["name", "minutes", "is_active"])
    own.waits_for.clear()
    Routine.objects.of(farm).get(code="door-film-age").delete()

    start_routines(farm=farm)

    own.refresh_from_db()
    assert (own.name["en"], own.minutes, own.is_active) == ("Ours", 25, False)
    assert not own.waits_for.exists()
    assert Routine.objects.of(farm).filter(code="door-film-age").exists()


def test_a_routine_that_comes_back_waits_for_those_that_stayed():
    farm = make_farm()
    start_routines(farm=farm)
    stayed = Routine.objects.of(farm).get(code="shade-off")
    Routine.objects.of(farm).get(code="roof-film-age").delete()

    start_routines(farm=farm)

    assert stayed in Routine.objects.of(farm).get(code="roof-film-age").waits_for.all()


def test_a_farm_waits_only_for_its_own_routines():
    first, second = make_farm(), make_farm()

    start_routines(farm=first)
    start_routines(farm=second)

    crossing = Routine.waits_for.through.objects.exclude(from_routine__farm=second, to_routine__farm=second)
    assert not crossing.exclude(from_routine__farm=first, to_routine__farm=first).exists()
    assert Routine.objects.of(second).count() == Routine.objects.of(first).count() == len(STARTERS)


@pytest.mark.parametrize(("starts", "most"), [(0, 5), (1, 1)])  # SQLite takes the rows in two
def test_a_start_takes_few_queries(starts, most):
    farm = make_farm()
    for _ in range(starts):
        start_routines(farm=farm)

    with CaptureQueriesContext(connection) as captured:
        start_routines(farm=farm)

    asked = [query["sql"] for query in captured if "SAVEPOINT" not in query["sql"]]
    assert 0 < len(asked) <= most


def planned(farm, **place):
    return set(Plan.objects.of(farm).filter(**place).values_list("routine__code", flat=True))


def test_a_wide_film_door_and_a_person_door_get_what_suits_them():
    farm = make_farm()
    wall = make_wall(make_tunnel(farm))
    wide = make_opening(wall, rough_width_mm=feet(16))
    narrow = make_opening(wall, rough_width_mm=feet(10))
    person = make_opening(wall, kind="person", rough_width_mm=feet(3))
    start_routines(farm=farm)

    lay_plans(farm=farm, on=date(2026, 9, 1))

    of_film_doors = {
        "clamp-screws-spring", "clamp-screws-autumn", "clamp-screws-gust", "door-drive", "door-spring", "door-autumn",
        "door-cycles", "door-winter",
    }  # fmt: skip
    assert planned(farm, opening=narrow) == of_film_doors
    assert planned(farm, opening=wide) == of_film_doors | {"bar-joints-wide"}
    assert planned(farm, opening=person) == {"door-latch"}


@pytest.mark.parametrize(
    ("values", "added"),
    [
        ({"film_layers": 1}, set()),
        ({"film_layers": 2}, {"blower-weekly", "after-blow-pressure"}),
        ({"has_left_rollup": True}, {"side-anchors-off", "side-anchors-on"}),
    ],
)
def test_a_tunnel_gets_what_suits_it(values, added):
    farm = make_farm()
    tunnel = make_tunnel(farm, **values)
    start_routines(farm=farm)

    lay_plans(farm=farm, on=date(2026, 9, 1))

    assert planned(farm, key=f"tunnel-{tunnel.pk}") == added | {
        "frame-spring", "frame-autumn", "channel-screws-spring", "channel-screws-autumn", "connections-storms",
        "drainage-autumn", "drainage-rain", "film-tape", "storm-check", "after-blow",
    }  # fmt: skip


def test_parts_get_what_suits_them():
    farm = make_farm()
    tunnel = make_tunnel(farm)
    roof = make_component(tunnel, kind="roof_film", fitted_on=date(2026, 8, 31))
    shade = make_component(tunnel, kind="shade", fitted_on=date(2025, 5, 28))
    screws = make_component(make_opening(make_wall(tunnel)), kind="clamp_screw", fitted_on=date(2026, 8, 31))
    start_routines(farm=farm)

    lay_plans(farm=farm, on=date(2026, 9, 1))

    assert planned(farm, component=roof) == {
        "roof-film-age", "roof-film-dose", "connection-check", "channel-screws-first", "channel-screws-30-days",
    }  # fmt: skip
    assert planned(farm, component=shade) == {"shade-on", "shade-off"}
    first = Plan.objects.get(component=screws, routine__code="clamp-screws-first")
    assert (first.turn.due_on, first.turn.until_on) == (date(2026, 9, 1), date(2026, 9, 3))  # 24 to 72 h later
    film = Plan.objects.get(component=roof, routine__code="roof-film-age")
    assert (film.turn.due_on, film.turn.until_on) == (date(2030, 8, 31), date(2032, 8, 30))  # four years, then two
