"""The short number on a printed sheet: read back as it was printed, and a slip of the pen is caught."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from maintenance.work.sheetnumbers import (
    ALPHABET,
    SheetNumber,
    SheetNumberError,
    card_of,
    check_character,
    read_number,
)

# The recording industry's GRid standard prints A12425GABC1234002M; its last character is by ISO/IEC 7064 MOD 37,36.
PUBLISHED = "A12425GABC1234002M"


def test_the_check_character_is_that_of_a_published_number():
    assert check_character(PUBLISHED[:-1]) == PUBLISHED[-1]


@given(st.sampled_from("PLS"), st.integers(0, 999_999), st.integers(1, 12), st.integers(1, 28))
def test_a_number_is_read_as_it_is_printed(kind, first, month, day):
    number = SheetNumber(kind, first, month * 100 + day)

    assert read_number(str(number)) == number
    assert read_number(f"  {str(number).lower().replace('-', ' ')} ") == number


@given(st.integers(0, 99_999), st.integers(101, 1231), st.data())
def test_one_wrong_character_is_caught(first, second, data):
    text = str(SheetNumber("P", first, second))
    at = data.draw(st.sampled_from([index for index, letter in enumerate(text) if index and letter != "-"]))
    digits = "0123456789" if at < len(text) - 1 else ALPHABET
    alike = next(({*pair} for pair in ("I1", "O0") if text[at] in pair), {text[at]})  # one stroke on paper
    wrong = data.draw(st.sampled_from([letter for letter in digits if letter not in alike]))

    slip = text[:at] + wrong + text[at + 1 :]
    kind, changed, day = slip[:-2].partition("-")[0][0], slip[1:].partition("-")[0], slip[:-2].rpartition("-")[2]
    right = check_character(f"{kind}{changed}A{day}")
    assume({right, slip[-1]} not in ({"I", "1"}, {"O", "0"}))  # one stroke on paper: the price of reading both

    with pytest.raises(SheetNumberError):
        read_number(slip)


def test_a_one_may_be_read_for_an_i():
    number = SheetNumber("S", 1, 2)

    assert str(number) == "S1-2-I"
    assert read_number("S1-2-1") == number


@pytest.mark.parametrize("text", ["", "P", "P7", "P7-1125", "Q7-1125-J", "P7-1125-J-J", "P" + "7" * 500 + "-1125-J"])
def test_what_is_no_number_is_refused(text):
    with pytest.raises(SheetNumberError):
        read_number(text)


@pytest.mark.parametrize(
    ("printed", "today", "found"),
    [
        (date(2026, 11, 25), date(2026, 11, 25), date(2026, 11, 25)),
        (date(2026, 12, 30), date(2027, 1, 2), date(2026, 12, 30)),
        (date(2024, 2, 29), date(2027, 1, 2), date(2024, 2, 29)),
    ],
)
def test_the_day_is_the_last_such_day(printed, today, found):
    assert card_of("P", 7, printed).day(today) == found


def test_a_day_that_no_year_has_is_refused():
    with pytest.raises(SheetNumberError):
        SheetNumber("P", 7, 1340).day(date(2026, 11, 25))
