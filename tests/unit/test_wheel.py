"""The wheel of the year: days at their angle, windows that do not lie on each other, numbers that do not collide."""

from __future__ import annotations

import math
import re
from datetime import date, timedelta
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.paper import Drawing
from maintenance.drawn.wheel import (
    BALLOON,
    FILM,
    HALF,
    HUB,
    MONTHS,
    NUMBERS,
    RINGS,
    SHARES,
    Arc,
    Share,
    WheelYear,
    Window,
    _Dial,
    lanes,
    placed,
    season_wheel,
)
from tests.svg import collisions, paths, texts

MONTH_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
SEASONS = ((date(2027, 3, 1), "primavera"), (date(2027, 6, 1), "verano"), (date(2027, 9, 1), "otoño"),
           (date(2027, 12, 1), "invierno"))  # fmt: skip
YEAR = 2027  # of 365 days, none of which a quarter ends on

days = st.integers(-40, 364).map(lambda number: date(YEAR, 1, 1) + timedelta(days=number))
windows = st.builds(
    lambda key, first, length: Window(key, first, first + timedelta(days=length)),
    st.integers(1, 30), days, st.integers(0, 120),
)  # fmt: skip
rings = st.lists(st.lists(windows, max_size=8), min_size=1, max_size=5)


def wheel(**shown: object) -> Drawing:
    given_year: dict[str, object] = {
        "year": YEAR, "month_names": MONTH_NAMES, "seasons": SEASONS, "rings": (), "shares": {}, "film": (),
        "daylight": (), "today": None,
    }  # fmt: skip
    return season_wheel(WheelYear(**(given_year | shown)), title="A year", description="As a wheel")  # type: ignore[arg-type]


def numbers(d: str) -> list[float]:
    return [float(text) for text in re.findall(r"-?\d+\.?\d*", d)]


def polar(x: float, y: float) -> tuple[float, float]:
    """Return the angle clockwise from the top [degrees] and the distance from the middle [mm]."""
    return math.degrees(math.atan2(x - HALF, HALF - y)) % 360, math.hypot(x - HALF, y - HALF)


def test_january_begins_at_the_top_and_the_year_runs_clockwise() -> None:
    dial = _Dial(YEAR)

    assert dial.point(0, 10) == pytest.approx((HALF, HALF - 10))
    right = dial.point(365 / 4, 10)
    assert right == pytest.approx((HALF + 10, HALF))


def test_a_leap_year_has_room_for_its_day() -> None:
    assert _Dial(2028).turn(date(2028, 12, 31)) == 365
    assert polar(*_Dial(2028).point(366 / 2, 5))[0] == pytest.approx(180)


def test_a_window_stands_at_its_days() -> None:
    """From 1 July to 31 July: days 181 to 212 of 365."""
    drawing = wheel(rings=[[Window(1, date(YEAR, 7, 1), date(YEAR, 7, 31))]])
    (sector,) = paths(drawing, "wheel-window")
    x, y = numbers(sector.d)[:2]

    angle, radius = polar(x, y)

    assert angle == pytest.approx(181 / 365 * 360, abs=0.1)
    assert MONTHS < radius < RINGS


def test_a_window_over_the_turn_of_the_year_is_cut_to_the_year() -> None:
    ring = [Window(1, date(YEAR - 1, 12, 1), date(YEAR, 1, 10)), Window(2, date(YEAR, 12, 20), date(YEAR + 1, 2, 1))]

    arcs = {arc.key: (arc.start, arc.end) for arc in placed([ring], _Dial(YEAR))}

    assert arcs == {1: (0, 10), 2: (353, 365)}


def test_windows_of_one_key_that_follow_each_other_are_one() -> None:
    """Weekly work with a week's window fills the year with one band."""
    weekly = [
        Window(1, date(YEAR, 1, 4) + timedelta(days=7 * week), date(YEAR, 1, 10) + timedelta(days=7 * week))
        for week in range(10)
    ]

    assert lanes(weekly) == [[Window(1, date(YEAR, 1, 4), date(YEAR, 3, 14))]]


def test_windows_that_touch_lie_in_lanes_of_their_own() -> None:
    spring = Window(1, date(YEAR, 3, 1), date(YEAR, 3, 30))
    after = Window(2, date(YEAR, 3, 31), date(YEAR, 4, 20))
    later = Window(3, date(YEAR, 4, 10), date(YEAR, 5, 1))

    assert lanes([spring, after, later]) == [[spring, later], [after]]


@given(rings)
def test_no_two_windows_lie_on_each_other(given_rings: list[list[Window]]) -> None:
    arcs = list(placed(given_rings, _Dial(YEAR)))

    assert all(MONTHS <= arc.inner < arc.outer <= RINGS for arc in arcs)
    assert not [pair for pair in combinations(arcs, 2) if _overlap(*pair)]


