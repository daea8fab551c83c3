"""Sheets of film: their size over an arch, the roll they are cut from, and the autumn in which they are changed."""

from __future__ import annotations

import math
from datetime import date

import pytest

from farm.geometry import Profile, Shape
from maintenance.sheeting import (
    Piece,
    Sheet,
    arch_length,
    autumn_day,
    cut_from,
    order_day,
    replacement_day,
    roof_sheet,
    sheet_mass,
    wall_area,
    wall_sheet,
    year_of_plan,
)

FOOT = 0.3048  # m, exact
MIL = 25.4e-6  # m, exact
TENT = Profile(Shape.MEASURED, 8.0, 3.0, 0.0, ((0.0, 0.0), (4.0, 3.0), (8.0, 0.0)))  # two triangles of 3, 4 and 5 m
HALF_CIRCLE = Profile(Shape.ROUND, 6.0, 3.0, 0.0)
ON = date(2026, 11, 25)


# Arches ----------------------------------------------------------------------------


def test_a_half_circle_is_as_long_as_archimedes_says() -> None:
    assert arch_length(HALF_CIRCLE) == pytest.approx(3 * math.pi, rel=1e-12)


def test_straight_sides_are_added_on_both_sides() -> None:
    assert arch_length(Profile(Shape.ROUND, 6.0, 5.0, 2.0)) == pytest.approx(3 * math.pi + 4, rel=1e-12)


def test_a_flat_round_arch_is_the_arc_over_its_chord() -> None:
    """A rise of 1 over a half width of sqrt(3): radius 2, half angle 60 degrees."""
    flat = Profile(Shape.ROUND, 2 * math.sqrt(3), 1.0, 0.0)

    assert arch_length(flat) == pytest.approx(2 * 2 * math.pi / 3, rel=1e-12)


def test_a_measured_outline_is_the_sum_of_its_stretches() -> None:
    assert arch_length(TENT) == pytest.approx(10.0, rel=1e-12)


def test_a_gothic_arch_is_the_integral_along_its_curve() -> None:
    """Simpson's rule on sqrt(1 + y'^2) of side + rise (1 - (d/half)^1.7), apart from the code's chords."""
    half, rise, side, count = 4.572, 2.8956, 1.524, 20_000
    step = half / count
    slopes = [1.7 * rise / half * (place * step / half) ** 0.7 for place in range(count + 1)]
    heights = [math.sqrt(1 + slope**2) for slope in slopes]
    simpson = heights[0] + heights[-1] + 4 * sum(heights[1:-1:2]) + 2 * sum(heights[2:-1:2])
    curve = simpson * step / 3

    gothic = Profile(Shape.GOTHIC, 2 * half, side + rise, side)

    assert arch_length(gothic) == pytest.approx(2 * curve + 2 * side, abs=1e-3)


# Sheets ----------------------------------------------------------------------------


def test_a_roof_sheet_has_a_foot_of_edge_at_the_ends_and_half_of_it_at_the_sides() -> None:
    sheet = roof_sheet(TENT, 20.0)

    assert (sheet.width, sheet.length) == pytest.approx((10 + FOOT, 20 + 2 * FOOT))


def test_a_wall_sheet_has_a_foot_of_edge_all_round() -> None:
    sheet = wall_sheet(TENT)

    assert (sheet.width, sheet.length) == pytest.approx((8 + 2 * FOOT, 3 + 2 * FOOT))


def test_a_common_tunnel_is_covered_by_the_trades_common_sheet() -> None:
    """Gothic, 30 x 96 ft, 14 1/2 ft high on 5 ft sides: a sheet of 48 x 100 ft, common practice, no source."""
    gothic = Profile(Shape.GOTHIC, 30 * FOOT, 14.5 * FOOT, 5 * FOOT)

    sheet = roof_sheet(gothic, 96 * FOOT)
    piece = cut_from(sheet, [width * FOOT for width in (24, 32, 40, 48)])

    assert piece is not None
    assert piece.roll_width == pytest.approx(48 * FOOT)
    assert 96 * FOOT < piece.length <= 100 * FOOT


