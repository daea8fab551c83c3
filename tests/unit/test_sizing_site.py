"""How an opening suits its place, by hand in inches and degrees for the opening of tests/openings.py."""

import math

import pytest

from doors.sizing import INCH, DoorKind, Exit, Machine, Rules, Site, SizingError, Verdict, site, size
from doors.sizing.site import site_checks
from tests.openings import FEET, inches, make_opening

RULES = Rules()
LARGE = [kind for kind in DoorKind if kind != DoorKind.PERSON]


def outcome(check):
    return check.verdict, check.reason


def diagonals(first, second):
    measured = [None if length is None else length * INCH for length in (first, second)]
    return site.diagonals(make_opening(site=Site(diagonal_1=measured[0], diagonal_2=measured[1])), RULES)


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        (180, 180, (Verdict.PASS, "square")),  # 144 by 108 in is a 3-4-5 triangle
        (179.75, 180.25, (Verdict.PASS, "square")),  # half an inch apart
        (180.25, 179.75, (Verdict.PASS, "square")),
        (179.7, 180.25, (Verdict.WARN, "out_of_square")),
        (181, 179, (Verdict.WARN, "out_of_square")),
        (180.5, 180.5, (Verdict.PASS, "square")),
        (180.51, 180.51, (Verdict.WARN, "diagonals_odd")),  # alike, but of another opening
        (179.4, 179.4, (Verdict.WARN, "diagonals_odd")),
    ],
)
def test_diagonals_agree_within_half_an_inch(first, second, expected):
    assert outcome(diagonals(first, second)) == expected


def test_the_diagonals_say_how_far_they_are_apart():
    figures = diagonals(181.5, 179).figures.lengths

    assert {name: inches(value) for name, value in figures.items()} == pytest.approx(
        {"first": 181.5, "second": 179, "square": 180, "apart": 2.5, "tolerance": 0.5}
    )


def test_nobody_has_to_measure_diagonals():
    assert diagonals(None, None) is None


@pytest.mark.parametrize(("given", "field"), [((180, None), "site.diagonal_2"), ((None, 180), "site.diagonal_1")])
def test_one_diagonal_shows_nothing(given, field):
    made = diagonals(*given)

    assert (made.verdict, made.figures.names["field"]) == (Verdict.BLOCKED, field)


@pytest.mark.parametrize("kind", LARGE)
@pytest.mark.parametrize(
    ("where", "expected"),
    [
        (Exit.THIS_WALL, (Verdict.PASS, "exit_in_this_wall")),
        (Exit.OTHER_WALL, (Verdict.PASS, "exit_in_other_wall")),
        (Exit.NONE, (Verdict.WARN, "no_exit")),
        (None, (Verdict.BLOCKED, "missing")),
    ],
)
def test_a_large_door_wants_a_person_door_in_its_tunnel(kind, where, expected):
    assert outcome(site.exit_door(make_opening(kind=kind, site=Site(exit=where)))) == expected


@pytest.mark.parametrize(
    ("degrees", "expected"),
    [
        (0, (Verdict.WARN, "windward")),
        (45, (Verdict.WARN, "windward")),
        (45.1, (Verdict.PASS, "lee")),
        (180, (Verdict.PASS, "lee")),
    ],
)
def test_a_wall_within_45_degrees_of_the_storm_wind_is_windward(degrees, expected):
    made = site.storm(make_opening(site=Site(storm_angle=math.radians(degrees))))

    assert outcome(made) == expected
    assert made.figures.numbers == pytest.approx({"degrees": degrees, "within": 45})


def test_without_a_storm_wind_the_check_is_not_made():
    made = site.storm(make_opening())

    assert (made.verdict, made.figures.names["field"]) == (Verdict.BLOCKED, "site.storm_angle")


@pytest.mark.parametrize(
    ("offset", "expected"),
    [
        (48, (Verdict.PASS, "enough_wall")),  # 4 ft of wall at the left
        (47.9, (Verdict.WARN, "little_wall")),
        (360 - 144 - 48, (Verdict.PASS, "enough_wall")),
        (360 - 144 - 47.9, (Verdict.WARN, "little_wall")),
    ],
)
def test_a_large_door_leaves_four_feet_of_wall_at_each_side(offset, expected):
    assert outcome(site.wall_left(make_opening(offset=offset * INCH), RULES)) == expected


def test_a_door_as_wide_as_its_tunnel_less_eight_feet_has_just_enough_wall():
    opening = make_opening(rough_width=22 * FEET * INCH, offset=4 * FEET * INCH)

    assert outcome(site.wall_left(opening, RULES)) == (Verdict.PASS, "enough_wall")


@pytest.mark.parametrize("changes", [{"offset": None}, {"wall": {"width": None}}])
def test_the_wall_beside_an_opening_of_unknown_place_is_not_checked(changes):
    assert site.wall_left(make_opening(**changes), RULES) is None


