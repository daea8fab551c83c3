"""What holds for every film door in the wind: balance, order of its states, size, mirror image, gaps, arrays.

Two things one might expect do not hold, for reasons of statics. A first tube between the outer two takes 5/8 of the
bar's load where each outer one took 1/2, and every inner tube leans on the header: more tubes always help the bars, but
not always the posts and the header. And the standard's coefficients fall with a door's area, so that where a part
governs that does not care for width, such as the film, a wider door stands a slightly higher gust.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from doors.mechanics.assess import read_wind
from doors.mechanics.built import State
from doors.mechanics.panel import panel
from doors.mechanics.post import Soil
from doors.mechanics.strength import Hanging, Strengths, at_least, built_of, coefficients, limit_gust, stands
from doors.mechanics.wind import links
from doors.sizing import FILM_ROLLS, FOOT, INCH, ArchFrame, DoorKind, Given, Rules, Side, Tube, work_out
from farm.geometry import SHAPE_CODES, Shape
from tests.hung_doors import make_door, make_site, make_tube

SHUT = (State.CLOSED, State.WIRED, State.TIED)
kinds = st.sampled_from(sorted(FILM_ROLLS))
widths, heights = st.integers(8, 22), st.integers(7, 11)
tubes = st.builds(make_tube, st.sampled_from([1.315, 1.66, 1.9, 2.375]), st.sampled_from([0.065, 0.083, 0.109]))
sites = st.builds(
    make_site,
    stud_depth=st.floats(1.5, 7.5).map(lambda inches: inches * INCH),
    soil=st.sampled_from(list(Soil)),
    hold_down_spacing=st.floats(2, 12).map(lambda feet: feet * FOOT),
    film_left=st.floats(0.1, 1),
)
farms = st.builds(
    Strengths, belly=st.floats(0.03, 0.3), hold_down=st.floats(100, 5000), wood_penetration=st.floats(0.01, 0.05)
)


@st.composite
def doors(draw):
    opening = make_door(draw(widths), draw(heights), draw(kinds))
    parts = {part: draw(tubes) for part in ("turning_tube", "sill_tube", "anti_billow_tube")}
    return replace(opening, design=replace(opening.design, **parts), threshold=draw(st.floats(0, 0.4)))


def limits(opening, site, strengths=None, rules=None):
    readings = read_wind(opening, site, strengths or Strengths(), rules or Rules())
    return {reading.state: reading.limit for reading in readings}


@given(st.floats(0.3, 6), st.floats(0.3, 8), st.floats(0.01, 0.5))
def test_a_panel_gives_away_all_of_its_pressure(strip, width, belly):
    strip, width, belly = (np.asarray(value) for value in (strip, width, belly))
    for held in (False, True):
        found = panel(strip, width, belly, sides_held=held)
        assert 2 * found.edge * width + 2 * found.side * strip == pytest.approx(strip * width, rel=1e-12)
        # Both parts of the pull at the edge make up the tension there.
        assert np.hypot(found.edge, found.along) == pytest.approx(found.pull, rel=1e-9)
        assert found.tension >= found.pull


@given(doors(), sites, farms)
def test_securing_a_door_further_never_weakens_it(opening, site, strengths):
    readings = {reading.state: reading for reading in read_wind(opening, site, strengths, Rules())}
    closed, wired, tied = (readings[state] for state in SHUT)

    assert closed.inward_gust <= wired.inward_gust <= tied.inward_gust
    assert closed.outward_gust <= wired.outward_gust <= tied.outward_gust
    assert closed.limit <= wired.limit <= tied.limit


@given(doors(), sites)
def test_wires_take_load_off_what_a_closed_door_hangs_on(opening, site):
    """Link by link: only the jambs, which wires load, can give before."""
    closed, wired = (reading.links for reading in read_wind(opening, site, Strengths(), Rules())[2:4])
    before = {link.name: float(link.pressure) for link in closed}

    for link in wired:
        if link.name in before and link.name != "stud_inward":
            assert link.pressure >= before[link.name] * (1 - 1e-12)


@given(widths, heights, kinds, sites, st.floats(0.01, 0.5))
def test_a_wider_door_stands_no_more(width, height, kind, site, more):
    """Pressures, with as many supports and hold-downs: here none between the jambs, whose tops the header holds.

    Under an arch a wider door's jambs are held lower, and a shorter jamb stands more.
    """
    rules = Rules(wide_from=50.0)
    doors_under_no_arch = (
        replace(door, wall=replace(door.wall, shape=None))
        for door in (make_door(size, height, kind) for size in (width, width + more))
    )
    narrow, wide = (
        read_wind(door, replace(site, hold_down_spacing=None), Strengths(), rules)[2].stand
        for door in doors_under_no_arch
    )

    assert wide.inward <= narrow.inward * (1 + 1e-12)
    assert wide.outward <= narrow.outward * (1 + 1e-12)


@given(doors(), sites, st.sampled_from(["turning_tube", "sill_tube", "anti_billow_tube"]), tubes)
def test_a_larger_tube_never_weakens(opening, site, part, tube):
    now = getattr(opening.design, part)
    larger = Tube(diameter=max(now.diameter, tube.diameter), wall=max(now.wall, tube.wall))
    after = limits(replace(opening, design=replace(opening.design, **{part: larger})), site)

    for state, before in limits(opening, site).items():
        assert after[state] >= before * (1 - 1e-9)


@given(doors(), sites, st.integers(0, 4))
def test_more_tubes_never_weaken_the_bars(opening, site, inner):
    fewer, more = (
        read_wind(opening, site, Strengths(), Rules(wide_from=0.0, support_spacing=opening.rough_width / (count + 1)))
        for count in (inner, inner + 1)
    )
    for before, after in zip(fewer, more, strict=True):
        pressures = {link.name: float(link.pressure) for link in after.links}
        for link in before.links:
            is_post = link.name in ("billow_tube", "tie_rod", "tube_in_soil", "tube_leans")
            if link.name.startswith(("bar_", "sill_bar_")) or (is_post and inner > 0):
                assert pressures[link.name] >= float(link.pressure) * (1 - 1e-9)


@given(doors(), sites, farms, st.floats(1.0, 3.0))
def test_stronger_parts_never_weaken(opening, site, strengths, factor):
    stronger = replace(
        strengths,
        tube_yield=strengths.tube_yield * factor,
        wood_bending=strengths.wood_bending * factor,
        film_yield=strengths.film_yield * factor,
        hold_down=strengths.hold_down * factor,
        wood_penetration=strengths.wood_penetration * factor,
    )
    after = limits(opening, site, stronger)

    for state, before in limits(opening, site, strengths).items():
        assert before * (1 - 1e-9) <= after[state] <= before * np.sqrt(factor) * (1 + 1e-9)


@given(doors(), sites)
def test_a_wall_and_its_mirror_image_stand_the_same(opening, site):
    wall = opening.wall.width
    moved = replace(opening, offset=opening.offset * 0.8)
    mirrored = replace(
        moved,
        offset=wall - moved.offset - opening.rough_width,
        design=replace(opening.design, drive_side=Side.LEFT),
    )
    one, other = limits(moved, site), limits(mirrored, site)

    assert list(one.values()) == pytest.approx(list(other.values()), rel=1e-9)


NUDGE = 1e-7


@given(doors(), sites, st.sampled_from(["rough_width", "rough_height", "header_depth", "threshold"]))
def test_limits_do_not_jump(opening, site, name):
    """A ten-millionth more moves a limit by no more than a few of them; the count of supports stays."""
    rules = Rules(wide_from=0.0, support_spacing=opening.rough_width / 2 * 1.1)
    width = opening.rough_width
    site = replace(site, hold_down_spacing=width / np.ceil(width / site.hold_down_spacing) * 1.05)
    before = limits(opening, site, rules=rules)
    after = limits(replace(opening, **{name: getattr(opening, name) * (1 + NUDGE)}), site, rules=rules)

    assert list(after.values()) == pytest.approx(list(before.values()), rel=100 * NUDGE)


UNKNOWN = {
    "turning_tube": ("open", "part_open", "closed", "wired", "tied"),
    "anti_billow_tube": ("closed", "wired", "tied"),
    "film": ("open", "closed", "wired", "tied"),
    "rod": ("closed", "wired", "tied"),
    "soil": ("closed", "wired", "tied"),
    "stud_depth": ("closed", "wired", "tied"),
    "threshold": ("closed", "wired", "tied"),
    "header_depth": ("closed", "wired", "tied"),
    "film_left": ("closed", "wired", "tied"),
}


@pytest.mark.parametrize("part", UNKNOWN)
def test_an_unknown_part_gives_no_limit(part):
    opening, site = make_door(), make_site()
    if part in ("soil", "stud_depth"):
        site = replace(site, **{part: None})
    elif part == "film_left":
        site = replace(site, film_left=np.nan)
    elif part in ("threshold", "header_depth"):
        opening = replace(opening, **{part: None})
    else:
        opening = replace(opening, design=replace(opening.design, **{part: None}))
    unknown = {str(state) for state, limit in limits(opening, site).items() if np.isnan(limit)}

    assert unknown == set(UNKNOWN[part])


@settings(max_examples=10)
@given(st.lists(st.tuples(widths, heights, st.floats(0, 0.4), tubes, tubes, tubes), min_size=1, max_size=6), kinds)
def test_many_doors_at_once_equal_each_by_itself(rows, kind):
    site, rules, strengths = make_site(), Rules(), Strengths()
    mid = kind == DoorKind.MID_BAR
    openings = [
        replace(
            make_door(width, height, kind),
            threshold=threshold,
            design=replace(make_door().design, turning_tube=turning, sill_tube=sill, anti_billow_tube=billow),
        )
        for width, height, threshold, turning, sill, billow in rows
    ]

    def column(read):
        return np.array([read(opening) for opening in openings], dtype=np.float64)

    same = np.ones(len(openings))
    wall = make_door().wall
    given_ = Given(
        rough_width=column(lambda one: one.rough_width),
        rough_height=column(lambda one: one.rough_height),
        offset=column(lambda one: one.offset),
        threshold=column(lambda one: one.threshold),
        header_depth=column(lambda one: one.header_depth),
        wall_width=same * wall.width,
        stud_face=same * wall.stud_face,
        header_thickness=same * wall.header_thickness,
        drives_right=same,
        turning_diameter=column(lambda one: one.design.turning_tube.diameter),
        sill_diameter=column(lambda one: one.design.sill_tube.diameter),
        billow_diameter=column(lambda one: one.design.anti_billow_tube.diameter),
        film_thickness=same * 0.006 * INCH,
        frame=ArchFrame(SHAPE_CODES[Shape.GOTHIC], same * wall.width, same * wall.ridge, same * wall.side),
    )
    hanging = Hanging(
        turning_wall=column(lambda one: one.design.turning_tube.wall),
        sill_wall=column(lambda one: one.design.sill_tube.wall),
        billow_wall=column(lambda one: one.design.anti_billow_tube.wall),
        rod_diameter=same * 0.375 * INCH,
        stud_depth=same * site.stud_depth,
        soil=site.soil,
        hold_down_spacing=same * site.hold_down_spacing,
    )
    figures = work_out(given_, rules, winds_at_mid_height=mid)
    built = built_of(given_, figures, hanging, strengths, rules, winds_at_mid_height=mid)
    worst = coefficients(given_.rough_width * given_.rough_height, np.nan, site.enclosure)
    alone = [read_wind(opening, site, strengths, rules) for opening in openings]
    before = None
    for number, state in enumerate(State):
        stand = stands(links(built, state, winds_at_mid_height=mid))
        stand = at_least(stand, before) if state in SHUT[1:] else stand
        before = stand
        inward, outward = limit_gust(stand.inward, worst.inward), limit_gust(stand.outward, worst.outward)
        assert inward == pytest.approx([reading[number].inward_gust for reading in alone], rel=1e-12)
        assert outward == pytest.approx([reading[number].outward_gust for reading in alone], rel=1e-12)
        flaps = limit_gust(stand.flaps, np.maximum(worst.inward, worst.outward))
        assert flaps == pytest.approx([reading[number].flap_gust for reading in alone], rel=1e-12)
