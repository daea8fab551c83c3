"""The life of a part: fitted, replaced, down for a season, removed; and each taken back."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from doors.models import Component, LayUp, StockMove
from maintenance.models import Plan, Repair, Routine
from maintenance.stores.fitting import (
    FittingError,
    NewPart,
    Removal,
    correct,
    fit,
    lay_up,
    put_back,
    remove,
    replace,
    take_back,
)
from maintenance.stores.store import move
from tests.factories import make_component, make_farm, make_material, make_opening, make_tunnel, make_wall

pytestmark = pytest.mark.django_db

FITTED, ON, TODAY = date(2024, 5, 1), date(2024, 6, 10), date(2024, 6, 12)
TORN = Removal(reason="worn", mode="torn", cause="age")


@pytest.fixture
def film():
    """A door film in service since the first of May 2024."""
    opening = make_opening(make_wall(make_tunnel()))
    return make_component(opening, kind="door_film", spot="whole", fitted_on=FITTED, lot="L-1")


@pytest.fixture
def book(film):
    """A line of the film's farm's book, of which 600 lie in store."""
    material = make_material(film.farm, kind="film", diameter_mm=None, wall_mm=None)
    move(farm=film.farm, material=material, quantity=Decimal(600), on=FITTED, reason="bought")
    return material


@pytest.fixture
def check(film):
    """A routine for every door film, due a day after it was fitted."""
    return Routine.objects.create(
        farm=film.farm, code="tighten", name={"en": "Tighten"}, target="component", kinds=["door_film"],
        trigger="fitted", after_days=1, window_days=2,
    )  # fmt: skip


def balance(material):
    """Return what lies in store of a material."""
    return StockMove.objects.of(material.farm).balances()[material.pk]


def state(part):
    """Return what removal a part's row records."""
    part.refresh_from_db()
    return part.removed_on, part.removal_reason, part.failure_mode, part.failure_cause


IN_SERVICE = (None, "", "", "")


def test_a_part_is_replaced_on_one_day_without_a_gap(film, book):
    new = NewPart(material=book, quantity=Decimal(2), lot="L-2", printed_side="inside", from_store=Decimal(120))

    change = replace(component=film, on=ON, removal=TORN, new=new, today=TODAY)

    fresh = Component.objects.get(pk=change.fitted)
    assert state(film) == (ON, "worn", "torn", "age")
    assert (fresh.fitted_on, fresh.removed_on, fresh.replaces) == (ON, None, film)
    assert (fresh.kind, fresh.opening, fresh.spot) == ("door_film", film.opening, "whole")
    assert (fresh.material, fresh.quantity, fresh.lot, fresh.printed_side) == (book, 2, "L-2", "inside")
    assert list(Component.objects.in_service(ON).filter(kind="door_film")) == [fresh]
    used = StockMove.objects.get(reason="used")
    assert (used.quantity, used.component, used.on) == (-120, fresh, ON)


def test_a_replacement_is_taken_back_whole(film, book, check):
    new = NewPart(material=book, from_store=Decimal(120))
    change = replace(component=film, on=ON, removal=TORN, new=new, today=TODAY)

    take_back(farm=film.farm, facts=change.facts, today=TODAY)

    assert state(film) == IN_SERVICE
    assert list(Component.objects.filter(farm=film.farm)) == [film]
    assert balance(book) == 600
    assert Plan.objects.running().get(routine=check).component == film


def test_plans_follow_the_part_that_is_in_service(film, check):
    change = replace(component=film, on=ON, removal=TORN, new=NewPart(), today=TODAY)

    plan = Plan.objects.running().get(routine=check)
    assert (plan.component_id, plan.turn.due_on) == (change.fitted, ON + timedelta(days=1))


def test_a_corrected_day_moves_its_plan(film, check):
    change = replace(component=film, on=ON, removal=TORN, new=NewPart(), today=TODAY)
    fresh = Component.objects.get(pk=change.fitted)

    fresh.fitted_on = TODAY
    correct(component=fresh, columns=["fitted_on"], today=TODAY)

    assert Plan.objects.running().get(routine=check).turn.due_on == TODAY + timedelta(days=1)


def test_a_part_is_fitted_from_the_store_and_taken_back(film, book):
    part = Component(farm=film.farm, opening=film.opening, kind="shade", material=book, fitted_on=ON)
    change = fit(component=part, today=TODAY, from_store=Decimal(50))
    assert balance(book) == 550

    take_back(farm=film.farm, facts=change.facts, today=TODAY)

    assert not Component.objects.filter(kind="shade").exists()
    assert balance(book) == 600


def test_a_removal_is_taken_back(film):
    change = remove(component=film, on=ON, removal=TORN, today=TODAY)
    assert state(film) == (ON, "worn", "torn", "age")

    take_back(farm=film.farm, facts=change.facts, today=TODAY)

    assert state(film) == IN_SERVICE


def test_a_part_goes_down_for_the_season_and_up_again(film):
    lay_up(component=film, on=FITTED, today=TODAY)
    put_back(component=film, on=ON, today=TODAY)
    change = lay_up(component=film, on=ON, today=TODAY)

    assert list(LayUp.objects.order_by("off_on").values_list("off_on", "back_on")) == [(FITTED, ON), (ON, None)]

    take_back(farm=film.farm, facts=change.facts, today=TODAY)
    assert LayUp.objects.get().back_on == ON


