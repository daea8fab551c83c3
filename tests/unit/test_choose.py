"""The kinds of door side by side, by hand in inches and kilograms."""

import math

import pytest

from doors.mechanics.choose import HABITS, Prices, choose, coil_diameter
from doors.mechanics.tube import STANDARD_GRAVITY
from doors.mechanics.weigh import moving_weight
from doors.sizing import INCH, DoorKind, Exit, Machine, Rules, Site, Verdict, size
from tests.openings import FEET, film, inches, make_opening, tube

RULES = Rules()
FILM = {DoorKind.MID_BAR, DoorKind.BOTTOM_BAR}
# A person door 36 x 80 in: a leaf of 35.25 x 78.875 in; rails 28.25 in; braces over (78.875 - 10.5) / 2 = 34.1875 in.
PERSON = {"kind": DoorKind.PERSON, "rough_width": 36 * INCH, "rough_height": 80 * INCH, "machine": None}
STILES, RAILS, BRACES = 2 * 78.875, 3 * 28.25, 2 * math.hypot(28.25, 34.1875)
LEAF_FILM = (78.875 + 7) * (35.25 + 7)


def options(prices=None, **changes):
    return {option.kind: option for option in choose(make_opening(**changes), prices=prices)}


def test_a_coil_winds_its_curtain_as_a_spiral():
    # Each turn adds 0.6 in to a 4.5 in drum: d² = 4.5² + 4 x 0.6 x 108 / pi.
    assert inches(coil_diameter(108 * INCH)) == pytest.approx(math.sqrt(20.25 + 259.2 / math.pi))


def test_kinds_that_fit_come_first_and_the_cheaper_of_them_before_the_dearer():
    chosen = choose(make_opening())
    verdicts = [list(Verdict).index(option.verdict) for option in chosen]

    assert verdicts == sorted(verdicts)
    # 12 ft wide: too wide for a person door's leaf (4 ft) and, with its laps, for a lift-out panel (12 ft).
    assert [option.kind for option in chosen if not option.fits] == [DoorKind.PERSON, DoorKind.LIFT_OUT]
    warned = [option.habit.cost_ratio for option in chosen if option.verdict == Verdict.WARN]
    assert warned == sorted(warned)


def test_what_speaks_for_nothing_but_measuring_still_fits():
    chosen = options(design={"drive_side": None})

    assert {kind for kind, option in chosen.items() if option.verdict == Verdict.BLOCKED} == FILM
    assert all(chosen[kind].fits and chosen[kind].parts_cost is None for kind in FILM)
    assert {gap.field for gap in chosen[DoorKind.MID_BAR].missing} == {"design.drive_side"}


def test_a_kind_says_why_it_does_not_fit():
    reasons = [(check.check, check.verdict) for check in options()[DoorKind.PERSON].reasons]

    assert ("leaf", Verdict.FAIL) in reasons
    assert all(verdict in (Verdict.FAIL, Verdict.WARN) for _check, verdict in reasons)


def test_a_kind_the_core_cannot_size_carries_its_refusal():
    # The anti-billow tubes alone, 3 in from each jamb and 1.315 in thick, take 7.315 in.
    chosen = options(rough_width=7 * INCH)

    assert {kind for kind, option in chosen.items() if option.refusal} == FILM
    assert chosen[DoorKind.MID_BAR].refusal.field == "rough_width"
    assert (chosen[DoorKind.MID_BAR].verdict, chosen[DoorKind.MID_BAR].unpriced) == (Verdict.FAIL, ())


@pytest.mark.parametrize(
    ("kind", "beside", "above"),
    [
        (DoorKind.PERSON, 0, 9.25),  # the header is deeper than the 6 in a leaf needs
        (DoorKind.SLIDING_PAIR, 72 + 2, 9.25),  # half the width and the lap
        (DoorKind.COIL, 3, 20),
        (DoorKind.MID_BAR, 9.5, 12),
        (DoorKind.LIFT_OUT, 0, 9.25),
    ],
)
def test_the_room_each_kind_takes(kind, beside, above):
    option = options()[kind]

    assert (inches(option.side_room), inches(option.headroom)) == (pytest.approx(beside), pytest.approx(above))


def test_what_rolls_up_says_how_thick():
    chosen = options()

    assert inches(chosen[DoorKind.COIL].roll_diameter) == pytest.approx(math.sqrt(20.25 + 259.2 / math.pi))
    assert chosen[DoorKind.MID_BAR].roll_diameter == size(make_opening()).roll.diameter_open
    assert chosen[DoorKind.HINGED_PAIR].roll_diameter is None


def prices(**changes):
    """Prices of a person door: 0.5 an inch of board, 0.01 a square inch of film, hinges 8, latch 14."""
    board = 0.5 / INCH
    known = {
        "per_length": {"leaf_stile": board, "leaf_rail": board, "leaf_brace": board},
        "per_area": {"leaf_film": 0.01 / INCH**2},
        "each": {"hinge": 8.0, "latch": 14.0},
    }
    return Prices(**(known | changes))


def test_parts_cost_what_they_are_made_of():
    option = options(prices(), **PERSON)[DoorKind.PERSON]

    assert option.parts_cost == pytest.approx(0.5 * (STILES + RAILS + BRACES) + 0.01 * LEAF_FILM + 3 * 8 + 14)
    assert (option.labour_cost, option.unpriced) == (None, ())


