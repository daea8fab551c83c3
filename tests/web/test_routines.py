"""The rules of upkeep on their pages: changed, looked at first, switched off, added."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from farm.models import Farm
from maintenance.models import Plan, Routine
from tests.factories import make_component, make_member, make_opening, make_tunnel, make_wall
from tests.forms import errors_of, filled_in, post, said

pytestmark = pytest.mark.django_db

NEW = {
    "name_en": "Oil the hinges", "rhythm": "cycle", "target": "tunnel", "trigger": "season", "season": "spring",
    "offset_days": "0", "every_years": "1", "window_days": "14", "minutes": "10", "crew": "1", "answer": "done",
}  # fmt: skip


@pytest.fixture
def seeded(client, bare_farm):
    """The farm with the routines of the trade, a tunnel and a door."""
    make_opening(make_wall(make_tunnel(bare_farm)))
    post(client, bare_farm, "routines")
    return bare_farm


def running(routine):
    """Return at how many places a routine runs."""
    return Plan.objects.running().filter(routine=routine).count()


def change(client, farm, routine, **data):
    """Change a routine on its page as somebody would who touches only some fields."""
    url = reverse("routine", args=[farm.slug, routine.pk])
    return client.post(url, {**filled_in(client, url), **data})


def stored(routine):
    """Return a routine's row."""
    return Routine.objects.filter(pk=routine.pk).values().get()


def test_a_farm_starts_with_the_routines_of_the_trade(client, seeded):
    page = client.get(reverse("routines", args=[seeded.slug]))

    assert Plan.objects.running().exists()
    assert {row.record.rhythm for _key, _name, table in page.context["tables"] for row in table.rows} == {
        "daily", "event", "cycle"
    }  # fmt: skip
    assert "Start with the routines" not in page.content.decode()


@pytest.mark.parametrize("units", ["us", "metric"])
def test_an_unchanged_routine_changes_nothing(client, seeded, units):
    Farm.objects.filter(pk=seeded.pk).update(units=units)

    for routine in Routine.objects.filter(farm=seeded).exclude(code="repair"):
        before, waits = stored(routine), set(routine.waits_for.all())
        assert change(client, seeded, routine).status_code == 302, routine.code
        assert stored(routine) == before
        assert set(routine.waits_for.all()) == waits


def test_a_gust_is_typed_in_the_readers_unit(client, bare_farm):
    make_tunnel(bare_farm)
    gust = {**NEW, "trigger": "gust", "season": ""}

    post(client, bare_farm, "routine-new", **gust, gust_m_s="45", most_gust_m_s="20", least_temperature_k="50")

    routine = Routine.objects.get(farm=bare_farm)
    # 45 mph x 0.44704 = 20.1168 m/s; 20 mph are 8.9408 m/s; 50 °F are 10 °C.
    assert (routine.gust_m_s, routine.most_gust_m_s) == (Decimal("20.12"), Decimal("8.94"))
    assert routine.least_temperature_k == Decimal("283.15")
    shown = filled_in(client, reverse("routine", args=[bare_farm.slug, routine.pk]))
    assert [shown[name] for name in ("gust_m_s", "most_gust_m_s", "least_temperature_k")] == ["45", "20", "50"]


def test_a_routine_of_the_farms_own_makes_plans(client, bare_farm):
    make_tunnel(bare_farm)
    make_tunnel(bare_farm)

    answer = post(
        client,
        bare_farm,
        "routine-new",
        **NEW,
        name_es="Aceitar bisagras",
        tools_en="oil\n\n rag ",
        parts="CLAMP; 4\nTAPE",
    )

    routine = Routine.objects.get(farm=bare_farm)
    assert "applies to 2 places" in said(answer)
    assert (routine.code, running(routine)) == ("oil-the-hinges", 2)
    assert routine.name == {"en": "Oil the hinges", "es": "Aceitar bisagras"}
    assert routine.tools == {"en": ["oil", "rag"]}
    assert routine.parts == [{"material": "CLAMP", "quantity": 4}, {"material": "TAPE", "quantity": 1}]


def test_two_routines_may_bear_one_name_and_none_the_code_of_repairs(client, bare_farm):
    for name in ("Oil", "Oil", "Repair"):
        post(client, bare_farm, "routine-new", **{**NEW, "name_en": name})

    assert list(Routine.objects.order_by("pk").values_list("code", flat=True)) == ["oil", "oil-2", "repair-2"]


