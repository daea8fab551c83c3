"""Lengths are read the way people write them, exactly, and printed the way they read them."""

import pickle
from fractions import Fraction

import pint
import pytest

from farm.lengths import (
    MAX_CHARACTERS,
    MESSAGES,
    MM_PER_FOOT,
    MM_PER_INCH,
    MM_PER_METRE,
    LengthError,
    format_feet_inches,
    format_inches,
    format_millimetres,
    millimetres,
    parse_length,
)

exactly = pint.UnitRegistry(non_int_type=Fraction)


def mm(number, unit):
    """Convert with pint, in fractions, so that the reference is exact as well."""
    return exactly.Quantity(Fraction(number), unit).to("millimetre").magnitude


@pytest.mark.parametrize(("ours", "unit"), [(MM_PER_INCH, "inch"), (MM_PER_FOOT, "foot"), (MM_PER_METRE, "metre")])
def test_constants_are_exactly_those_of_pint(ours, unit):
    assert ours == mm(1, unit)


FEET_INCHES = mm(Fraction(409, 4), "inch")  # 8 ft 6 1/4 in = 102 1/4 in


@pytest.mark.parametrize(
    "text",
    [
        """8' 6 1/4\"""",
        "8 ft 6 1/4 in",
        """8'-6 1/4\"""",
        """8' - 6 1/4\"""",
        """8' 6-1/4\"""",
        """8' 6 - 1 / 4\"""",
        "8' 6 1/4",
        "8'6 1/4",
        "8ft6.25in",
        "8 ft, 6 1/4 in",
        "8 feet and 6 1/4 inches",
        "8 FT. 6 1/4 IN.",
        "8 foot 6 1/4 inch",
        "8 pies 6 1/4 pulgadas",
        "8 pies y 6 ¼ pulg.",
        "8 pie con 6 1/4 pulgada",
        "8' 6 1/4''",
        "8′ 6¼″",
        "8’ 6¼”",
        "8´ 6¼´´",
        "8` 6 1⁄4“",
        "8' 6 1∕4\"",
        '8\u20116 1/4"'.replace("8", "8'"),  # non-breaking hyphen
        "102 1/4",
        "102.25",
        "102,25",
        "102-1/4",
        '102.25"',
        "409/4 in",
        "102¼",
        "  102 1/4\n",
        "\u00a08\u00a0ft\u202f6\u20091/4\u00a0in\u00a0",  # non-breaking and thin blanks
        "\ufeff8' 6 1/4\u200b\"",  # marks that pasted text carries along
    ],
)
def test_every_way_to_write_feet_and_inches_gives_the_same_length(text):
    assert parse_length(text, bare="in") == FEET_INCHES


@pytest.mark.parametrize(
    ("text", "number", "unit"),
    [
        ("2.6 m", "2.6", "metre"),
        ("2,6 m", "2.6", "metre"),
        ("2.600 m", "2.6", "metre"),
        ("2600 mm", "2600", "millimetre"),
        ("2600mm", "2600", "millimetre"),
        ("260 cm", "260", "centimetre"),
        ("2 1/2 m", "5/2", "metre"),
        (".5 m", "0.5", "metre"),
        (",5 m", "0.5", "metre"),
        ("1/3 m", "1/3", "metre"),
        ("2 metros", "2", "metre"),
        ("2 milímetros", "2", "millimetre"),
        ("2 milimetros", "2", "millimetre"),
        ("2 mili\u0301metros", "2", "millimetre"),  # accent typed as a character of its own
        ("2 centímetros", "2", "centimetre"),
        ("2 meters", "2", "metre"),
        ("2 centimetres", "2", "centimetre"),
        ("2 millimeter", "2", "millimetre"),
        ("8.5 ft", "8.5", "foot"),
        ("8½'", "8.5", "foot"),
        ("8 1/2 feet", "8.5", "foot"),
        ("8'", "8", "foot"),
        ("0'", "0", "foot"),
        ("⅓ in", "1/3", "inch"),
        ("⅔ in", "2/3", "inch"),
        ("⅛ in", "1/8", "inch"),
        ("⅜ in", "3/8", "inch"),
        ("⅝ in", "5/8", "inch"),
        ("⅞ in", "7/8", "inch"),
        ("¾ in", "3/4", "inch"),
        ("⅟16 in", "1/16", "inch"),
        ("-3 mm", "-3", "millimetre"),
        ("− 3 mm", "-3", "millimetre"),
        ("-8' 6\"", "-8.5", "foot"),
        ("10000 m", "10000", "metre"),
    ],
)
def test_units_agree_with_pint_to_the_last_digit(text, number, unit):
    assert parse_length(text, bare="mm") == mm(number, unit)


