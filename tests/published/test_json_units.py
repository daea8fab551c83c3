"""Units at the JSON edge against pint's (pint.readthedocs.io), whose inch and foot are the international ones of 1959.

The edge writes millimetres; nothing else is scaled there.
"""

import math

import pint
import pytest

from doors.codec import from_plain, to_plain
from doors.sheets import size_json
from doors.sizing import FOOT, INCH, Opening, Rules
from tests.openings import make_opening

UNITS = pint.UnitRegistry()


def test_inch_and_foot():
    assert pytest.approx(UNITS.Quantity(1, "inch").to("metre").magnitude, rel=1e-15) == INCH
    assert pytest.approx(UNITS.Quantity(1, "foot").to("metre").magnitude, rel=1e-15) == FOOT


@pytest.mark.parametrize("feet", [0.5, 8, 10, 12.25, 22, 34])
def test_feet_to_millimetres_to_metres(feet):
    written = UNITS.Quantity(feet, "foot").to("millimetre").magnitude
    read = from_plain(Opening, {"kind": "coil", "rough_width_mm": written, "rough_height_mm": written})

    assert read.rough_width == pytest.approx(UNITS.Quantity(feet, "foot").to("metre").magnitude, rel=1e-14)
    assert to_plain(read)["rough_width_mm"] == pytest.approx(written, abs=1e-6)


def test_every_rule_in_millimetres():
    for key, value in to_plain(Rules()).items():
        name = key.removesuffix("_mm")
        metres = getattr(Rules(), name)
        expected = UNITS.Quantity(metres, "metre").to("millimetre").magnitude if name != key else metres
        assert value == pytest.approx(expected, abs=1e-6)


def test_six_mils_of_film():
    film = to_plain(make_opening())["design"]["film"]

    assert film["thickness_mm"] == pytest.approx(UNITS.Quantity(6, "thou").to("millimetre").magnitude)


def test_a_sheet_in_millimetres():
    # The 3-4-5 triangle of 12 by 9 ft, and a bar of 10 + 144 + 132 + 13.5 in.
    sheet = size_json(to_plain(make_opening()))

    assert sheet["diagonal_mm"] == pytest.approx(UNITS.Quantity(15, "foot").to("millimetre").magnitude)
    assert sheet["turning_bar_mm"] == pytest.approx(UNITS.Quantity(299.5, "inch").to("millimetre").magnitude)


def test_an_angle_is_in_radians():
    # A post beside an arch: what the key says.
    sheet = size_json(to_plain(make_opening(rough_height=132 * INCH, offset=108 * INCH)))
    lean = next(step for step in sheet["steps"] if step["step"] == "guide_post")["figures"]["numbers"]["lean_radians"]
    inset = 180 - 180 * (1 - 7 / 114) ** (
        1 / 1.7
    )  # in, at the half height of 67 in: see tests/unit/test_sizing_figures.py

    assert UNITS.Quantity(lean, "radian").to("degree").magnitude == pytest.approx(math.degrees(math.atan(inset / 67)))