def _overlap(one: Arc, other: Arc) -> bool:
    return (
        one.start < other.end and other.start < one.end
        and one.inner < other.outer - 1e-9 and other.inner < one.outer - 1e-9
    )  # fmt: skip


@given(rings)
def test_no_two_letterings_stand_in_each_others_way(given_rings: list[list[Window]]) -> None:
    assert collisions(wheel(rings=given_rings)) == []


@given(rings)
def test_balloons_stand_apart_around_the_rim_and_on_the_paper(given_rings: list[list[Window]]) -> None:
    drawing = wheel(rings=given_rings)
    rim = [(float(line.x), float(line.y)) for line in drawing.lettering if "wheel-number" in line.style]

    assert all(math.dist(one, other) > 2 * BALLOON for one, other in combinations(rim, 2))
    assert all(BALLOON <= x <= 2 * HALF - BALLOON and BALLOON <= y <= 2 * HALF - BALLOON for x, y in rim)


def test_every_window_has_its_number_once() -> None:
    same = (date(YEAR, 3, 1), date(YEAR, 3, 30))
    drawing = wheel(rings=[[Window(1, *same), Window(2, *same)], [Window(3, *same)]])

    rim = [line.text for line in drawing.lettering if "wheel-number" in line.style]

    assert sorted(rim) == ["1", "2", "3"]


def test_lines_to_windows_over_the_same_days_leave_apart() -> None:
    same = (date(YEAR, 3, 1), date(YEAR, 3, 30))
    drawing = wheel(rings=[[Window(number, *same) for number in range(1, 5)]])

    dots = paths(drawing, "wheel-dot")
    angles = sorted(polar(numbers(dot.d)[0] + 0.6, numbers(dot.d)[1])[0] for dot in dots)

    assert len(angles) == 4
    assert min(after - before for before, after in pairwise(angles)) > 4


def test_what_comes_often_is_numbered_once() -> None:
    monthly = [Window(7, date(YEAR, month, 1), date(YEAR, month, 3)) for month in range(1, 13)]

    assert texts(wheel(rings=[monthly])).count("7") == 1
    assert len(paths(wheel(rings=[monthly]), "wheel-window")) == 12


def test_a_months_jobs_share_its_arc_by_their_number() -> None:
    """Three quarters of April done, one late: the late part begins after 22.5 of its 30 days."""
    drawing = wheel(shares={4: Share(done=3, late=1)})
    (late,) = paths(drawing, "wheel-late")

    angle, radius = polar(*numbers(late.d)[:2])

    assert angle == pytest.approx((90 + 22.5) / 365 * 360, abs=0.1)
    assert radius == pytest.approx(SHARES[1], abs=0.02)
    assert [len(paths(drawing, f"wheel-{style}")) for style in ("done", "to-do", "dropped")] == [1, 0, 0]


def test_film_of_one_day_is_one_mark_and_that_of_other_years_none() -> None:
    drawing = wheel(film=[date(YEAR, 9, 15), date(YEAR, 9, 15), date(YEAR + 1, 9, 15)])
    (mark,) = paths(drawing, "wheel-film")

    angle, radius = polar(*numbers(mark.d)[:2])

    assert angle == pytest.approx((257.5 - 1.1) / 365 * 360, abs=0.2)
    assert radius == pytest.approx(FILM + 1.1, abs=0.02)


def test_the_hand_stands_at_today_in_its_own_year_only() -> None:
    hand = paths(wheel(today=date(YEAR, 10, 2)), "wheel-hand")[0]

    angle, radius = polar(*numbers(hand.d)[:2])

    assert angle == pytest.approx(274.5 / 365 * 360, abs=0.2)
    assert radius == pytest.approx(HUB, abs=0.02)
    assert paths(wheel(today=date(YEAR + 1, 10, 2)), "wheel-hand") == []


def test_twelve_hours_of_daylight_run_on_the_dashed_circle() -> None:
    drawing = wheel(daylight=(12.0,) * 365)
    (curve,), (twelve,) = paths(drawing, "curve"), paths(drawing, "hidden")

    corners = numbers(curve.d)
    radii = {round(polar(x, y)[1], 1) for x, y in zip(corners[::2], corners[1::2], strict=True)}

    assert radii == {29.0}  # half way from 24 to 34 mm
    assert numbers(twelve.d)[2] == 29.0


def test_without_a_latitude_there_is_no_daylight() -> None:
    assert paths(wheel(), "curve") == []


def test_numbers_stay_within_the_rim() -> None:
    assert NUMBERS + BALLOON < HALF
