"""Advice: every change is read again on the changed door; what gains nothing over a cheaper change is not given."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from doors.mechanics.assess import read_wind
from doors.mechanics.strength import Strengths
from doors.mechanics.upgrade import WORTHWHILE, advise, plan_upgrades, upgrades
from doors.sizing import FOOT, INCH, DoorKind, Rules, frame_of, given_of, work_out
from tests.hung_doors import make_door, make_site, make_tube

STOCK = (make_tube(2.375, name="2 3/8"), make_tube(1.9, name="1.9"), make_tube(1.66, 0.109, name="1.66 heavy"),
         make_tube(1.315, name="1.315"))  # fmt: skip
KINDS = (DoorKind.MID_BAR, DoorKind.BOTTOM_BAR)
SOLID_HEADER = Strengths(header_plies=1)


def limit(opening, site, rules):
    return read_wind(opening, site, Strengths(), rules)[-1].limit


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("width", [8, 12, 16, 20])
@pytest.mark.parametrize("spacing", [None, 6.0])
def test_every_advice_is_what_the_changed_door_stands(kind, width, spacing):
    opening, rules = make_door(width, 10, kind), Rules()
    site = make_site(hold_down_spacing=spacing and spacing * FOOT)
    before = limit(opening, site, rules)
    found = upgrades(opening, site, Strengths(), rules, stock=STOCK)

    for upgrade in found:
        assert upgrade.advice.before == before
        assert upgrade.advice.after == limit(upgrade.opening, upgrade.site, upgrade.rules)
        assert upgrade.advice.after > before * WORTHWHILE
    assert [one.advice for one in found] == list(advise(opening, site, Strengths(), rules, stock=STOCK))
    assert [one.advice.after for one in found] == sorted((one.advice.after for one in found), reverse=True)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("width", [8, 12, 16, 20])
def test_of_one_change_a_dearer_variant_gains_on_the_cheaper(kind, width):
    found = advise(make_door(width, 10, kind), make_site(hold_down_spacing=None), Strengths(), Rules(), stock=STOCK)
    for change in {advice.change for advice in found}:
        same = sorted((advice for advice in found if advice.change == change), key=lambda advice: advice.after)
        assert all(dear.after > cheap.after * WORTHWHILE for cheap, dear in pairwise(same))
        if change == "hold_downs":  # closer ones come dearer
            assert [advice.size for advice in same] == sorted((advice.size for advice in same), reverse=True)
        elif change != "larger_sill_tube":
            assert [advice.tube_length for advice in same] == sorted(advice.tube_length for advice in same)


def test_closer_hold_downs_that_gain_nothing_are_not_advised():
    """With hooks of 10 kN it is not they that give at 4 ft: 3 ft raise the limit by less than 3 %."""
    opening, site, strong = make_door(16), make_site(hold_down_spacing=None), Strengths(hold_down=1e4)
    sizes = [one.size for one in advise(opening, site, strong, Rules()) if one.change == "hold_downs"]
    at = {
        feet: read_wind(opening, replace(site, hold_down_spacing=feet * FOOT), strong, Rules())[-1].limit
        for feet in (3, 4)
    }

    assert at[3] <= at[4] * WORTHWHILE
    assert sizes == [4 * FOOT]


def test_what_a_change_takes():
    """12 x 10 ft without hold-downs. Hold-downs 4 ft apart: 3 spaces, 4 hooks. An inner tube is as long as the sheet's.

    36 in deep instead of 24: 12 in on both tubes. A larger tube is bought new, whole.
    """
    opening, rules, site = make_door(12), Rules(), make_site(hold_down_spacing=None)
    figures = work_out(given_of(opening, frame_of(opening.wall)), rules, winds_at_mid_height=True)
    found = advise(opening, site, Strengths(), rules, stock=STOCK)
    by_change = {}
    for advice in found:
        by_change.setdefault(advice.change, advice)
    deeper = next(one for one in found if one.change == "deeper_tubes" and one.size == pytest.approx(36 * INCH))

    assert by_change["hold_downs"].count == 4
    assert by_change["hold_downs"].tube_length == 0
    assert (deeper.count, deeper.tube_length) == (2, pytest.approx(2 * 12 * INCH))
    inner = by_change["inner_supports"]
    assert inner.tube_length == pytest.approx(inner.count * float(figures.billow_length))
    assert inner.stud_length == pytest.approx(inner.count * 10 * FOOT)
    assert inner.rods == inner.count
    larger = by_change["larger_anti_billow_tube"]
    assert larger.count == 2
    assert larger.tube_length == pytest.approx(2 * float(figures.billow_length))
    assert larger.name in {tube.name for tube in STOCK}


def test_a_stronger_bar_where_the_bar_gives():
    """Strong ground and hooks leave the bar the weakest; the thicker wall of the same tube counts as stronger."""
    opening, site = make_door(12), make_site(stud_depth=7.5 * INCH)
    strong = Strengths(hold_down=1e5)
    rules = Rules(post_embedment=60 * INCH)
    found = advise(opening, site, strong, rules, stock=(make_tube(1.66, 0.109, name="heavy"), make_tube(1.315)))
    figures = work_out(given_of(opening, frame_of(opening.wall)), rules, winds_at_mid_height=True)
    bars = [advice for advice in found if advice.change == "larger_turning_tube"]

    assert read_wind(opening, site, strong, rules)[-1].governing.name in ("bar_inward", "bar_outward")
    assert [bar.name for bar in bars] == ["heavy"]
    assert bars[0].tube_length == pytest.approx(float(figures.turning_bar.length))


def test_a_sill_bar_where_it_gives():
    opening = make_door(12)
    thin = replace(opening, design=replace(opening.design, sill_tube=make_tube(0.84, 0.049)))
    site = make_site(hold_down_spacing=None, stud_depth=7.5 * INCH)
    rules = Rules(post_embedment=60 * INCH)
    found = advise(thin, site, Strengths(), rules, stock=STOCK)
    figures = work_out(given_of(thin, frame_of(thin.wall)), rules, winds_at_mid_height=True)
    bars = [advice for advice in found if advice.change == "larger_sill_tube"]

    assert bars[0].tube_length == pytest.approx(float(figures.sill_bar.length))
    bottom = replace(thin, kind=DoorKind.BOTTOM_BAR)
    assert all(advice.change != "larger_sill_tube" for advice in advise(bottom, site, Strengths(), rules, stock=STOCK))


def test_an_unknown_bar_length_is_told_as_none():
    opening = replace(make_door(12), offset=None)
    rules = Rules(post_embedment=60 * INCH)
    found = advise(opening, make_site(), Strengths(hold_down=1e5), rules, stock=STOCK)
    bars = [advice for advice in found if advice.change == "larger_turning_tube"]

    assert bars
    assert all(bar.tube_length == 0 for bar in bars)


@pytest.mark.parametrize("unknown", ["soil", "stud_depth"])
def test_no_advice_where_the_limit_is_not_known(unknown):
    site = make_site(**{unknown: None})

    assert np.isnan(limit(make_door(), site, Rules()))
    assert advise(make_door(), site, Strengths(), Rules(), stock=STOCK) == ()
    assert plan_upgrades(make_door(), site, Strengths(), Rules(), stock=STOCK) == ()


def test_without_a_design_only_what_is_there_is_changed():
    bare = replace(make_door(), design=replace(make_door().design, sill_tube=None, anti_billow_tube=None))

    assert advise(bare, make_site(), Strengths(), Rules(), stock=STOCK) == ()


def test_a_tube_too_large_for_the_opening_is_passed_over():
    """0.48 m of bar in an opening of 0.53 m leaves no door."""
    low = make_door(12, 1.75)
    huge = make_tube(19.0, 0.5, name="huge")
    found = advise(low, make_site(), Strengths(), Rules(), stock=(huge,))

    assert all(advice.change != "larger_turning_tube" for advice in found)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("width", [12, 20])
def test_a_plan_climbs_step_by_step(kind, width):
    opening, site, rules = make_door(width, 10, kind), make_site(hold_down_spacing=None), Rules()
    plan = plan_upgrades(opening, site, Strengths(), rules, stock=STOCK)
    best = advise(opening, site, Strengths(), rules, stock=STOCK)[0]

    assert 1 <= len(plan) <= 3
    assert plan[0] == best
    assert all(later.before == earlier.after for earlier, later in pairwise(plan))
    assert all(step.after > step.before for step in plan)
    assert plan[-1].after > plan[-1].before * WORTHWHILE


def test_a_plan_followed_by_hand_stands_what_it_says():
    opening, site, rules = make_door(16), make_site(hold_down_spacing=None), Rules()
    plan = plan_upgrades(opening, site, Strengths(), rules, stock=STOCK)
    for step in plan:
        found = {one.advice: one for one in upgrades(opening, site, Strengths(), rules, stock=STOCK, least=1.0)}
        chosen = found[step]
        opening, site, rules = chosen.opening, chosen.site, chosen.rules

    assert limit(opening, site, rules) == plan[-1].after


def test_where_two_links_are_equally_weak_only_a_plan_helps():
    """16 ft, solid header, hold-downs 6 ft apart: tubes, hooks and soil give at 331, 337 and 349 Pa."""
    opening, site = make_door(16), make_site(hold_down_spacing=6 * FOOT)
    plan = plan_upgrades(opening, site, SOLID_HEADER, Rules(), stock=STOCK)

    assert advise(opening, site, SOLID_HEADER, Rules(), stock=STOCK) == ()
    assert len(plan) == 3
    assert plan[0].after < plan[0].before * WORTHWHILE
    assert plan[-1].after > plan[0].before * 1.1
    assert "hold_downs" in {step.change for step in plan}


def test_a_plan_ends_with_a_step_worth_taking():
    opening, site = make_door(16), make_site(hold_down_spacing=6 * FOOT)

    assert plan_upgrades(opening, site, SOLID_HEADER, Rules(), stock=STOCK, steps=1) == ()


def test_a_door_that_nothing_helps_gets_no_plan():
    """Film of next to no strength gives first, whatever is done to the frame."""
    site, weak_film = make_site(hold_down_spacing=3 * FOOT), Strengths(film_yield=0.2e6)

    assert read_wind(make_door(12), site, weak_film, Rules())[-1].governing.name == "film"
    assert plan_upgrades(make_door(12), site, weak_film, Rules(), stock=STOCK) == ()


def test_film_past_its_life_is_best_replaced():
    site = make_site(film_left=0.1, hold_down_spacing=3 * FOOT)

    assert advise(make_door(12), site, Strengths(), Rules(), stock=STOCK)[0].change == "new_film"