def test_putting_back_is_taken_back(film):
    lay_up(component=film, on=FITTED, today=TODAY)
    change = put_back(component=film, on=ON, today=TODAY)

    take_back(farm=film.farm, facts=change.facts, today=TODAY)

    assert LayUp.objects.get().back_on is None


@pytest.mark.parametrize(
    ("on", "removal", "words"),
    [
        (TODAY + timedelta(days=1), TORN, "has not come yet"),
        (FITTED - timedelta(days=1), TORN, "was fitted on 2024-05-01"),
        (ON, Removal(reason=""), "why it was removed"),
    ],
)
def test_a_removal_that_cannot_be_is_refused(film, on, removal, words):
    with pytest.raises(FittingError, match=words):
        remove(component=film, on=on, removal=removal, today=TODAY)
    with pytest.raises(FittingError, match=words):
        replace(component=film, on=on, removal=removal, new=NewPart(), today=TODAY)

    assert state(film) == IN_SERVICE
    assert Component.objects.filter(farm=film.farm).count() == 1


def test_a_part_is_removed_once(film):
    stale = Component.objects.get(pk=film.pk)
    remove(component=film, on=ON, removal=TORN, today=TODAY)

    with pytest.raises(FittingError, match="removed on 2024-06-10 already"):
        remove(component=film, on=ON, removal=TORN, today=TODAY)
    with pytest.raises(FittingError, match="a moment ago"):
        replace(component=stale, on=ON, removal=TORN, new=NewPart(), today=TODAY)
    with pytest.raises(FittingError, match="already"):
        lay_up(component=film, on=ON, today=TODAY)

    assert Component.objects.filter(farm=film.farm).count() == 1


@pytest.mark.parametrize(
    ("new", "words"),
    [
        (NewPart(quantity=Decimal(0)), "above 0"),
        (NewPart(from_store=Decimal(1)), "Choose the material"),
    ],
)
def test_a_new_part_that_cannot_be_leaves_the_old_one_in_service(film, new, words):
    with pytest.raises(FittingError, match=words):
        replace(component=film, on=ON, removal=TORN, new=new, today=TODAY)

    assert state(film) == IN_SERVICE


def test_nothing_is_fitted_of_another_farms_book_or_tomorrow(film, book):
    other = make_material(make_farm())
    with pytest.raises(FittingError, match="this farm's book"):
        replace(component=film, on=ON, removal=TORN, new=NewPart(material=other), today=TODAY)
    new = NewPart(material=book, from_store=Decimal(0))
    with pytest.raises(FittingError, match="more than 0"):
        replace(component=film, on=ON, removal=TORN, new=new, today=TODAY)
    part = Component(farm=film.farm, opening=film.opening, kind="cord", fitted_on=TODAY + timedelta(days=1))
    with pytest.raises(FittingError, match="has not come yet"):
        fit(component=part, today=TODAY)

    assert film.removed_on is None
    assert state(film) == IN_SERVICE
    assert balance(book) == 600


def test_a_season_down_that_cannot_be_is_refused(film):
    with pytest.raises(FittingError, match="not down"):
        put_back(component=film, on=ON, today=TODAY)
    lay_up(component=film, on=ON, today=TODAY)
    with pytest.raises(FittingError, match="down since 2024-06-10"):
        lay_up(component=film, on=TODAY, today=TODAY)
    with pytest.raises(FittingError, match="Write a later day"):
        put_back(component=film, on=ON, today=TODAY)
    with pytest.raises(FittingError, match="taken down or put back on 2024-06-10"):
        remove(component=film, on=FITTED, removal=TORN, today=TODAY)
    put_back(component=film, on=TODAY, today=TODAY)
    with pytest.raises(FittingError, match="put back on 2024-06-12"):
        lay_up(component=film, on=ON, today=TODAY)


def test_what_has_a_history_is_not_taken_back(film):
    change = replace(component=film, on=ON, removal=TORN, new=NewPart(), today=TODAY)
    fresh = Component.objects.get(pk=change.fitted)
    Repair.objects.create(farm=film.farm, opening=film.opening, component=fresh, mode="torn", found_on=ON)

    with pytest.raises(FittingError, match="has a history"):
        take_back(farm=film.farm, facts=change.facts, today=TODAY)

    assert state(film)[0] == ON
    assert Component.objects.filter(pk=fresh.pk).exists()


def test_the_last_change_is_taken_back_first(film):
    removed = remove(component=film, on=ON, removal=TORN, today=TODAY)
    make_component(film.opening, kind="door_film", fitted_on=ON, replaces=film)
    with pytest.raises(FittingError, match="taken its place"):
        take_back(farm=film.farm, facts=removed.facts, today=TODAY)

    part = make_component(film.opening, kind="shade", fitted_on=FITTED)
    down = lay_up(component=part, on=FITTED, today=TODAY)
    up = put_back(component=part, on=ON, today=TODAY)
    with pytest.raises(FittingError, match="put back on 2024-06-10"):
        take_back(farm=film.farm, facts=down.facts, today=TODAY)
    lay_up(component=part, on=TODAY, today=TODAY)
    with pytest.raises(FittingError, match="taken down again"):
        take_back(farm=film.farm, facts=up.facts, today=TODAY)


def test_another_farms_change_is_not_taken_back(film):
    change = remove(component=film, on=ON, removal=TORN, today=TODAY)

    with pytest.raises(FittingError):
        take_back(farm=make_farm(), facts=change.facts, today=TODAY)

    assert state(film)[0] == ON
