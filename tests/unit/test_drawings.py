"""Drawings: what is drawn stands where it was measured, at the scale the sheet names, and nothing overlaps."""

from __future__ import annotations

import itertools
import math
from functools import partial

import pytest
from django.utils import translation
from hypothesis import given
from hypothesis import strategies as st

from farm.drawings import MARK_GAP, PlanDoor, PlanTunnel, site_plan, verdict_mark
from farm.elevations import WallOpening, WallOperator, WallView, end_wall
from farm.geometry import Profile, Shape
from farm.paper import Drawing, Paper, best_scale, number, relative, spread
from farm.units import format_length
from tests.svg import box, collisions, metres, middle, paths, pen, points, texts

VERDICTS = ("pass", "warn", "blocked", "fail")


def make_plan_tunnel(**values: object) -> PlanTunnel:
    """A tunnel 10 by 20 m at the origin, its head end facing north."""
    sizes: dict[str, object] = {
        "code": "T01", "href": "/t/1", "label": "T01", "east": 0.0, "north": 0.0, "width": 10.0, "length": 20.0,
        "axis_bearing": 0.0,
    }  # fmt: skip
    return PlanTunnel(**{**sizes, **values})  # type: ignore[arg-type]


def drawn_plan(*tunnels: PlanTunnel, storm_bearing: float | None = None) -> Drawing:
    drawing = site_plan(tunnels, units="metric", storm_bearing=storm_bearing)
    assert drawing is not None
    return drawing


# Paper ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wide", "high", "scale"),
    [(10.0, 1.0, 100), (10.1, 1.0, 200), (1.0, 5.0, 50), (1.0, 5.1, 75), (2.1, 1.0, 25), (0.01, 0.01, 10)],
)
def test_scale_is_the_largest_that_fits_the_room(wide: float, high: float, scale: int) -> None:
    assert best_scale(wide, high, 100.0, 100.0) == scale


@pytest.mark.parametrize(
    ("value", "text"), [(1.5, "1.5"), (2.0, "2"), (-0.001, "0"), (10.126, "10.13"), (100.0, "100")]
)
def test_coordinates_are_short_and_plain(value: float, text: str) -> None:
    assert number(value) == text


def test_labels_too_close_share_the_shift() -> None:
    assert spread([10.0, 11.0, 30.0], 4.0) == [8.5, 12.5, 30.0]


@given(st.lists(st.floats(0, 200), min_size=1, max_size=30).map(sorted), st.floats(0.5, 8))
def test_spread_labels_never_touch_and_keep_their_order_and_centre(places: list[float], gap: float) -> None:
    moved = spread(places, gap)

    assert all(after - before >= gap - 1e-9 for before, after in itertools.pairwise(moved))
    assert sum(moved) == pytest.approx(sum(places), abs=1e-6)


def test_figure_too_long_for_its_dimension_stands_beside_it() -> None:
    paper = Paper(100, 0.0, 0.0)

    paper.across(0.0, 0.05, 5.0, "50 mm")
    paper.across(0.0, 8.0, 10.0, "8000")

    beside, above = paper.lettering
    assert float(beside.x) > paper.x(0.05)
    assert float(above.x) == paper.x(4.0)


