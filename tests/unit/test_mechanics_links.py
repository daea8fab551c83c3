"""Every link of the load path worked out once by hand, for the door of round numbers in `tests.hung_doors`.

4 m wide, 2.4 m high, threshold 0.1 m; studs 4.1 m apart held 2.8 m up, tubes 3.85 m apart held 2.6 m up; belly 1/10.
All effects are per pascal: N m, N or N/m.
"""

import numpy as np
import pytest

from doors.mechanics.built import Direction, Link, State, governing
from doors.mechanics.panel import panel
from doors.mechanics.wind import links
from tests.hung_doors import make_built


def effects(state, *, mid, **changes):
    return {link.name: float(link.effect) for link in links(make_built(**changes), state, winds_at_mid_height=mid)}


def test_open():
    """Drag 1.2 x 0.06 m over 4 m: 0.072 x 16 / 8."""
    assert effects(State.OPEN, mid=True) == pytest.approx({"bar_in_drag": 0.144})


def test_part_open():
    """A quarter of 2.4 m leans on the bar: 0.6 x 4 / tan 30° to swing it, 2 x 0.6 x 16 / 8 to bend it."""
    found = effects(State.PART_OPEN, mid=True)

    assert found == pytest.approx({"bar_swings": 2.4 / np.tan(np.pi / 6), "bar_struck": 2.4})


# Panels of 1.2 m: sag 0.12, R = (0.6² + 0.12²)/0.24 = 1.56, pull along the wall 1.56 - 0.12 = 1.44; 0.6 m of film
# on the header and on the sill bar, 1.2 m on the turning bar.
CLOSED_MID = {
    "bar_inward": 1.2 * 4.1**2 / 8,  # 2.5215
    "sill_bar_inward": 0.6 * 4.1**2 / 8,  # 1.26075
    # 2.46 N at 1.3 m and 1.23 N at 0.1 m: top (3.198 + 0.123)/2.8 = 1.186071, times 1.5 m
    "stud_inward": 1.779107,
    # 0.6 x 16/8 outward and 1.44 x 16/8 down, each over a strength of 1
    "header_inward": 1.2 + 2.88,
    "bar_outward": 1.2 * 3.85**2 / 8,  # 2.223375
    "sill_bar_outward": 0.6 * 3.85**2 / 8,  # 1.1116875
    # half of 4 m each: 2.4 N at 1.3 m and 1.2 N at 0.1 m: rod (3.12 + 0.12)/2.6 = 1.246154; 1.3 m above it: 1.62
    "billow_tube": 1.62,
    "tie_rod": 1.246154,
    "tube_in_soil": 3.6 - 1.246154,
    "tube_leans": 3.6 - 1.246154,
    "header_outward": 1.2 + 2.88,
    # half of 0.6 x 4 N and the rod, at 2.6 m of a stud held at 2.8 m
    "jamb_at_header": (0.6 * 4 / 2 + 1.246154) * 2.6 * 0.2 / 2.8,
    "film": 1.56,
    "header_screws": 0.6 * 0.3,
    "bar_clamps": 1.56 * 0.4,
    "sill_screws": 1.56 * 0.3,
    "lower_bar_lifts": 1.44 * 4,
}


def test_closed_with_a_mid_bar():
    assert effects(State.CLOSED, mid=True) == pytest.approx(CLOSED_MID, rel=1e-6)


# One panel of 2.4 m: sag 0.24, R = 3.12, pull 2.88; 1.2 m of film on the header and on the bar at the threshold.
CLOSED_BOTTOM = {
    "bar_inward": 1.2 * 4.1**2 / 8,
    # 2.46 N at 0.1 m: top 0.246/2.8 = 0.087857; at the load (2.46 - 0.087857) x 0.1
    "stud_inward": 0.2372143,
    "header_inward": 1.2 * 2 + 2.88 * 2,
    "bar_outward": 1.2 * 3.85**2 / 8,
    # 2.4 N at 0.1 m: rod 0.24/2.6 = 0.0923077; (2.4 - 0.0923077) x 0.1
    "billow_tube": 0.2307692,
    "tie_rod": 0.0923077,
    "tube_in_soil": 2.4 - 0.0923077,
    "tube_leans": 2.4 - 0.0923077,
    "header_outward": 1.2 * 2 + 2.88 * 2,
    "jamb_at_header": (1.2 * 4 / 2 + 0.0923077) * 2.6 * 0.2 / 2.8,
    "film": 3.12,
    "header_screws": 1.2 * 0.3,
    "bar_clamps": 3.12 * 0.4,
    "lower_bar_lifts": 2.88 * 4,
}


