"""Seasons lived and spans in service: days counted on a calendar."""

from __future__ import annotations

from datetime import date

import pytest

from maintenance.ages.ageing import J_M2_PER_KLY, months_down, seasons_lived, spans_up

FITTED, UNTIL = date(2024, 5, 1), date(2025, 5, 1)
AUTUMN, SPRING = date(2024, 10, 1), date(2025, 4, 1)


@pytest.mark.parametrize(
    ("fitted_on", "last", "lived"),
    [
        (date(2024, 5, 1), date(2024, 5, 1), 1),  # a spring
        (date(2024, 5, 31), date(2024, 6, 1), 2),  # spring, summer
        (date(2023, 12, 1), date(2024, 2, 29), 1),  # one winter over the turn of the year
        (date(2024, 2, 29), date(2024, 3, 1), 2),
        (date(2020, 3, 1), date(2024, 2, 29), 16),  # four years of four
        (date(2020, 3, 1), date(2024, 3, 1), 17),
    ],
)
def test_a_season_counts_from_the_day_it_begins(fitted_on, last, lived):
    assert seasons_lived(fitted_on, last) == lived


@pytest.mark.parametrize(
    ("down", "up"),
    [
        ([], [(FITTED, UNTIL)]),
        ([(AUTUMN, SPRING)], [(FITTED, AUTUMN), (SPRING, UNTIL)]),
        ([(AUTUMN, None)], [(FITTED, AUTUMN)]),
        ([(FITTED, SPRING)], [(SPRING, UNTIL)]),
        ([(AUTUMN, UNTIL)], [(FITTED, AUTUMN)]),
        ([(UNTIL, None)], [(FITTED, UNTIL)]),
    ],
)
def test_a_part_is_up_but_for_the_days_it_was_down(down, up):
    assert spans_up(FITTED, UNTIL, down) == up


def test_a_part_fitted_today_was_not_up_yet():
    assert spans_up(FITTED, FITTED, []) == []


@pytest.mark.parametrize(
    ("down", "on", "months"),
    [
        ([], date(2025, 5, 1), set()),
        ([(date(2024, 10, 1), date(2025, 4, 20))], date(2025, 5, 1), {10, 11, 12, 1, 2, 3, 4}),
        ([(date(2024, 10, 16), date(2024, 11, 15))], date(2025, 5, 1), set()),  # no middle of a month
        ([(date(2022, 10, 1), date(2023, 4, 20))], date(2025, 5, 1), set()),  # not in the past year
        ([(date(2025, 4, 1), None)], date(2025, 5, 20), {4, 5}),
        ([(date(2025, 4, 1), None)], date(2025, 5, 10), {4}),
    ],
)
def test_what_was_down_in_the_middle_of_a_month_will_be_so_next_year(down, on, months):
    assert months_down(down, on) == months


def test_a_langley_is_a_calorie_on_a_square_centimetre():
    """NIST Special Publication 811 (2008), B.8: langley (cal_th/cm²) to J/m², 4.184 E+04."""
    assert pytest.approx(4.184e4) == J_M2_PER_KLY / 1000