def test_what_a_change_would_do_is_told_and_not_done(client, bare_farm):
    make_opening(make_wall(make_tunnel(bare_farm)))
    post(client, bare_farm, "routine-new", **NEW)
    routine = Routine.objects.get(farm=bare_farm)
    before = stored(routine)

    answer = change(client, bare_farm, routine, target="end_wall", look="1")

    assert "Nothing is saved yet. It applies to 2 places now." in answer.content.decode()
    assert stored(routine) == before
    assert running(routine) == 1

    answer = post(client, bare_farm, "routine-new", **{**NEW, "name_en": "Other"}, look="1")
    assert "It applies to 1 place now" in answer.content.decode()
    assert Routine.objects.count() == 1


def test_a_routine_is_switched_off_and_on(client, bare_farm):
    make_tunnel(bare_farm)
    post(client, bare_farm, "routine-new", **NEW)
    routine = Routine.objects.get(farm=bare_farm)

    post(client, bare_farm, "routine", routine.pk, switch="1")
    assert running(routine) == 0
    post(client, bare_farm, "routine", routine.pk, switch="1")
    assert running(routine) == 1


def test_a_routine_of_parts_reaches_the_kinds_chosen(client, bare_farm):
    tunnel = make_tunnel(bare_farm)
    make_component(tunnel, kind="cord")
    make_component(tunnel, kind="roof_film")

    post(client, bare_farm, "routine-new", **{**NEW, "target": "component"}, kinds=["cord"])

    assert running(Routine.objects.get(farm=bare_farm)) == 1


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"name_en": ""}, "name_en", "one language at least"),
        ({"season": ""}, "season", "goes with what brings"),
        ({"trigger": "calendar"}, "rule", "goes with what brings"),
        ({"trigger": "calendar", "rule": "FREQ=HOURLY"}, "rule", "FREQ must be"),
        ({"trigger": "calendar", "rule": "Mondays"}, "rule", "Not a rule"),
        ({"trigger": "calendar", "rule": "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30"}, "rule", "No day fits"),
        ({"trigger": "done"}, "after_days", "goes with what brings"),
        ({"trigger": "gust", "gust_m_s": ""}, "gust_m_s", "goes with what brings"),
        ({"trigger": "gust", "gust_m_s": "300"}, "gust_m_s", "at most 268 mph"),
        ({"trigger": "storms", "after_count": "0"}, "after_count", "goes with what brings"),
        ({"trigger": "age"}, "trigger", "Only a part has an age"),
        ({"trigger": "cycles", "after_count": "9"}, "trigger", "Only doors"),
        ({"kinds": ["cord"]}, "kinds", "do not go with the place"),
        ({"answer": "replaced"}, "answer", "Only a part can be replaced"),
        ({"answer": "screws"}, "answer", "Screws are checked at an opening"),
        ({"every_years": "0"}, "every_years", "1 for each year"),
        ({"offset_days": "93"}, "offset_days", "At most a season"),
        ({"minutes": "10081"}, "minutes", "Longer than a week"),
        ({"parts": "; 4"}, "parts", "not a part"),
        ({"parts": "CLAMP; many"}, "parts", "not a part"),
        ({"parts": "CLAMP; 0"}, "parts", "not a part"),
        ({"least_temperature_k": "warm"}, "least_temperature_k", "number"),
    ],
)
def test_a_rule_that_cannot_be_is_refused(client, bare_farm, data, field, words):
    assert words in errors_of(post(client, bare_farm, "routine-new", **{**NEW, **data}), field)
    assert not Routine.objects.exists()


def test_two_routines_do_not_wait_for_each_other(client, bare_farm):
    for name in ("First", "Then", "Last"):
        post(client, bare_farm, "routine-new", **{**NEW, "name_en": name})
    first, then, last = Routine.objects.order_by("pk")
    then.waits_for.add(first)
    last.waits_for.add(then)

    answer = change(client, bare_farm, first, waits_for=[last.pk])

    assert "“Last” waits for this one already" in errors_of(answer, "waits_for")


@pytest.mark.parametrize("role", ["viewer", "crew"])
def test_only_a_manager_sees_and_changes_the_rules(client, seeded, role):
    routine = Routine.objects.filter(farm=seeded).first()
    client.force_login(make_member(seeded, role).user)

    for page, args in (("routines", ()), ("routine-new", ()), ("routine", (routine.pk,))):
        assert client.get(reverse(page, args=[seeded.slug, *args])).status_code == 403
        assert post(client, seeded, page, *args).status_code == 403


def test_three_routines_cost_the_queries_of_one(client, bare_farm):
    def cost():
        with CaptureQueriesContext(connection) as queries:
            client.get(reverse("routines", args=[bare_farm.slug]))
        return len(queries)

    post(client, bare_farm, "routine-new", **NEW)
    one = cost()
    for name in ("Second", "Third"):
        post(client, bare_farm, "routine-new", **{**NEW, "name_en": name})

    assert cost() == one <= 7