def wider(clear, *, machine=48, width=144, kind=DoorKind.MID_BAR):
    passing = Machine(width=machine * INCH, height=72 * INCH, name="cart")
    opening = make_opening(kind=kind, machine=passing, rough_width=width * INCH)
    return site.wider(opening, clear * INCH, RULES)


def test_a_door_may_be_two_steps_wider_than_what_passes_needs():
    # 48 in and 24 in at each side: 96 in; two steps of 6 in more are 108.
    assert outcome(wider(108)) == (Verdict.PASS, "as_wide_as_needed")
    assert outcome(wider(108.1)) == (Verdict.WARN, "wider_than_needed")


def test_a_wider_door_is_told_how_wide_would_do():
    # 136 clear is 40 more than 96: six whole steps of 6 in can go, so 144 - 36 = 108.
    figures = wider(136).figures.lengths

    assert {name: inches(value) for name, value in figures.items()} == pytest.approx(
        {"clear": 136, "needed": 96, "over": 40, "enough": 108}
    )


def test_no_film_door_is_asked_to_be_narrower_than_film_doors_are():
    # 24 in of cart need 72 in; 88 clear are 16 more, but a 96 in film door is the narrowest there is.
    assert outcome(wider(88, machine=24, width=96)) == (Verdict.PASS, "as_wide_as_needed")
    assert outcome(wider(88, machine=24, width=96, kind=DoorKind.HINGED_PAIR)) == (Verdict.WARN, "wider_than_needed")
    assert inches(wider(100, machine=24, width=108).figures.lengths["enough"]) == pytest.approx(96)


def test_nothing_is_said_of_a_width_nobody_can_judge():
    assert site.wider(make_opening(machine=None), 1.0, RULES) is None
    assert site.wider(make_opening(), None, RULES) is None


def test_a_person_door_is_the_way_out_itself():
    opening = make_opening(kind=DoorKind.PERSON, offset=0.0, site=Site(exit=Exit.NONE, storm_angle=0.0))

    assert site_checks(opening, 0.9, RULES) == ()


@pytest.mark.parametrize("kind", list(DoorKind))
def test_every_kind_of_door_is_checked_in_its_place(kind):
    made = [check.check for check in size(make_opening(kind=kind, site=Site(diagonal_1=1.0))).checks]

    wanted = ["diagonals"] if kind == DoorKind.PERSON else ["diagonals", "exit", "storm", "wall_left", "wider"]
    assert made[-len(wanted) :] == wanted


def complete(**changes):
    """Return an opening nothing is to be said of: square, with an exit, in the lee, as wide as it need be."""
    lee = Site(diagonal_1=180 * INCH, diagonal_2=180 * INCH, exit=Exit.OTHER_WALL, storm_angle=math.pi)
    return make_opening(**({"site": lee, "machine": Machine(width=78 * INCH, height=72 * INCH)} | changes))


def test_a_check_of_the_place_that_cannot_be_made_leaves_the_verdict_and_the_cutting():
    whole, partial = size(complete()), size(complete(site=Site(diagonal_1=1.0)))

    assert (whole.verdict, partial.verdict) == (Verdict.PASS, Verdict.PASS)
    assert partial.missing == ()
    unmade = {check.check for check in partial.checks if check.verdict == Verdict.BLOCKED}
    assert unmade == {"diagonals", "exit", "storm"}


def test_a_standing_note_is_said_and_leaves_the_verdict():
    windward = size(complete(site=Site(exit=Exit.NONE, storm_angle=0.0)))

    assert windward.verdict == Verdict.PASS
    assert [check.check for check in windward.checks if check.verdict == Verdict.WARN] == ["exit", "storm"]


def test_an_opening_out_of_square_warns():
    out = size(complete(site=Site(diagonal_1=180 * INCH, diagonal_2=181 * INCH)))

    assert out.verdict == Verdict.WARN
    assert [check.check for check in out.checks if check.verdict == Verdict.WARN] == ["diagonals"]


@pytest.mark.parametrize(
    ("found", "field"),
    [
        ({"diagonal_1": 0.0}, "site.diagonal_1"),
        ({"diagonal_2": -1.0}, "site.diagonal_2"),
        ({"diagonal_1": 61.0}, "site.diagonal_1"),
        ({"diagonal_1": math.nan}, "site.diagonal_1"),
        ({"storm_angle": -0.1}, "site.storm_angle"),
        ({"storm_angle": 3.2}, "site.storm_angle"),
    ],
)
def test_a_place_no_opening_can_have_is_refused(found, field):
    with pytest.raises(SizingError) as refusal:
        size(make_opening(site=Site(**found)))

    assert refusal.value.field == field
