"""Drawings: what is drawn stands where it was measured, at the scale the sheet names, and nothing overlaps."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace

import pytest
from django.utils import translation
from hypothesis import given
from hypothesis import strategies as st

from doors.differences import differences
from doors.drawings import elevation
from doors.marking import film_stages, mark_rows
from doors.sections import bar_strip, merged, section, thinned
from doors.sizing import Check, DoorKind, Facts, Row, Rules, Sheet, Verdict, size
from farm.drawings import MARK_GAP, PlanDoor, PlanTunnel, site_plan, verdict_mark
from farm.elevations import WallOpening, WallOperator, WallView, end_wall
from farm.geometry import Profile, Shape
from farm.paper import Drawing, Paper, Path, best_scale, number, relative, spread
from tests.openings import make_opening

VERDICTS = ("pass", "warn", "blocked", "fail")


def metres(value: float) -> str:
    """Print a length so that a test can read it back."""
    return f"{value:.2f}"


def points(path: Path) -> list[tuple[float, float]]:
    """Return the corners a path of straight lines goes through. [mm]"""
    numbers = [float(text) for text in re.findall(r"-?\d+\.?\d*", path.d)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def paths(drawing: Drawing, style: str) -> list[Path]:
    linked = [path for link in drawing.links for path in link.paths]
    return [path for path in (*drawing.paths, *linked) if path.style.split()[0] == style]


def texts(drawing: Drawing) -> list[str]:
    return [line.text for line in drawing.lettering]


def middle(path: Path) -> tuple[float, float]:
    corners = points(path)
    return sum(x for x, _ in corners) / len(corners), sum(y for _, y in corners) / len(corners)


def pen(path: Path) -> tuple[float, float]:
    """Return where a path begins; a mark is drawn around that place. [mm]"""
    return points(path)[0]


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
    assert math.dist((0, 0), away) > 5000 / drawing.scale  # half the shorter side
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
    profile = Profile(Shape.GOTHIC, 9.0, 4.0, 1.5)
    return WallView(name="T01-W", profile=profile, openings=openings, **values)  # type: ignore[arg-type]


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


# Door ----------------------------------------------------------------------------


def make_sheet(**changes: object) -> Sheet:
    """A sheet whose turning bar, 6 m long, begins 0.25 m left of the opening."""
    sheet = size(make_opening(), Rules())
    return replace(sheet, turning_bar=6.0, turning_bar_start=-0.25, **changes)  # type: ignore[arg-type]


def test_elevation_dimensions_the_bar_the_sheet_gives() -> None:
    drawing = elevation(make_opening(), make_sheet(), metres)

    assert "turning bar 6.00" in texts(drawing)
    assert {"0.25", "0", "5.75"} <= set(texts(drawing))


def test_elevation_draws_the_bar_to_scale() -> None:
    drawing = elevation(make_opening(), make_sheet(), metres)

    longest = max(
        max(x for x, _ in points(path)) - min(x for x, _ in points(path)) for path in paths(drawing, "bar-tube")
    )
    assert longest * drawing.scale == pytest.approx(6000, rel=2e-3)


def test_refused_door_shows_the_height_it_needs() -> None:
    low = Check(check="arch", verdict=Verdict.FAIL, reason="arch_low", figures=Facts(lengths={"needed": 4.0}))
    drawing = elevation(make_opening(), make_sheet(checks=(low,)), metres)

    ground = points(paths(drawing, "ground")[0])[0][1]
    assert (ground - points(paths(drawing, "refused")[0])[0][1]) * drawing.scale == pytest.approx(4000, rel=1e-3)


@pytest.mark.parametrize("kind", list(DoorKind))
def test_every_kind_of_door_has_an_elevation_within_its_paper(kind: DoorKind) -> None:
    opening = make_opening(kind=kind)
    drawing = elevation(opening, size(opening, Rules()), metres)

    for path in drawing.paths:
        if "a" not in path.d:
            assert all(0 <= x <= float(drawing.width) and 0 <= y <= float(drawing.height) for x, y in points(path))


def test_elevation_needs_only_the_rough_size() -> None:
    opening = make_opening(offset=None, threshold=None, header_depth=None)

    drawing = elevation(opening, size(opening, Rules()), metres)

    assert paths(drawing, "outline") == []  # no arch: where the opening sits under it is not known


def test_section_waits_for_what_it_is_cut_through() -> None:
    opening = make_opening(threshold=None)

    assert section(opening, size(opening, Rules()), Rules(), metres) is None


def test_section_leaves_out_the_plain_stretches() -> None:
    opening = make_opening()
    drawing = section(opening, size(opening, Rules()), Rules(), metres)

    assert drawing is not None
    assert len(paths(drawing, "break")) == 2
    assert float(drawing.height) < opening.rough_height * 1000 / 10  # 1:10


@pytest.mark.parametrize(
    ("windows", "joined"),
    [([(0.0, 1.0), (3.0, 4.0)], [(0.0, 1.0), (3.0, 4.0)]), ([(2.0, 3.0), (0.0, 2.5)], [(0.0, 3.0)])],
)
def test_windows_that_overlap_are_one(windows: list, joined: list) -> None:
    assert merged(windows) == joined


def test_strip_letters_every_clamp_from_both_datums() -> None:
    clamps = Row(
        part="turning_bar", mark="clamp", axis="along", first=-0.1, last=3.9, count=5, spacing=1.0, part_start=-0.25
    )
    drawing = bar_strip(make_opening(), make_sheet(rows=(clamps,)), metres)

    assert drawing is not None
    assert drawing.scale is None
    tape = ["0", "0.15", "0.25", "1.15", "2.15", "3.15", "4.15", "6.00"]
    running = ["0.25", "0.10", "0", "0.90", "1.90", "2.90", "3.90", "5.75"]
    assert texts(drawing) == tape + running


def test_strip_waits_for_the_length_of_the_bar() -> None:
    assert bar_strip(make_opening(), replace(make_sheet(), turning_bar=None), metres) is None


def test_crowded_strip_keeps_the_ends() -> None:
    places = [index * 0.1 for index in range(100)]

    kept = thinned(places, {places[0], places[-1], places[50]}, 50.0)

    assert {places[0], places[-1], places[50]} <= set(kept)
    assert len(kept) <= 27  # 146 mm of bar at 5.4 mm a label


# Marks, stages, differences ------------------------------------------------------


def test_marks_are_read_from_the_datum_and_from_the_end_of_the_part() -> None:
    row = Row(part="sill_bar", mark="clamp", axis="along", first=-0.1, last=0.3, count=3, spacing=0.2, part_start=-0.25)

    (marked,) = mark_rows(make_sheet(rows=(row,)))

    assert [place.datum for place in marked.places] == pytest.approx([-0.1, 0.1, 0.3])
    assert [place.tape for place in marked.places] == pytest.approx([0.15, 0.35, 0.55])
    assert [place.is_before for place in marked.places] == [True, False, False]
    assert not marked.begins_at_datum


def test_marks_of_a_part_whose_start_is_not_known_have_no_tape_reading() -> None:
    row = Row(part="sill_bar", mark="clamp", axis="along", first=0.1, last=0.1, count=1, spacing=0.0, part_start=None)

    (marked,) = mark_rows(make_sheet(rows=(row,)))

    assert [place.tape for place in marked.places] == [None]


def test_film_grows_shorter_from_stage_to_stage() -> None:
    panel = make_sheet().panel
    assert panel is not None

    stages = film_stages(replace(panel, above_hanging=0.1, above_trimmed=0.05, below_hanging=0.8, below_first_trim=0.6,
                                 below_final=0.02))  # fmt: skip

    assert [(stage.above, stage.below) for stage in stages] == [(0.1, 0.8), (0.1, 0.6), (0.05, 0.02)]


def test_equal_sheets_do_not_differ() -> None:
    assert differences(make_sheet(), make_sheet()) == []


def test_a_hair_is_no_difference_and_a_millimetre_is() -> None:
    old = make_sheet()
    post = next(cut for cut in old.cuts if cut.part == "guide_post")

    def lengthened(by: float) -> Sheet:
        cuts = tuple(replace(cut, length=cut.length + by) if cut is post else cut for cut in old.cuts)
        return replace(old, cuts=cuts)

    assert differences(old, lengthened(1e-5)) == []
    assert differences(old, lengthened(1e-3)) == ["Guide post"]


def test_part_that_is_no_longer_needed_is_a_difference() -> None:
    old = make_sheet()
    new = replace(old, cuts=tuple(cut for cut in old.cuts if cut.part != "sill_bar"), kind="bottom_bar")

    assert differences(old, new) == ["Kind of door", "Sill bar"]