def test_labour_is_paid_for_the_hours_of_the_kind():
    option = options(prices(labour=26.0), **PERSON)[DoorKind.PERSON]

    assert option.labour_cost == 26 * HABITS[DoorKind.PERSON].hours == 104


def test_what_has_no_price_is_named_and_leaves_the_cost_open():
    option = options(prices(each={"hinge": 8.0}, per_area={}), **PERSON)[DoorKind.PERSON]

    assert (option.unpriced, option.parts_cost) == (("leaf_film", "latch:leaf"), None)


def test_the_place_decides_which_clamp_it_is():
    by_place = {"clamp:turning_bar": 1.0, "clamp:sill_bar": 2.0}
    unpriced = options(Prices(each=by_place))[DoorKind.MID_BAR].unpriced

    assert [key for key in unpriced if key.startswith("clamp:")] == ["clamp:drive_strip"]


def test_a_door_bought_whole_costs_its_price():
    option = options(Prices(complete={"coil": 2280.0}))[DoorKind.COIL]

    assert (option.parts_cost, option.unpriced) == (2280, ())
    assert options()[DoorKind.COIL].unpriced == ("coil_door:header",)


def test_a_kind_that_does_not_fit_costs_nothing_and_lacks_no_price():
    option = options(Prices(labour=26.0))[DoorKind.PERSON]

    assert (option.parts_cost, option.labour_cost, option.unpriced) == (None, None, ())


@pytest.mark.parametrize("kind", list(DoorKind))
def test_every_kind_has_its_habits(kind):
    habit = HABITS[kind]

    assert habit.cautions
    assert habit.cost_ratio[0] <= habit.cost_ratio[1]
    assert habit.life_years[0] <= habit.life_years[1]
    assert 0 < habit.upkeep_hours < habit.hours


def mass(**changes):
    opening = make_opening(**changes)
    weight = moving_weight(opening, size(opening), RULES)
    return None if weight is None else weight / STANDARD_GRAVITY


def test_a_coils_curtain_is_weighed_by_its_area():
    assert mass(kind=DoorKind.COIL) == pytest.approx(7.3 * 144 * 108 * INCH**2)


def test_a_leaf_is_weighed_board_by_board():
    boards = 420 * 3.5 * 1.5 * (STILES + RAILS + BRACES) * INCH**3
    sheet = 920 * 0.006 * LEAF_FILM * INCH**3

    assert mass(**PERSON) == pytest.approx(boards + sheet)


def ring(diameter):
    """Return the cross-section of a tube with a 0.065 in wall, in square inches."""
    return math.pi / 4 * (diameter**2 - (diameter - 0.13) ** 2)


def test_a_film_door_is_weighed_with_bars_film_clamps_and_channel():
    opening = make_opening()
    made = size(opening)
    parts = {cut.part: cut for cut in made.cuts}
    clamps = sum(line.count for line in made.hardware if line.item == "clamp" and line.place != "drive_strip")

    bar, sill = inches(parts["turning_bar"].length), inches(parts["sill_bar"].length)
    steel = 7850 * (ring(1.66) * bar + ring(1.315) * sill) * INCH**3
    # Film 12 ft and 15 in at each side wide, 9 ft and 42 in high.
    sheet = 920 * 0.006 * (144 + 30) * (108 + 42) * INCH**3
    channel = 0.35 * sill * INCH

    assert mass() == pytest.approx(steel + sheet + channel + 0.03 * clamps)


def test_a_bottom_bar_has_no_second_bar_to_weigh():
    assert mass(kind=DoorKind.BOTTOM_BAR) < mass() - 5


@pytest.mark.parametrize(
    "changes",
    [
        {"design": {"turning_tube": None}},
        {"design": {"drive_side": None}},
        {"design": {"film": None}},
        {"kind": DoorKind.BOTTOM_BAR, "design": {"turning_tube": None}},
        {"kind": DoorKind.PERSON},  # refused: no cut list
    ],
)
def test_what_is_not_known_is_not_weighed(changes):
    assert mass(**changes) is None


def test_a_rigid_panel_is_weighed_without_film():
    bare = mass(kind=DoorKind.LIFT_OUT, rough_width=96 * INCH, design={"film": None})
    # A panel of 100 x 110 in laps its opening by 2 in; film laps its boards by 3.5 in.
    covered = mass(kind=DoorKind.LIFT_OUT, rough_width=96 * INCH)

    assert covered - bare == pytest.approx(920 * 0.006 * 107 * 117 * INCH**3)


def test_heavier_tube_makes_a_heavier_door():
    assert mass(design={"turning_tube": tube(1.9)}) > mass()
    assert mass(design={"film": film(20 * FEET, mils=12)}) > mass()


def test_everything_said_of_the_place_is_said_of_each_large_kind():
    windward = Site(exit=Exit.NONE, storm_angle=0.0)
    chosen = options(site=windward, machine=Machine(width=78 * INCH, height=72 * INCH))

    for kind, option in chosen.items():
        said = {check.check for check in option.reasons} & {"exit", "storm"}
        assert said == (set() if kind == DoorKind.PERSON else {"exit", "storm"}), kind
