"""The store: what lies there is the sum of what came and went."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from doors.models import StockMove
from maintenance.models import Job, Plan, Routine
from maintenance.stores.store import StoreError, count, move, needs, reverse
from tests.factories import make_component, make_farm, make_material, make_tunnel

pytestmark = pytest.mark.django_db

MAY, JUNE = date(2024, 5, 1), date(2024, 6, 1)


@pytest.fixture
def clamp():
    """A clamp of which ten were bought in May."""
    material = make_material(kind="clamp", code="CLAMP", least_stock=4)
    move(farm=material.farm, material=material, quantity=Decimal(10), on=MAY, reason="bought")
    return material


def lies(material):
    """Return what lies in store of a material."""
    return StockMove.objects.of(material.farm).balances()[material.pk]


@pytest.mark.parametrize(("reason", "left"), [("bought", 13), ("returned", 13), ("used", 7), ("scrapped", 7)])
def test_the_reason_says_whether_pieces_come_or_go(clamp, reason, left):
    move(farm=clamp.farm, material=clamp, quantity=Decimal(3), on=JUNE, reason=reason)

    assert lies(clamp) == left


def test_a_count_corrects_the_list(clamp):
    made = count(farm=clamp.farm, material=clamp, found=Decimal("7.5"), on=JUNE)

    assert made.quantity == Decimal("-2.5")
    assert lies(clamp) == Decimal("7.5")


def test_a_count_that_agrees_moves_nothing(clamp):
    assert count(farm=clamp.farm, material=clamp, found=Decimal(10), on=JUNE) is None
    assert StockMove.objects.count() == 1


def test_a_count_written_down_later_leaves_what_came_after_it(clamp):
    move(farm=clamp.farm, material=clamp, quantity=Decimal(5), on=date(2024, 6, 10), reason="bought")

    count(farm=clamp.farm, material=clamp, found=Decimal(8), on=JUNE)

    assert lies(clamp) == 13


def test_what_is_put_back_lies_there_again(clamp):
    taken = move(farm=clamp.farm, material=clamp, quantity=Decimal(3), on=JUNE, reason="used")

    reverse(taken=taken, on=MAY)

    assert lies(clamp) == 10
    assert StockMove.objects.filter(reason="returned").get().on == JUNE  # never before it was taken


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"quantity": Decimal(0)}, "more than 0"),
        ({"quantity": Decimal(-1)}, "more than 0"),
        ({"reason": "counted"}, "Choose why"),
        ({"reason": ""}, "Choose why"),
    ],
)
def test_a_move_that_cannot_be_is_refused(clamp, values, words):
    given = {"farm": clamp.farm, "material": clamp, "quantity": Decimal(1), "on": JUNE, "reason": "used"}

    with pytest.raises(StoreError, match=words):
        move(**{**given, **values})

    assert lies(clamp) == 10


def test_another_farms_material_is_refused(clamp):
    farm = make_farm()

    with pytest.raises(StoreError, match="this farm's book"):
        move(farm=farm, material=clamp, quantity=Decimal(1), on=JUNE, reason="used")
    with pytest.raises(StoreError, match="this farm's book"):
        count(farm=farm, material=clamp, found=Decimal(1), on=JUNE)
    with pytest.raises(StoreError, match="0 or more"):
        count(farm=clamp.farm, material=clamp, found=Decimal(-1), on=JUNE)


def need_of(material, on=JUNE):
    """Return what is wanted of a material."""
    return next(need for need in needs(farm=material.farm, on=on) if need.material == material)


def open_job(farm, **values):
    """Open a job of a routine at the farm."""
    part = values.pop("component", None)
    given = {"code": "round", "name": {"en": "Round"}, "target": "farm", "trigger": "condition"}
    routine = Routine.objects.create(farm=farm, **{**given, **values})
    plan = Plan.objects.create(farm=farm, routine=routine, key="farm", counted_from=MAY, component=part)
    return Job.objects.create(
        farm=farm, plan=plan, due_on=MAY, until_on=JUNE, opened_at="2024-05-01T10:00:00Z"
    )  # fmt: skip


def test_what_lies_below_the_least_is_short(clamp):
    assert not need_of(clamp).is_short

    move(farm=clamp.farm, material=clamp, quantity=Decimal(7), on=JUNE, reason="used")

    assert need_of(clamp).is_short
    assert need_of(clamp).to_buy == 1  # 3 lie there, 4 should


def test_open_jobs_take_what_their_routine_names_and_what_they_renew(clamp):
    farm = clamp.farm
    part = make_component(make_tunnel(farm), material=clamp, quantity=6)
    open_job(farm, parts=[{"material": "CLAMP", "quantity": 2}], answer="replaced", component=part)
    done = open_job(farm, code="other", parts=[{"material": "CLAMP", "quantity": 50}])
    Job.objects.filter(pk=done.pk).update(state="done", ended_on=JUNE)

    need = need_of(clamp)

    # 2 + 6 are due and 4 should lie there after, 10 do: 2 are lacking.
    assert (need.due, need.to_buy) == (8, 2)


def test_failures_of_a_year_are_expected_again_and_a_fifth_more(clamp):
    tunnel = make_tunnel(clamp.farm)
    gone = {"material": clamp, "fitted_on": date(2020, 1, 1), "removal_reason": "broken"}
    make_component(tunnel, **gone, quantity=4, removed_on=MAY)
    make_component(tunnel, **{**gone, "removal_reason": "worn"}, failure_mode="bent", quantity=5, removed_on=MAY)
    make_component(tunnel, **{**gone, "removal_reason": "worn"}, quantity=50, removed_on=MAY)  # did not fail
    make_component(tunnel, **gone, quantity=50, removed_on=date(2023, 6, 2))  # just over a year ago

    need = need_of(clamp)

    # 9 x 1.2 = 10.8: eleven should lie there, ten do.
    assert (need.failed, need.spare, need.to_buy) == (9, 11, 1)


def test_film_is_counted_in_another_unit_than_parts(clamp):
    film = make_material(clamp.farm, kind="film", diameter_mm=None, wall_mm=None)
    gone = {"removed_on": JUNE, "removal_reason": "broken"}
    make_component(make_tunnel(clamp.farm), kind="roof_film", material=film, quantity=2, **gone)

    assert need_of(film).failed == 0


def test_a_material_no_longer_bought_is_listed_while_some_lies_there(clamp):
    old = make_material(clamp.farm, is_in_book=False)
    left = make_material(clamp.farm, is_in_book=False)
    move(farm=clamp.farm, material=left, quantity=Decimal(1), on=MAY, reason="bought")

    assert {need.material for need in needs(farm=clamp.farm, on=JUNE)} == {clamp, left}
    assert old not in {need.material for need in needs(farm=clamp.farm, on=JUNE)}
