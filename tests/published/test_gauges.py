"""Gauge numbers against printed charts.

Bare and galvanised sheet: machinecalcs.com/sheet-metal-gauge-chart and greaseralley.com/2010/12/09/
sheet-metal-gauge-chart; galvanised is 0.0037 in thicker: industrialequipmentspecs.com. Tube walls: Birmingham gauge.
Wire: 0.005 in x 92^((36 - n)/39), ASTM B258.
"""

import pytest

from doors.mechanics.gauges import GAUGES, System, gauge_meanings, gauge_thickness
from doors.mechanics.tube import section
from doors.sizing.quantity import INCH, SizingError

# gauge: bare sheet, galvanised sheet, tube wall, wire [in]
CHART = [
    (12, 0.1046, 0.1084, 0.109, 0.0808),
    (13, 0.0897, 0.0934, 0.095, 0.0720),
    (14, 0.0747, 0.0785, 0.083, 0.0641),
    (15, 0.0673, 0.0710, 0.072, 0.0571),
    (16, 0.0598, 0.0635, 0.065, 0.0508),
    (17, 0.0538, 0.0575, 0.058, 0.0453),
    (18, 0.0478, 0.0516, 0.049, 0.0403),
    (20, 0.0359, 0.0396, 0.035, 0.0320),
]


@pytest.mark.parametrize(("gauge", "sheet", "galvanised", "tube", "wire"), CHART)
def test_one_number_four_thicknesses(gauge, sheet, galvanised, tube, wire):
    meanings = gauge_meanings(gauge)

    assert meanings[System.SHEET] == pytest.approx(sheet * INCH)
    assert meanings[System.GALVANISED] == pytest.approx(galvanised * INCH)
    assert meanings[System.BIRMINGHAM] == pytest.approx(tube * INCH)
    assert meanings[System.WIRE] == pytest.approx(wire * INCH)


@pytest.mark.parametrize("gauge", [row[0] for row in CHART])
def test_zinc_and_wire_follow_their_rules(gauge):
    assert gauge_thickness("galvanised", gauge) - gauge_thickness("sheet", gauge) == pytest.approx(
        0.0037 * INCH, abs=0.00015 * INCH
    )
    assert gauge_thickness("wire", gauge) == pytest.approx(0.005 * 92 ** ((36 - gauge) / 39) * INCH, abs=6e-5 * INCH)


@pytest.mark.parametrize("system", System)
def test_a_higher_gauge_is_thinner(system):
    walls = list(GAUGES[system].values())

    assert walls == sorted(walls, reverse=True)


def test_sixteen_gauge_tube_may_be_a_twelfth_weaker_than_thought():
    """A 1.66 in tube of "16 gauge" has I from 0.0963 to 0.1038 in⁴, by hand."""
    thin, thick = (
        float(section(1.66 * INCH, gauge_thickness(system, 16)).second_moment) / INCH**4
        for system in (System.SHEET, System.BIRMINGHAM)
    )

    assert thin == pytest.approx(0.0963, rel=1e-3)
    assert thick == pytest.approx(0.1038, rel=1e-3)


def test_unknown_gauges_are_refused():
    with pytest.raises(SizingError, match="gauge is 19: must be exactly 18"):
        gauge_thickness(System.SHEET, 19)
    with pytest.raises(ValueError, match="stubs"):
        gauge_thickness("stubs", 16)
