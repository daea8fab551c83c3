"""The life line: gaps, the scale of time, and marks whose shape tells what they are."""

from __future__ import annotations

from datetime import date

import pytest

from maintenance.drawn.lifeline import (
    EXPECTED,
    MOST_ROWS,
    Life,
    MarkKind,
    gaps,
    legend_mark,
    life_line,
    months_apart,
    scale_days,
)

MAY, AUTUMN, SPRING, NOW = date(2024, 5, 1), date(2024, 10, 1), date(2025, 4, 1), date(2026, 5, 1)


def life(**values):
    """Return a part that has been up since the first of May 2024."""
    given = {"name": "since", "href": "", "fitted_on": MAY, "until": NOW, "spans": [(MAY, NOW)], "is_this": True}
    return Life(**{**given, **values})


def draw(*lives):
    """Draw lives."""
    return life_line(lives, title="Life", description="")


def across(path):
    """Return the leftmost and rightmost place of a path of straight lines. [mm]"""
    places = [float(point.split()[0]) for point in path.d.strip("MZ").split("L")]
    return min(places), max(places)


def styled(drawing, style):
    """Return the paths of a style."""
    return [path for path in drawing.paths if path.style == style]


@pytest.mark.parametrize(
    ("spans", "down"),
    [
        ([(MAY, NOW)], []),
        ([(MAY, AUTUMN), (SPRING, NOW)], [(AUTUMN, SPRING)]),
        ([(SPRING, NOW)], [(MAY, SPRING)]),
        ([(MAY, AUTUMN)], [(AUTUMN, NOW)]),
        ([], [(MAY, NOW)]),
    ],
)
def test_a_part_was_down_where_it_was_not_up(spans, down):
    assert gaps(life(spans=spans)) == down


def test_a_bar_is_as_long_as_the_time_it_stands_for():
    first, second = draw(life(spans=[(MAY, AUTUMN), (SPRING, NOW)])).paths, "life life-this"
    bars = [across(path) for path in first if path.style == second]

    lengths = [right - left for left, right in bars]
    # 153 days from May to October, 395 from April to May of the next year.
    assert lengths[0] / lengths[1] == pytest.approx(153 / 395, abs=0.001)


def test_an_expected_end_is_drawn_ahead_of_today():
    drawing = draw(life(expected=(date(2027, 5, 1), date(2028, 1, 1))))

    bar = across(styled(drawing, "life life-this")[0])
    ahead = [across(path) for path in styled(drawing, EXPECTED)]
    assert ahead[0][0] == bar[1]
    assert ahead[1][0] > bar[1]


@pytest.mark.parametrize("expected", [None, (date(2025, 1, 1), date(2025, 6, 1)), (date(2060, 1, 1), date(2066, 1, 1))])
def test_an_end_that_has_passed_or_is_very_far_is_not_drawn(expected):
    assert styled(draw(life(expected=expected)), EXPECTED) == []


def test_marks_stand_on_their_day():
    marks = [(MAY, MarkKind.REPAIR), (NOW, MarkKind.REPAIR)]
    bar, *_rest = styled(drawing := draw(life(marks=marks)), "life life-this")

    middles = [sum(across(path)) / 2 for path in styled(drawing, "solid")]
    assert middles == pytest.approx(across(bar), abs=0.02)


def test_each_kind_of_mark_has_a_shape_of_its_own():
    shapes = {kind: legend_mark(kind).paths[0].d for kind in MarkKind}

    assert len(set(shapes.values())) == len(MarkKind)
    assert len({legend_mark(kind).title for kind in MarkKind}) == len(MarkKind)


def test_the_latest_lives_are_drawn_and_others_are_links():
    lives = [life(name=f"no. {number}", href=f"/{number}", is_this=False) for number in range(9)]

    drawing = draw(*lives)

    assert [link.href for link in drawing.links] == [f"/{number}" for number in range(9)][-MOST_ROWS:]


def test_a_part_of_today_has_a_line_as_well():
    assert draw(life(fitted_on=NOW, spans=[])).height == draw(life()).height


@pytest.mark.parametrize(
    ("first", "last", "months"),
    [
        (date(2026, 5, 1), date(2026, 7, 1), 1),
        (date(2024, 1, 1), date(2026, 1, 1), 6),  # 12.5 mm a quarter are too few for 2024-01
        (date(2016, 1, 1), date(2026, 1, 1), 12),
        (date(1996, 1, 1), date(2026, 1, 1), 60),
        (date(1026, 1, 1), date(2026, 1, 1), 600),
    ],
)
def test_the_scale_leaves_room_for_its_lettering(first, last, months):
    assert months_apart(first, last, 152) == months


def test_the_scale_counts_from_january():
    assert list(scale_days(date(2024, 5, 2), date(2025, 7, 1), 6)) == [
        date(2024, 7, 1), date(2025, 1, 1), date(2025, 7, 1)
    ]  # fmt: skip
    assert list(scale_days(date(2024, 12, 31), date(2026, 1, 1), 12)) == [date(2025, 1, 1), date(2026, 1, 1)]
