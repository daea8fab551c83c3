"""Door sheets: drawings, marks, film stages and differences say what the sizing says."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import pytest

from doors.differences import differences
from doors.drawn.drawings import elevation
from doors.drawn.marking import film_stages, mark_rows
from doors.drawn.sections import bar_strip, merged, section, thinned
from doors.sizing import FOOT, Check, DoorKind, Facts, Row, Rules, Sheet, Side, Verdict, size
from farm.geometry import Shape
from farm.units import format_length
from tests.openings import make_opening
from tests.svg import collisions, metres, paths, points, texts

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


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("side", list(Side))
@pytest.mark.parametrize(("tunnel", "wide", "high"), [(22, 8, 8), (22, 10, 8), (30, 22, 11), (34, 20, 10), (14, 3, 12)])
def test_no_lettering_of_an_elevation_stands_on_other_lettering(
    tunnel: int, wide: int, high: int, side: Side, units: str
) -> None:
    wall = {"width": tunnel * FOOT, "ridge": tunnel / 2 * FOOT, "shape": Shape.ROUND, "side": 4 * FOOT}
    opening = make_opening(
        rough_width=wide * FOOT, rough_height=high * FOOT, offset=(tunnel - wide) / 2 * FOOT, wall=wall,
        design={"drive_side": side},
    )  # fmt: skip

    drawing = elevation(opening, size(opening, Rules()), partial(format_length, units=units))

    assert collisions(drawing) == []


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


def test_channel_whose_name_the_first_core_did_not_know_is_no_difference() -> None:
    new = size(make_opening(), Rules())
    unnamed = {"header_channel": "channel", "jamb_wire": "wire"}
    old = replace(new, cuts=tuple(replace(cut, material=unnamed.get(cut.part, cut.material)) for cut in new.cuts))

    assert differences(old, new) == []
    assert differences(new, old) == ["Film channel on the header", "Spring wire, jamb"]


def test_part_that_is_no_longer_needed_is_a_difference() -> None:
    old = make_sheet()
    new = replace(old, cuts=tuple(cut for cut in old.cuts if cut.part != "sill_bar"), kind="bottom_bar")

    assert differences(old, new) == ["Kind of door", "Sill bar"]
