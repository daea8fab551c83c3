"""Lengths and bearings in forms: read as written, kept exactly, shown again so that they read back the same."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from farm.formfields import BearingField, ElevationField, LengthField, LengthsField, ProfileField, written

# Exact by definition: the international inch is 25.4 mm, so 8' 6 1/4" = 102.25 in = 2597.15 mm.
WRITTEN = [
    ("8' 6 1/4\"", "us", "2597.15"),
    ("8 ft 6 1/4 in", "us", "2597.15"),
    ("102 1/4", "us", "2597.15"),
    ("102 1/4", "metric", "102.25"),
    ("2.6 m", "us", "2600"),
    ("2600 mm", "us", "2600"),
    ("2600", "metric", "2600"),
    ("1/64 in", "metric", "0.396875"),
]


@pytest.mark.parametrize(("text", "units", "millimetres"), WRITTEN)
def test_a_length_is_kept_exactly(text, units, millimetres):
    assert LengthField(units=units).clean(text) == Decimal(millimetres)


@pytest.mark.parametrize(
    ("value", "units", "text"),
    [
        ("2597.15", "us", "8' 6 1/4\""),
        ("2597.150000", "us", "8' 6 1/4\""),
        ("2597", "us", "2597 mm"),
        ("2597.15", "metric", "2597.15 mm"),
        ("0", "us", '0"'),
        ("1000", "metric", "1000 mm"),
    ],
)
def test_a_stored_length_is_shown_exactly(value, units, text):
    assert written(Decimal(value), units) == text


@given(st.decimals(min_value=0, max_value=30_000, places=6), st.sampled_from(["us", "metric"]))
def test_what_is_shown_reads_back_as_what_is_stored(value, units):
    field = LengthField(units=units, least="zero", required=False)

    assert field.clean(field.prepare_value(value)) == value
    assert not field.has_changed(value, field.prepare_value(value))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("eight", "not a length"),
        ("8' 14\"", "12 inches"),
        ("1/3 in", "cannot be kept exactly"),
        ("0", "not above 0"),
        ("-3 ft", "not above 0"),
        ("nan", "not a length"),
        ("8' 6\" 3'", "Write"),
    ],
)
def test_a_refused_length_says_what_to_write(text, words):
    with pytest.raises(ValidationError) as caught:
        LengthField(units="us").clean(text)

    assert words in caught.value.messages[0]


def test_an_empty_length_is_not_a_guess():
    assert LengthField(required=False).clean("  ") is None


def test_an_offset_may_be_nought_but_not_negative():
    field = LengthField(least="zero")

    assert field.clean("0") == 0
    with pytest.raises(ValidationError, match="below 0"):
        field.clean("-1 in")


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("W", "270"),
        ("wnw", "292.5"),
        ("270", "270"),
        ("270°", "270"),
        ("360", "0"),
        ("12.5 deg", "12.5"),
        ("ONO", "292.5"),
    ],
)
def test_a_bearing_is_a_compass_point_or_degrees(text, degrees):
    assert BearingField().clean(text) == Decimal(degrees)


@pytest.mark.parametrize("text", ["up", "361", "-10", "1.234", "WW", "²"])
def test_a_refused_bearing_says_what_to_write(text):
    with pytest.raises(ValidationError, match="compass point"):
        BearingField().clean(text)


@given(st.decimals(min_value=0, max_value=Decimal("359.99"), places=2))
def test_a_shown_bearing_reads_back(degrees):
    field = BearingField()

    assert field.clean(field.prepare_value(degrees)) == degrees


@pytest.mark.parametrize(
    ("text", "units", "metres"),
    [
        ("1700 ft", "us", "518.2"),  # 1 ft is 0.3048 m exactly: 518.16 m
        ("1700", "us", "518.2"),
        ("518.2 m", "us", "518.2"),
        ("518.2", "metric", "518.2"),
        ("1700 ft", "metric", "518.2"),
        ("-11", "metric", "-11.0"),
    ],
)
def test_an_elevation_without_a_unit_is_in_feet_or_metres_as_the_farm_writes(text, units, metres):
    assert ElevationField(units=units).clean(text) == Decimal(metres)


def test_an_elevation_is_shown_as_the_farm_writes():
    assert ElevationField(units="us").prepare_value(Decimal("518.2")) == "1700 ft"
    assert ElevationField(units="metric").prepare_value(Decimal("518.2")) == "518.2 m"


@given(st.decimals(min_value=-500, max_value=9000, places=1), st.sampled_from(["us", "metric"]))
def test_a_shown_elevation_reads_back(metres, units):
    field = ElevationField(units=units)

    assert field.clean(field.prepare_value(metres)) == metres


def test_roll_widths_are_read_between_semicolons():
    field = LengthsField(units="us", required=False)

    assert field.clean("10'; 12 ft 6; 2597 mm") == [3048.0, 3810.0, 2597.0]
    assert field.clean(field.prepare_value([3048.0, 3810.0, 2597.0])) == [3048.0, 3810.0, 2597.0]
    assert field.clean("") == []


def test_a_profile_names_the_bad_line():
    field = ProfileField(units="us", required=False)

    assert field.clean("0; 0\n3'; 8' 2\"") == [[0.0, 0.0], [914.4, 2489.2]]
    with pytest.raises(ValidationError, match=r"Line 2: “3, 4” is not a point"):
        field.clean("0; 0\n3, 4")
    with pytest.raises(ValidationError, match=r"Line 1: .*not a length"):
        field.clean("left; 0")