@pytest.mark.parametrize(("bare", "unit"), [("in", "inch"), ("mm", "millimetre")])
def test_a_bare_number_takes_the_callers_unit(bare, unit):
    assert parse_length("102 1/4", bare=bare) == mm(Fraction(409, 4), unit)


def test_a_number_after_feet_is_inches_even_where_bare_numbers_are_millimetres():
    assert parse_length("8' 6", bare="mm") == mm(102, "inch")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", """Write a length, such as 8' 6 1/4" or 2597 mm."""),
        (" \u00a0\t", """Write a length, such as 8' 6 1/4" or 2597 mm."""),
        ("1" * 201, "Write the length in at most 200 characters."),
        ("wide", """“wide” is not a length. Write it like 8' 6 1/4" or 2597 mm."""),
        ("1.2.3", """“1.2.3” is not a length. Write it like 8' 6 1/4" or 2597 mm."""),
        ("10 km", "The unit “km” is not known. Write ft, in, m, cm or mm."),
        ("12 x 8", "The unit “x” is not known. Write ft, in, m, cm or mm."),
        ("8' 6'", "“8' 6'” gives the same unit twice. Write each unit once."),
        ("8 6", """“8 6” is two numbers. Write 8' 6" for feet and inches, or 1200."""),
        ("1 200 mm", """“1 200 mm” is two numbers. Write 8' 6" for feet and inches, or 1200."""),
        ("2 m 60 cm", "“2 m 60 cm” mixes units. Write feet then inches, or one metric unit."),
        ("""6" 8'""", """“6" 8'” mixes units. Write feet then inches, or one metric unit."""),
        ("8.5' 6", """“8.5' 6” has both part of a foot and inches. Write 8.5 ft or 8' 6"."""),
        ("""8' 14\"""", """“8' 14"” has 12 inches or more after the feet. Write 9' 2" if so."""),
        ("8 1/0", "“8 1/0” divides by zero. Write a fraction such as 1/4."),
        ("6 4/4", "The fraction in “6 4/4” is one or more. Write it like 6 1/4."),
        ("6 5/4", "The fraction in “6 5/4” is one or more. Write it like 6 1/4."),
        ("1,200", "“1,200” reads in two ways. Write 1200 or 1.2."),
        ("123456,780 mm", "“123456,780” reads in two ways. Write 123456780 or 123456.78."),
        ("1,200.5 mm", "Write 1200.5 instead of “1,200.5”."),
        ("1.200,5 mm", "Write 1200.5 instead of “1.200,5”."),
        ("1,234,567 mm", "Write 1234567 instead of “1,234,567”."),
        ("10000.1 m", "“10000.1 m” is longer than 10000 m. Check the number and its unit."),
        ("-10001 m", "“-10001 m” is longer than 10000 m. Check the number and its unit."),
    ],
)
def test_what_cannot_be_read_says_what_to_write(text, sentence):
    with pytest.raises(LengthError) as refused:
        parse_length(text, bare="in")

    assert str(refused.value) == sentence


@pytest.mark.parametrize(
    "text",
    ["nan", "inf", "--8", "8'-", "8'--6", "8' -", "8'''", "ft", '"', "5.", "8²", "١٢", "1_000", "8' 6\" 1/4 x", "½/2"],
)
def test_no_slip_is_read_as_some_other_length(text):
    with pytest.raises(LengthError) as refused:
        parse_length(text, bare="in")

    assert refused.value.code in {"unreadable", "unknown_unit"}


def test_inches_after_feet_stop_just_below_twelve():
    assert parse_length("8' 11 63/64\"", bare="in") == mm(Fraction(6911, 64), "inch")
    with pytest.raises(LengthError, match="12 inches or more"):
        parse_length("8' 12\"", bare="in")


def test_the_longest_text_allowed_is_read():
    assert parse_length("1".rjust(MAX_CHARACTERS), bare="mm") == 1


