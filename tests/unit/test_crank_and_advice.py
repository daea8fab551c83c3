"""Crank, sag and advice as the page says them."""

from __future__ import annotations

import math

import pytest

from doors.sizing import INCH, Tube
from doors.wind.advice import advice_lines
from doors.wind.cranking import read_crank
from doors.wind.reading import read
from doors.words.crank import crank_lines, sag_lines
from tests.wind_doors import make_bottom_bar, make_door

FEET = 12 * INCH
GRAVITY = 9.80665  # m/s²
STOCK = tuple(
    Tube(diameter=inches * INCH, wall=0.065 * INCH, stock_length=24 * FEET, name=f"{inches} in tube")
    for inches in (1.315, 1.66, 1.9)
)


def value_of(lines: list, name: str) -> str:
    return next(line.value for line in lines if line.name == name)


# Crank ---------------------------------------------------------------------------


def test_weight_of_a_bottom_bar_by_hand():
    # 1.660 x 0.065 in tube: pi x 1.595 x 0.065 in² x 490.1 lb/ft³ = 1.108 lb/ft
    weights = read_crank(make_bottom_bar()).weights
    door = make_bottom_bar()
    length = float(door.figures.turning_bar.length) / FEET
    clamps = float(door.figures.clamps.count) * 0.03 * GRAVITY

    gearbox = 2.5 * GRAVITY  # hangs on the bar's end
    assert float(weights.turning_bar) - clamps - gearbox == pytest.approx(1.108 * length * 4.44822, rel=1e-3)
    assert float(weights.sill_bar) == 0.0


def test_a_slower_gear_makes_the_handle_lighter_by_its_ratio():
    fast, slow = (read_crank(make_door(opening={"design": {"gear_ratio": ratio}})) for ratio in (1.0, 4.0))

    assert float(fast.crank.handle_force) == pytest.approx(4 * float(slow.crank.handle_force))
    assert slow.turns == pytest.approx(4 * fast.turns)


def test_a_drive_that_loses_little_runs_back():
    door = make_door()
    loose = make_door(strengths=type(door.strengths)(efficiency=0.9))

    assert value_of(crank_lines(read_crank(door), "us"), "When the handle is let go") == "stays where it is"
    assert value_of(crank_lines(read_crank(loose), "us"), "When the handle is let go") == "runs back"


@pytest.mark.parametrize(
    ("ratio", "note"), [(1.0, "more than the 4.95 lbf to 10.1 lbf"), (3.0, "within the"), (20.0, "lighter than the")]
)
def test_force_on_the_handle_is_set_beside_what_suits_a_hand(ratio, note):
    lines = crank_lines(read_crank(make_door(opening={"design": {"gear_ratio": ratio}})), "us")

    assert any(line.note.startswith(note) for line in lines)


@pytest.mark.parametrize("part", ["turning_tube", "film", "gear_ratio", "sill_tube"])
def test_no_effort_without_what_makes_it(part):
    crank = read_crank(make_door(opening={"design": {part: None}}))

    assert crank.crank is None
    assert value_of(crank_lines(crank, "us"), "Force on the handle") == "–"


def test_the_strip_takes_most_of_the_sag():
    crank = read_crank(make_door())

    assert 0 <= crank.sag.tip_with_strip < crank.sag.tip / 10
    assert "needed" not in " ".join(line.note for line in sag_lines(crank, "us"))


@pytest.mark.parametrize("lacking", [{"design": {"drive_side": None}}, {"offset": None}, {"wall": {"width": None}}])
def test_sag_needs_the_drives_side_and_the_wall(lacking):
    crank = read_crank(make_door(opening=lacking))

    assert crank.sag is None
    assert value_of(sag_lines(crank, "us"), "Sag at the drive") == "–"


# Advice --------------------------------------------------------------------------


def test_advice_says_from_where_to_where_and_what_it_takes():
    door = make_door(hold_down_spacing=4 * FEET)
    limit = read(door, 20.0).secured.limit / 0.44704

    lines = advice_lines(door, STOCK, "us").single

    assert lines
    assert all(f"the limit goes from {limit:.0f} mph to " in line for line in lines)
    assert any("1 more anti-billow tube" in line or "more anti-billow tubes with inner studs" in line for line in lines)
    assert any("of tube" in line for line in lines)


def test_lengths_to_order_are_rounded_up():
    door = make_door(hold_down_spacing=4 * FEET)
    hole = 1 * INCH + 108 * INCH + 9.25 * INCH / 2
    each = (24 * INCH + hole + 3 * INCH) / FEET  # in the ground, up to the hole, and 3 in above it

    line = next(one for one in advice_lines(door, (), "us").single if one.startswith("4 more"))

    assert f"It takes {math.ceil(4 * each)} ft of tube, 4 tie rods, 36 ft of stud." in line
    metric = next(one for one in advice_lines(door, (), "metric").single if one.startswith("4 more"))
    assert f"{math.ceil(4 * each * 3.048) / 10:.1f} m of tube" in metric


def test_a_plan_goes_on_where_its_last_step_ended():
    plan = advice_lines(make_door(), STOCK, "us").plan

    ends = [line.split("from ")[1].split(".")[0].split(" to ") for line in plan]
    assert len(plan) > 1
    assert [after for _before, after in ends[:-1]] == [before for before, _after in ends[1:]]


def test_nothing_is_advised_while_the_limit_is_not_known():
    lines = advice_lines(make_door(soil=None), STOCK, "us")

    assert (lines.single, lines.plan) == ([], [])
