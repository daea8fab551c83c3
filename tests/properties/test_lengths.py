"""What is printed is read back as what it was; nothing else is read as a length."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from farm.lengths import (
    LengthError,
    format_feet_inches,
    format_inches,
    format_millimetres,
    parse_length,
)

SIXTEENTH = Fraction(254, 160)  # mm
HUNDRED_FEET = 100 * 12 * 16  # sixteenths


def test_every_sixteenth_up_to_a_hundred_feet_is_read_back():
    for count in range(HUNDRED_FEET + 1):
        metres = float(count * SIXTEENTH / 1000)
        assert parse_length(format_feet_inches(metres), bare="mm") == count * SIXTEENTH


@given(st.integers(-HUNDRED_FEET, HUNDRED_FEET))
def test_every_sixteenth_in_inches_is_read_back(count):
    assert parse_length(format_inches(float(count * SIXTEENTH / 1000)), bare="mm") == count * SIXTEENTH


def test_every_millimetre_up_to_thirty_metres_is_read_back():
    for count in range(30_001):
        assert parse_length(format_millimetres(count / 1000), bare="in") == count


@given(st.integers(-99, 99))
def test_every_tenth_below_ten_millimetres_is_read_back(tenths):
    assert parse_length(format_millimetres(tenths / 10_000), bare="in") == Fraction(tenths, 10)


@given(
    st.integers(0, 10_000_000),
    st.sampled_from([("", ""), ("  ", ""), ("", "\u00a0")]),
    st.sampled_from([" ft", "'", " feet", "′", " PIES", " pie "]),
)
def test_dress_does_not_change_the_length(thousandths, blanks, unit):
    text = f"{blanks[0]}{thousandths // 1000}.{thousandths % 1000:03}{unit}{blanks[1]}"

    assert parse_length(text, bare="mm") == Fraction(thousandths, 1000) * Fraction(3048, 10)


@given(st.floats(-3000, 3000), st.sampled_from([1, 2, 4, 8, 16, 32, 64]))
def test_rounding_moves_a_length_by_at_most_half_a_step(metres, denominator):
    read = parse_length(format_feet_inches(metres, denominator=denominator), bare="mm")

    assert abs(read - Fraction(metres) * 1000) <= Fraction(254, 10) / denominator / 2 + Fraction(1, 10**9)


@given(st.floats(0, 3000), st.floats(0, 3000))
def test_a_longer_length_is_never_printed_shorter(one, other):
    shorter, longer = sorted([one, other])

    for printer in (format_feet_inches, format_inches, format_millimetres):
        assert parse_length(printer(shorter), bare="mm") <= parse_length(printer(longer), bare="mm")


@given(st.floats(0, 3000))
def test_below_zero_prints_as_above_with_a_minus(metres):
    for printer in (format_feet_inches, format_inches, format_millimetres):
        printed = printer(metres)
        assert printer(-metres) == (printed if printed[0] == "0" and "." not in printed else f"-{printed}")


def read(text):
    """Return the length of a text, or the sentence it is refused with."""
    try:
        return parse_length(text, bare="in")
    except LengthError as error:
        return str(error)


@given(st.one_of(st.text(max_size=199), st.text("0123456789 ./,-'\"½¼′″ftincm", max_size=20)))
def test_any_text_is_a_length_or_a_sentence(text):
    answer = read(text)

    if isinstance(answer, str):
        assert answer.startswith(("Write", "“", "The"))
    else:
        assert abs(answer) <= 10_000_000
        assert answer <= 0 or read(f"-{text}") == -answer