def test_closed_with_a_bottom_bar():
    assert effects(State.CLOSED, mid=False) == pytest.approx(CLOSED_BOTTOM, rel=1e-6)


DOWN = 4**4 / (4**4 + 1.2**4)  # 0.9919651: share up and down once the sides are held
# Across: 1 - DOWN = 0.0080349; half of 4 m: 0.0160698 a side; R = (2² + 0.12²)/0.24 = 16.72667, pull 16.60667 of it.
SIDE, ACROSS = 0.0160698, 0.1334331
WIRED_MID = {
    **{name: DOWN * effect for name, effect in CLOSED_MID.items() if name not in ("stud_inward", "lower_bar_lifts")},
    # an even load from 0.1 to 2.5 m of a post 2.8 m high: foot 2.4 x 1.5/2.8 = 1.285714, moment 0.128571 + 0.826531
    "stud_inward": DOWN * 1.779107 + SIDE * 0.955102,
    "jamb_screws": SIDE * 0.3,
    "jamb_outward": SIDE * 0.955102,
    # the header holds the jamb's top along the wall: 2.5 m: foot 1.152, moment 0.1152 + 0.663552
    "jamb_pulled_in": ACROSS * 0.778752,
    "lower_bar_bows": DOWN * 1.44 * 16 / 8,
}


def test_wired():
    assert effects(State.WIRED, mid=True) == pytest.approx(WIRED_MID, rel=1e-5)


def test_a_panel_wider_than_high_and_one_higher_than_wide():
    """Bottom bar, 2.4 m wide and 4.8 m high: down 1/17; sag 0.24; R up and down (2.4² + 0.24²)/0.48 = 12.12, across
    3.12: the film is stretched most across, 16/17 x 3.12.
    """
    found = panel(np.asarray(4.8), np.asarray(2.4), np.asarray(0.1), sides_held=True)

    assert found.down == pytest.approx(1 / 17)
    assert found.edge == pytest.approx(2.4 / 17)
    assert found.pull == pytest.approx(12.12 / 17)
    assert found.along == pytest.approx((12.12 - 0.24) / 17)
    assert found.side == pytest.approx(1.2 * 16 / 17)
    assert found.across == pytest.approx((3.12 - 0.24) * 16 / 17)
    assert found.tension == pytest.approx(3.12 * 16 / 17)


def test_tied():
    """Hold-downs 1.5 m apart, three spaces: 0.1 w s² and 1.1 w s. The lower bar leaves the tubes."""
    found = effects(State.TIED, mid=True)
    out, up = DOWN * 0.6 * 0.225, DOWN * 1.44 * 0.225
    upper = DOWN * 2.4
    expected = {
        **{name: effect for name, effect in WIRED_MID.items() if name != "lower_bar_bows"},
        "sill_bar_outward": np.hypot(out, up),
        "hold_down_sideways": 1.1 * DOWN * 1.56 * 1.5,
        "billow_tube": upper * 1.3 * 1.3 / 2.6,
        "tie_rod": upper / 2,
        "jamb_at_header": (DOWN * 0.6 * 4 / 2 + upper / 2) * 2.6 * 0.2 / 2.8,
        "tube_in_soil": upper / 2,
        "tube_leans": upper / 2,
        "lower_bar_bends_up": up,
        "hold_down_up": 1.1 * DOWN * 1.44 * 1.5,
    }

    assert found == pytest.approx(expected, rel=1e-5)


def test_tied_at_the_bottom_bar():
    """All of the bar is the hold-downs': nothing is left for the tubes."""
    found = effects(State.TIED, mid=False)
    down = 4**4 / (4**4 + 2.4**4)

    assert "sill_bar_outward" not in found
    assert found["bar_outward"] == pytest.approx(down * np.hypot(1.2, 2.88) * 0.225)
    assert found["bar_outward"] == pytest.approx(down * 3.12 * 0.225)  # the film's pull, both parts of it
    assert found["billow_tube"] == found["tie_rod"] == found["tube_in_soil"] == 0


