"""Fractions of an inch against printed conversion tables.

Decimal and fractional conversion tables, https://kp44.org/info/DecimalFractionalConversionTables.php
(columns "approximate millimeters" and "practical fractional inches", the latter rounded to 1/16 in).
SI factors: table B, https://navalfacilities.tpub.com/1004_6/1004_60046.htm (foot 304.8 mm, inch 25.4 mm).
"""

from decimal import Decimal
from fractions import Fraction

import pytest

from farm.lengths import MM_PER_FOOT, MM_PER_INCH, format_inches, format_millimetres, parse_length

# fraction of an inch: millimetres to four decimals, and to the nearest whole millimetre
SIXTEENTHS = {
    "1/16": ("1.5875", 2),
    "1/8": ("3.1750", 3),
    "3/16": ("4.7625", 5),
    "1/4": ("6.3500", 6),
    "5/16": ("7.9375", 8),
    "3/8": ("9.5250", 10),
    "7/16": ("11.1125", 11),
    "1/2": ("12.7000", 13),
    "9/16": ("14.2875", 14),
    "5/8": ("15.8750", 16),
    "11/16": ("17.4625", 17),
    "3/4": ("19.0500", 19),
    "13/16": ("20.6375", 21),
    "7/8": ("22.2250", 22),
    "15/16": ("23.8125", 24),
}

# millimetres: the nearest sixteenth of an inch. The row of 1 mm is left out: it prints 0, where the
# rule printed above the table gives 1/16 (1 mm is 0.63 of a sixteenth).
MILLIMETRES = {
    2: "1/16",
    3: "1/8",
    4: "3/16",
    5: "3/16",
    6: "1/4",
    7: "1/4",
    8: "5/16",
    9: "3/8",
    10: "3/8",
    11: "7/16",
}


@pytest.mark.parametrize("fraction", SIXTEENTHS)
def test_sixteenths_of_an_inch_in_millimetres(fraction):
    printed, whole = SIXTEENTHS[fraction]

    assert parse_length(f'{fraction}"', bare="mm") == Fraction(Decimal(printed))
    assert round(parse_length(f'{fraction}"', bare="mm")) == whole


@pytest.mark.parametrize("fraction", [fraction for fraction, (_, whole) in SIXTEENTHS.items() if whole > 10])
def test_sixteenths_above_ten_millimetres_print_as_whole_millimetres(fraction):
    printed, whole = SIXTEENTHS[fraction]

    assert format_millimetres(float(printed) / 1000) == f"{whole} mm"


@pytest.mark.parametrize("millimetres", MILLIMETRES)
def test_millimetres_print_as_the_nearest_sixteenth(millimetres):
    assert format_inches(millimetres / 1000) == f'{MILLIMETRES[millimetres]}"'


def test_the_foot_and_the_inch():
    assert (float(MM_PER_FOOT), float(MM_PER_INCH)) == (304.8, 25.4)