def test_an_error_can_be_translated_where_it_is_shown():
    with pytest.raises(LengthError) as refused:
        parse_length("3 furlongs", bare="in")
    error = refused.value

    assert (error.code, error.template, error.params) == (
        "unknown_unit",
        MESSAGES["unknown_unit"],
        {"unit": "furlongs"},
    )
    assert str(pickle.loads(pickle.dumps(error))) == str(error)  # noqa: S301 - our own bytes


@pytest.mark.parametrize(
    ("sixteenths", "printed"),
    [
        (0, '0"'),
        (3, '3/16"'),
        (8, '1/2"'),
        (16, '1"'),
        (22, '1 3/8"'),
        (12 * 16 - 1, '11 15/16"'),
        (12 * 16, "1' 0\""),
        (96 * 16 + 4, "8' 0 1/4\""),
        (102 * 16 + 4, "8' 6 1/4\""),
        (-25 * 16, "-2' 1\""),
        (-3, '-3/16"'),
    ],
)
def test_feet_and_inches_carry_and_reduce(sixteenths, printed):
    metres = float(mm(Fraction(sixteenths, 16), "inch") / 1000)

    assert format_feet_inches(metres) == printed


@pytest.mark.parametrize(
    ("thirty_seconds", "printed"), [(1, '1/16"'), (-1, '-1/16"'), (3, '1/8"'), (12 * 32 - 1, "1' 0\""), (0.9, '0"')]
)
def test_halves_of_a_sixteenth_go_away_from_zero(thirty_seconds, printed):
    assert format_feet_inches(thirty_seconds * 25.4 / 32 / 1000) == printed


def test_float_noise_does_not_move_a_half():
    assert format_millimetres(0.1005 + 0.2) == "301 mm"  # 0.30050000000000004 in floats
    assert format_millimetres(3 * 0.0335) == "101 mm"  # just under 0.1005 in floats


@pytest.mark.parametrize(("denominator", "printed"), [(1, "8' 6\""), (2, "8' 6 1/2\""), (64, "8' 6 17/64\"")])
def test_the_reader_may_choose_the_denominator(denominator, printed):
    assert format_feet_inches(float(mm("102.266", "inch")) / 1000, denominator=denominator) == printed


def test_lengths_below_a_limit_print_in_inches():
    yard = float(mm(3, "foot")) / 1000

    assert format_feet_inches(yard - 0.0254, inches_below=yard) == '35"'
    assert format_feet_inches(yard - 0.0001, inches_below=yard) == "3' 0\""
    assert format_feet_inches(-0.635, inches_below=yard) == '-25"'


@pytest.mark.parametrize(
    ("inches", "printed"), [(0, '0"'), ("11/8", '1 3/8"'), ("409/4", '102 1/4"'), ("-1/2", '-1/2"'), (-1, '-1"')]
)
def test_inches_alone(inches, printed):
    assert format_inches(float(mm(inches, "inch")) / 1000) == printed


@pytest.mark.parametrize(
    ("metres", "printed"),
    [
        (2.597, "2597 mm"),
        (2.5965, "2597 mm"),
        (-2.5965, "-2597 mm"),
        (0.0104, "10 mm"),
        (0.0101, "10 mm"),
        (0.00996, "10 mm"),
        (0.0095, "9.5 mm"),
        (-0.0095, "-9.5 mm"),
        (0.003, "3 mm"),
        (0.00025, "0.3 mm"),
        (0.00004, "0 mm"),
        (-0.00004, "0 mm"),
        (0, "0 mm"),
    ],
)
def test_millimetres_keep_a_tenth_only_below_ten(metres, printed):
    assert format_millimetres(metres) == printed


@pytest.mark.parametrize("metres", [float("nan"), float("inf"), float("-inf")])
@pytest.mark.parametrize("printer", [format_feet_inches, format_inches, format_millimetres])
def test_what_is_not_a_length_is_not_printed(printer, metres):
    with pytest.raises(ValueError, match="finite"):
        printer(metres)


@pytest.mark.parametrize("printer", [format_feet_inches, format_inches])
def test_a_denominator_below_one_is_refused(printer):
    with pytest.raises(ValueError, match="at least 1"):
        printer(1.0, denominator=0)


def test_millimetres_agree_with_pint():
    assert millimetres(2.597) == pint.UnitRegistry().Quantity(2.597, "metre").to("millimetre").magnitude