def test_hold_downs_further_apart_than_the_door_is_wide():
    """They stand at the jambs: one span of 4 m."""
    found = effects(State.TIED, mid=True, hold_down_spacing=9.0)

    assert found["lower_bar_bends_up"] == pytest.approx(DOWN * 1.44 * 16 / 8)
    assert found["hold_down_up"] == pytest.approx(DOWN * 1.44 * 2)


def test_the_lower_bar_leans_on_tubes_that_stand_closer_than_the_hold_downs():
    """Three tubes between: 0.9625 m apart, 0.1071 w s² = 0.0992; hold-downs 4 m apart: 2."""
    found = effects(State.TIED, mid=True, hold_down_spacing=4.0, inner=3, billow_spacing=3.85 / 4)
    out, up = DOWN * 0.6 * 3 / 28 * (3.85 / 4) ** 2, DOWN * 1.44 * 2

    assert found["sill_bar_outward"] == pytest.approx(np.hypot(out, up))


def test_with_two_supports_between():
    """Spans of 4.1/3 between studs and 3.85/3 between tubes: 0.1 w s² and 1.1 w s.

    Inner stud: 1.1 x 1.366667 = 1.503333 m of bar: 1.804 N at 1.3 m, 0.902 N at 0.1 m, held at 2.6 m:
    top 0.936692, times 1.3. Inner tube: 1.1 x 1.283333 = 1.411667 m: 1.694 and 0.847 N: rod 0.879577, moment 1.143450.
    Header: two posts at a third each, P L/3.
    """
    found = effects(State.CLOSED, mid=True, inner=2, billow_spacing=3.85 / 3)

    assert found["bar_inward"] == pytest.approx(0.1 * 1.2 * (4.1 / 3) ** 2)
    assert found["stud_inward"] == pytest.approx(1.217700, rel=1e-5)
    assert found["header_inward"] == pytest.approx(1.2 + 0.936692 * 4 / 3 + 2.88, rel=1e-5)
    assert found["bar_outward"] == pytest.approx(0.1 * 1.2 * (3.85 / 3) ** 2)
    assert found["tie_rod"] == pytest.approx(0.879577, rel=1e-5)
    assert found["billow_tube"] == pytest.approx(1.143450, rel=1e-5)
    assert found["tube_in_soil"] == pytest.approx(1.694 + 0.847 - 0.879577, rel=1e-5)
    assert found["header_outward"] == pytest.approx(1.2 + 0.879577 * 4 / 3 + 2.88, rel=1e-5)


# P L times: one in the middle 1/4, two 1/3, three 1/2, four 3/5 (sums of P a b / L, by hand)
@pytest.mark.parametrize(("inner", "share"), [(0, 0), (1, 1 / 4), (2, 1 / 3), (3, 1 / 2), (4, 3 / 5)])
def test_header_under_equal_posts(inner, share):
    found = links(make_built(inner=inner), State.CLOSED, winds_at_mid_height=True)
    header = next(link for link in found if link.name == "header_outward")

    assert header.terms["outward"] - 1.2 == pytest.approx(float(header.terms["rod"]) * 4 * share)


@pytest.mark.parametrize("state", [State.CLOSED, State.WIRED, State.TIED])
@pytest.mark.parametrize("mid", [True, False])
def test_each_part_takes_its_share_of_the_whole_pressure(state, mid):
    """Header, bars and jambs together take width times height, and what leans on a tube goes to rod and soil."""
    found = {link.name: link for link in links(make_built(), state, winds_at_mid_height=mid)}
    bars = [found[name].terms["film"] for name in ("bar_outward", "sill_bar_outward") if name in found]
    sides = 2 * found["jamb_outward"].terms["side"] * 2.4 if state != State.CLOSED else 0.0
    taken = 4 * (found["header_screws"].terms["film"] + sum(bars)) + sides
    feet = found["tube_in_soil"].terms

    assert taken == pytest.approx(4 * 2.4, rel=1e-12)
    assert found["tie_rod"].effect + found["tube_in_soil"].effect == pytest.approx(
        float(feet["upper"] + feet["lower"]), rel=1e-12
    )
    if state != State.TIED:  # two tubes take both bars, all along
        assert 2 * (feet["upper"] + feet["lower"]) == pytest.approx(4 * float(sum(bars)), rel=1e-12)