def test_relative_strokes_end_where_they_began() -> None:
    square = [(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (0.0, -1.0)]

    assert relative([square, [(2.0, 0.0), (3.0, 1.0)]]) == "m0 -1l1 1l-1 1zm0 1m2 0l1 1m-3 -1"


# Plan ----------------------------------------------------------------------------


def test_plan_without_a_placed_tunnel_is_no_plan() -> None:
    assert site_plan([], units="us", storm_bearing=None) is None


def test_tunnel_is_drawn_to_the_scale_the_plan_names() -> None:
    drawing = drawn_plan(make_plan_tunnel())

    xs, ys = zip(*points(paths(drawing, "tunnel")[0]), strict=True)
    assert (max(xs) - min(xs)) * drawing.scale == pytest.approx(10_000, rel=1e-3)
    assert (max(ys) - min(ys)) * drawing.scale == pytest.approx(20_000, rel=1e-3)


def test_north_is_up_and_east_is_right() -> None:
    here, north, east = (
        make_plan_tunnel(),
        make_plan_tunnel(code="N", north=60.0),
        make_plan_tunnel(code="E", east=60.0),
    )

    at = {link.lettering[0].text: middle(link.paths[0]) for link in drawn_plan(here, north, east).links}

    assert at["N"][1] < at["T01"][1]
    assert at["E"][0] > at["T01"][0]


@pytest.mark.parametrize(("axis", "side"), [(0, (0, -1)), (90, (1, 0)), (180, (0, 1)), (270, (-1, 0))])
def test_mark_of_a_head_end_door_stands_outside_the_wall_it_faces(axis: float, side: tuple[int, int]) -> None:
    door = PlanDoor(end="B", offset=3.0, width=4.0, verdict="pass")
    drawing = drawn_plan(make_plan_tunnel(axis_bearing=float(axis), doors=(door,)))

    tunnel = middle(paths(drawing, "tunnel")[0])
    mark = pen(paths(drawing, "mark")[0])
    away = (mark[0] - tunnel[0], mark[1] - tunnel[1])
    assert math.dist((0, 0), away) > 10_000 / drawing.scale  # beyond half the length: outside
    assert away[0] * side[0] + away[1] * side[1] == pytest.approx(math.dist((0, 0), away), rel=0.02)


def test_offset_runs_from_the_left_corner_seen_from_outside() -> None:
    # Seen from the north, a head end facing north has its left corner in the east.
    door = PlanDoor(end="B", offset=0.0, width=2.0, verdict="pass")
    drawing = drawn_plan(make_plan_tunnel(doors=(door,)))

    assert middle(paths(drawing, "gap")[0])[0] > middle(paths(drawing, "tunnel")[0])[0]


def test_marks_of_neighbouring_doors_do_not_touch() -> None:
    doors = tuple(PlanDoor(end="A", offset=offset, width=1.0, verdict="fail") for offset in (4.0, 4.5, 5.0))
    drawing = drawn_plan(make_plan_tunnel(doors=doors), make_plan_tunnel(code="far", east=900.0))

    marks = [pen(path) for path in paths(drawing, "mark")]
    assert all(math.dist(one, other) >= MARK_GAP - 0.02 for one, other in itertools.pairwise(marks))


@pytest.mark.parametrize("offset", [-3.0, 99.0, None])
def test_door_whose_offset_cannot_be_is_still_drawn_on_its_wall(offset: float | None) -> None:
    door = PlanDoor(end="A", offset=offset, width=4.0, verdict="fail")

    assert len(paths(drawn_plan(make_plan_tunnel(doors=(door,))), "gap")) == 1


def test_every_verdict_has_a_shape_of_its_own() -> None:
    assert len({verdict_mark(verdict, 0.0, 0.0).d for verdict in VERDICTS}) == len(VERDICTS)


@pytest.mark.parametrize(("bearing", "blows"), [(270.0, (1, 0)), (0.0, (0, 1)), (90.0, (-1, 0)), (180.0, (0, -1))])
def test_storm_wind_blows_onto_the_plan_from_its_side(bearing: float, blows: tuple[int, int]) -> None:
    drawing = drawn_plan(make_plan_tunnel(), storm_bearing=bearing)

    tunnel = points(paths(drawing, "tunnel")[0])
    for arrow in paths(drawing, "wind"):
        tail, tip = points(arrow)
        assert (tip[0] - tail[0]) * blows[0] + (tip[1] - tail[1]) * blows[1] == pytest.approx(9.0, abs=0.02)
        assert all((x - tip[0]) * blows[0] + (y - tip[1]) * blows[1] > 0 for x, y in tunnel)


@pytest.mark.parametrize(("units", "unit"), [("us", 0.3048), ("metric", 1.0)])
def test_scale_bar_measures_what_it_says(units: str, unit: float) -> None:
    drawing = site_plan([make_plan_tunnel()], units=units, storm_bearing=None)
    assert drawing is not None
    assert drawing.scale is not None

    xs = [x for x, _ in points(paths(drawing, "bar")[0])]
    said = next(float(text.split()[0]) for text in texts(drawing) if text.endswith(("ft", " m")))
    assert (max(xs) - min(xs)) * drawing.scale / 1000 == pytest.approx(said * unit, rel=1e-3)


def test_numbers_of_a_drawing_stay_plain_in_spanish() -> None:
    with translation.override("es"):
        drawing = drawn_plan(make_plan_tunnel(), storm_bearing=200.0)

    written = [line.x + line.y for line in drawing.lettering] + [path.d for path in drawing.paths]
    assert not any("," in text for text in written)


# End wall ------------------------------------------------------------------------


def make_view(*openings: WallOpening, **values: object) -> WallView:
    """A gothic end wall 9 m wide and 4 m high."""
    view: dict[str, object] = {"name": "T01-W", "profile": Profile(Shape.GOTHIC, 9.0, 4.0, 1.5)}
    return WallView(openings=openings, **{**view, **values})  # type: ignore[arg-type]


def make_wall_opening(**values: object) -> WallOpening:
    sizes: dict[str, object] = {"code": "T01-W", "kind": "mid_bar", "left": 2.0, "width": 3.0, "height": 2.5}
    return WallOpening(**{**sizes, **values})  # type: ignore[arg-type]


def test_end_wall_stands_to_its_ridge_at_the_scale_named() -> None:
    drawing = end_wall(make_view(), metres)

    xs, ys = zip(*points(paths(drawing, "outline")[0]), strict=True)
    assert (max(xs) - min(xs)) * drawing.scale == pytest.approx(9000, rel=1e-3)
    assert (max(ys) - min(ys)) * drawing.scale == pytest.approx(4000, rel=1e-3)


def test_running_dimensions_name_both_corners_and_every_jamb() -> None:
    drawing = end_wall(make_view(make_wall_opening(), make_wall_opening(code="B", left=6.0, width=1.0)), metres)

    assert {"0", "2.00", "5.00", "6.00", "7.00", "9.00"} <= set(texts(drawing))


def test_openings_that_share_a_jamb_share_its_dimension() -> None:
    drawing = end_wall(make_view(make_wall_opening(), make_wall_opening(code="B", left=5.0, width=1.0)), metres)

    assert texts(drawing).count("5.00") == 1


@pytest.mark.parametrize(
    ("kind", "style"),
    [("mid_bar", "film"), ("bottom_bar", "film"), ("person", "leaf"), ("hinged_pair", "leaf"), ("sliding_pair", "leaf"),
     ("coil", "leaf"), ("lift_out", "leaf")],
)  # fmt: skip
def test_door_fills_its_opening(kind: str, style: str) -> None:
    drawing = end_wall(make_view(make_wall_opening(kind=kind, threshold=0.1)), metres)

    xs, ys = zip(*points(paths(drawing, style)[0]), strict=True)
    assert (max(xs) - min(xs)) * drawing.scale == pytest.approx(3000, rel=1e-3)
    assert (max(ys) - min(ys)) * drawing.scale == pytest.approx(2500, rel=1e-3)


@pytest.mark.parametrize("corner", ["left", "right"])
def test_side_operator_stands_outside_its_corner(corner: str) -> None:
    operator = WallOperator(corner=corner, travel_top=1.2)  # type: ignore[arg-type]
    drawing = end_wall(make_view(operators=(operator,)), metres)

    wall = [x for x, _ in points(paths(drawing, "outline")[0])]
    x = middle(paths(drawing, "gearbox")[0])[0]
    assert x < min(wall) if corner == "left" else x > max(wall)


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("kind", ["mid_bar", "person"])
@pytest.mark.parametrize("wide", [0.9, 2.4, 3.3, 6.1])
@pytest.mark.parametrize("ridge", [3.0, 4.4])
def test_no_lettering_of_an_end_wall_stands_on_other_lettering(
    ridge: float, wide: float, kind: str, units: str
) -> None:
    profile = Profile(Shape.ROUND, 9.0, ridge, 1.5)
    opening = make_wall_opening(kind=kind, code="T09-W", left=1.0, width=wide, height=2.2, threshold=0.04)
    exit_door = make_wall_opening(kind="person", code="T09-W2", left=7.6, width=0.9, height=2.0)

    drawing = end_wall(make_view(opening, exit_door, profile=profile), partial(format_length, units=units))

    assert collisions(drawing) == []


def test_the_height_of_a_door_stands_clear_of_its_turning_bar() -> None:
    drawing = end_wall(make_view(make_wall_opening(kind="mid_bar", height=3.0)), metres)

    (height,) = (box(line) for line in drawing.lettering if line.text == "3.00" and line.turn)
    bars = [points(path)[0][1] for path in paths(drawing, "bar-line")]
    assert len(bars) == 2
    assert not any(height[1] < bar < height[3] for bar in bars)