def test_openings_are_taken_out_of_a_wall() -> None:
    assert wall_area(TENT, []) == pytest.approx(12.0)
    assert wall_area(TENT, [(2.0, 2.0), (1.0, 2.0)]) == pytest.approx(6.0)
    assert wall_area(TENT, [(8.0, 3.0)]) == 0


def test_a_sheet_comes_off_the_roll_that_wastes_least_and_may_be_turned() -> None:
    assert cut_from(Sheet(3.0, 10.0), [4.0, 5.0]) == Piece(4.0, 10.0)
    assert cut_from(Sheet(10.0, 3.0), [4.0, 5.0]) == Piece(4.0, 10.0)
    assert cut_from(Sheet(4.0, 5.0), [4.0, 5.0]) == Piece(5.0, 4.0)


def test_a_sheet_wider_than_every_roll_has_no_piece() -> None:
    assert cut_from(Sheet(6.0, 10.0), [4.0, 5.0]) is None


def test_without_rolls_the_piece_is_the_sheet() -> None:
    assert cut_from(Sheet(6.0, 10.0), []) == Piece(6.0, 10.0)


def test_film_weighs_by_what_comes_off_the_roll() -> None:
    """0.92 kg on a square metre of a millimetre: low-density polyethylene at 920 kg/m³."""
    assert sheet_mass(Piece(2.0, 5.0), 0.001) == pytest.approx(9.2)


# Seasons ---------------------------------------------------------------------------


def test_film_is_changed_in_mid_autumn_of_its_hemisphere() -> None:
    assert autumn_day(2027, is_southern=False) == date(2027, 9, 15)
    assert autumn_day(2027, is_southern=True) == date(2027, 3, 15)


@pytest.mark.parametrize(
    ("early", "late", "is_southern", "expected"),
    [
        (date(2029, 5, 1), date(2031, 5, 1), False, date(2028, 9, 15)),  # the last autumn before the end
        (date(2028, 9, 15), date(2030, 1, 1), False, date(2028, 9, 15)),  # the end on the very day
        (date(2028, 9, 14), date(2030, 1, 1), False, date(2027, 9, 15)),  # a day sooner: the autumn before
        (date(2027, 5, 1), date(2029, 5, 1), False, date(2027, 9, 15)),  # passed, but it may last until the next
        (date(2026, 1, 1), date(2027, 9, 15), False, date(2027, 9, 15)),  # to the very day
        (date(2026, 1, 1), date(2027, 9, 14), False, None),  # a day short: now
        (date(2024, 1, 1), date(2026, 1, 1), False, None),
        (date(2028, 5, 1), date(2030, 5, 1), True, date(2028, 3, 15)),
    ],
)
def test_a_sheet_is_changed_in_the_last_autumn_before_its_end(
    early: date, late: date, is_southern: bool, expected: date | None
) -> None:
    assert replacement_day(early, late, ON, is_southern=is_southern) == expected


def test_on_mid_autumn_itself_film_is_changed_that_day() -> None:
    day = date(2026, 9, 15)

    assert replacement_day(day, day, day, is_southern=False) == day


def test_film_is_ordered_its_lead_time_before() -> None:
    assert order_day(date(2027, 9, 15), 2) == date(2027, 9, 1)
    assert order_day(date(2027, 9, 15), 0) == date(2027, 9, 15)
    assert order_day(date(2027, 9, 15), None) == date(2027, 8, 4)  # six weeks


@pytest.mark.parametrize(
    ("day", "on", "number"),
    [
        (date(2026, 11, 25), ON, 0),
        (date(2027, 11, 24), ON, 0),
        (date(2027, 11, 25), ON, 1),
        (date(2029, 11, 24), ON, 2),
        (date(2020, 1, 1), ON, 0),
        (date(2029, 2, 28), date(2028, 2, 29), 0),
        (date(2029, 3, 1), date(2028, 2, 29), 1),
    ],
)
def test_years_of_a_plan_are_twelve_months_each(day: date, on: date, number: int) -> None:
    assert year_of_plan(day, on) == number


def test_a_door_panels_area_is_its_sides_multiplied() -> None:
    assert Sheet(3.0, 4.0).area == 12.0