def test_capacities_are_the_built_doors():
    capacities = {name: number for number, name in enumerate(("bar_moment", "sill_moment", "stud_moment"), start=2)}
    found = {link.name: link for link in links(make_built(**capacities), State.CLOSED, winds_at_mid_height=True)}

    assert found["bar_inward"].pressure == pytest.approx(2 / 2.5215)
    assert found["sill_bar_inward"].pressure == pytest.approx(3 / 1.26075)
    assert found["stud_inward"].pressure == pytest.approx(4 / 1.779107, rel=1e-6)


@pytest.mark.parametrize(
    ("strength", "state", "link"),
    [
        ("bar_moment", State.OPEN, "bar_in_drag"),
        ("bar_moment", State.PART_OPEN, "bar_struck"),
        ("lower_weight", State.PART_OPEN, "bar_swings"),
        ("billow_moment", State.CLOSED, "billow_tube"),
        ("stud_moment_sideways", State.WIRED, "jamb_pulled_in"),
        ("stud_moment", State.WIRED, "jamb_outward"),
        ("stud_moment", State.CLOSED, "jamb_at_header"),
        ("rod_pull", State.CLOSED, "tie_rod"),
        ("soil_leans", State.CLOSED, "tube_leans"),
        ("soil_push", State.CLOSED, "tube_in_soil"),
        ("film_pull", State.CLOSED, "film"),
        ("wood_screw", State.CLOSED, "header_screws"),
        ("wood_screw", State.WIRED, "jamb_screws"),
        ("tube_screw", State.CLOSED, "sill_screws"),
        ("clamp", State.CLOSED, "bar_clamps"),
        ("lower_weight", State.CLOSED, "lower_bar_lifts"),
        ("sill_moment", State.WIRED, "lower_bar_bows"),
        ("sill_moment", State.TIED, "lower_bar_bends_up"),
        ("hold_down", State.TIED, "hold_down_up"),
        ("hold_down", State.TIED, "hold_down_sideways"),
        ("header_moment", State.CLOSED, "header_inward"),
        ("header_moment_down", State.CLOSED, "header_outward"),
    ],
)
def test_twice_the_strength_and_an_unknown_one(strength, state, link):
    def pressure(value):
        found = links(make_built(**{strength: value}), state, winds_at_mid_height=True)
        return float(next(one.pressure for one in found if one.name == link))

    if strength.startswith("header"):
        assert pressure(1) < pressure(2) < 2 * pressure(1)  # bent two ways, one of them stronger
    else:
        assert pressure(2) == pytest.approx(2 * pressure(1))
    assert np.isnan(pressure(np.nan))


def link(name, direction, pressure, *, breaks=True):
    return Link(name, direction, np.asarray(pressure, dtype=np.float64), np.asarray(1.0), {}, breaks)


def test_the_weakest_link_governs():
    parts = (
        link("in", Direction.INWARD, [5, 1, np.nan]),
        link("both", Direction.BOTH, [3, 4, 4]),
        link("flaps", Direction.BOTH, [1, 1, 1], breaks=False),
        link("out", Direction.OUTWARD, [4, np.nan, 9]),
    )
    inward, first = governing(parts, Direction.INWARD, breaking=True)
    outward, then = governing(parts, Direction.OUTWARD, breaking=True)
    flaps, which = governing(parts, Direction.OUTWARD, breaking=False)

    assert inward == pytest.approx([3, 1, np.nan], nan_ok=True)
    assert outward == pytest.approx([3, np.nan, 4], nan_ok=True)
    assert (first == [1, 0, 0]).all()
    assert (then == [1, 3, 1]).all()
    assert (flaps == 1).all()
    assert (which == 2).all()


def test_no_link_that_counts_is_no_limit():
    pressure, which = governing((link("in", Direction.INWARD, [1.0, 2.0]),), Direction.OUTWARD, breaking=True)

    assert np.isinf(pressure).all()
    assert (which == -1).all()
    assert pressure.shape == (2,)


def test_pressure_of_a_link():
    """Strength over effect; no effect, no limit; unknown, unknown."""
    effect = np.array([2.0, 0.0, np.nan, 2.0])
    part = Link("part", Direction.BOTH, np.array([6.0, 6.0, 6.0, np.nan]), effect, {})

    assert part.pressure == pytest.approx([3, np.inf, np.nan, np.nan], nan_ok=True)
