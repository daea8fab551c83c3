"""The calculation sheet: an engineer can follow it from what it prints, and it prints what was worked out."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping

import numpy as np
import pytest

from doors.calculation.frame import Frame
from doors.calculation.links import FORMULAS
from doors.calculation.maths import Line, Quantity, maths, shown
from doors.calculation.sheet import calculation
from doors.wind.cranking import read_crank
from doors.wind.reading import WindReading, read
from tests.wind_doors import INCH, MPH, make_bottom_bar, make_door

FEET = 12 * INCH
DOORS = {
    "mid bar": lambda: make_door(hold_down_spacing=4 * FEET, film_years=2.0),
    "bottom bar": lambda: make_bottom_bar(hold_down_spacing=4 * FEET, film_years=2.0),
    "wide": lambda: make_door(hold_down_spacing=3 * FEET, opening={"rough_width": 20 * FEET, "offset": 5 * FEET}),
}
by_door = pytest.mark.parametrize("name", DOORS)


def lines_of(reading: WindReading) -> dict[str, Line]:
    groups = calculation(reading, read_crank(reading.door))
    return {line.key: line for group in groups for line in group.lines}


def reading_of(name: str) -> WindReading:
    return read(DOORS[name](), 46 * MPH)


# Against figures worked out by hand ----------------------------------------------


@pytest.mark.parametrize(
    ("key", "si", "us"),
    [
        # 1.660 x 0.065 in: S = pi (1.660^4 - 1.530^4) / (32 x 1.660) = 0.1250 in³; x 50.04 ksi = 521.2 lbf ft
        ("turning_modulus", "2048 mm³", "0.125 in³"),
        ("part-turning", "706.7 N m", "521.2 lbf ft"),
        # 0.613 x 20.564² = 259.2 Pa; 0.00256 x 46² = 5.42 psf by the rounded customary constant
        ("velocity", "259.2 Pa", "5.414 psf"),
        # 2 x 150 psf/ft x 2/3 ft x 1.315/12 ft / 2.34 x 2 ft = 18.73 lbf
        ("part-leans", "83.32 N", "18.73 lbf"),
        # 18 kN/m³ x 33.40 mm x 0.6096² m² x tan²(45 + 16 degrees) / 2 = 363.6 N
        ("part-soil", "363.6 N", "81.73 lbf"),
        # 0.85 x 0.065 in x 0.216 in x 45 ksi = 537.0 lbf
        ("part-clamp", "2389 N", "537 lbf"),
        # 3.32 x 2850 psi x 0.42² x 0.216 in x 1 in = 360.5 lbf
        ("part-wood_screw", "1604 N", "360.5 lbf"),
        # 3 1/2 x 3 1/2 in stud: 2222.5 psi x 1.5 x 3.5³ in³ / 6 = 23823 in lbf = 1985 lbf ft
        ("part-stud", "2692 N m", "1985 lbf ft"),
        # half of two years' way from 1 to 1/2 at four: 0.75 of 6 mil x 10 MPa
        ("part-film", "1143 N/m", "78.32 lbf/ft"),
    ],
)
def test_parts_agree_with_a_calculation_by_hand(key, si, us):
    line = lines_of(reading_of("mid bar"))[key]

    assert (line.result.si, line.result.us) == (si, us)


def test_clay_holds_a_tube_as_broms_wrote():
    # 25 kPa, L 0.6096 m, b 33.40 mm: l = 0.5595, m = 0.6597; 9 x 25 kPa x b x (sqrt(m² + l²) - m) = 1544 N
    line = lines_of(read(make_door(soil="clay"), 20.0))["part-soil"]

    assert line.result.value == pytest.approx(1544, rel=1e-3)


# Against what it prints ----------------------------------------------------------

Given = Mapping[str, float]
# Each link once more from the formula that stands beside it and the inputs printed under it.
WRITTEN: dict[str, Callable[[Given], float]] = {
    "bar_in_drag": lambda q: q["c_{d}"] * q["D_{o}"] * q["b"] ** 2 / 8,
    "bar_swings": lambda q: q["b"] * q["y"] / math.tan(math.radians(30)),
    "bar_struck": lambda q: 2 * q["y"] * q["b"] ** 2 / 8,
    "bar_inward": lambda q: q["k"] * q["w"] * q["ℓ_{i}"] ** 2,
    "sill_bar_inward": lambda q: q["k"] * q["w"] * q["ℓ_{i}"] ** 2,
    "bar_outward": lambda q: q["k"] * q["w"] * q["ℓ_{o}"] ** 2,
    "sill_bar_outward": lambda q: q["k"] * q["w"] * q["ℓ_{o}"] ** 2,
    "header_inward": lambda q: q["M_{o}"] / q["M_{Rh}"] + q["M_{d}"] / q["M_{Rh↓}"],
    "header_outward": lambda q: q["M_{o}"] / q["M_{Rh}"] + q["M_{d}"] / q["M_{Rh↓}"],
    "tie_rod": lambda q: (q["U"] * q["z_{m}"] + q["W"] * q["z_{s}"]) / q["H"],
    "tube_in_soil": lambda q: q["U"] + q["W"] - q["T_{t}"],
    "tube_leans": lambda q: q["U"] + q["W"] - q["T_{t}"],
    "billow_tube": lambda q: max(
        q["T_{t}"] * (q["H"] - q["z_{m}"]), (q["U"] + q["W"] - q["T_{t}"]) * q["z_{s}"]
    ),
    "hold_down_sideways": lambda q: q["r"] * q["P"] * q["a_{h}"],
    "film": lambda q: q["T"],
    "jamb_at_header": lambda q: q["V_{h}"] * q["H_{o}"] * (q["H"] - q["H_{o}"]) / q["H"],
    "header_screws": lambda q: q["e"] * q["a_{s}"],
    "bar_clamps": lambda q: q["P"] * q["a_{c}"],
    "sill_screws": lambda q: q["P"] * q["a_{s}"],
    "jamb_screws": lambda q: q["f"] * q["a_{s}"],
    "lower_bar_lifts": lambda q: q["u"] * q["b"],
    "lower_bar_bows": lambda q: q["u"] * q["b"] ** 2 / 8,
    "lower_bar_bends_up": lambda q: q["k"] * q["u"] * q["a_{h}"] ** 2,
    "hold_down_up": lambda q: q["r"] * q["u"] * q["a_{h}"],
}  # fmt: skip


def pushed_along(load: float, given: Given, height: float) -> float:
    """The worst moment of a post under an even load over the opening: where the shear from its foot is used up."""
    foot = load * given["h"] * (height - given["z_{m}"]) / height
    return foot * given["z_{s}"] + foot**2 / (2 * load)


WRITTEN["jamb_outward"] = lambda q: pushed_along(q["f"], q, q["H_{j}"])
WRITTEN["jamb_pulled_in"] = lambda q: pushed_along(q["g"], q, q["z_{s}"] + q["h"])


@by_door
def test_every_link_follows_from_what_is_printed_beside_it(name):
    reading = reading_of(name)
    lines = lines_of(reading)
    sizes = {lines[key].result.symbol: lines[key].result.value for key in (
        "height", "threshold", "middle", "stud_height", "width",
    )}  # fmt: skip
    checked = set()
    for state in reading.states:
        for one in state.links:
            line = lines[f"{state.state}-{one.link.name}"]
            given = sizes | {quantity.symbol: quantity.value for quantity in line.inputs}
            if "√" in line.formula or one.link.name == "stud_inward":
                continue  # checked below
            assert line.result.value == pytest.approx(WRITTEN[one.link.name](given), rel=1e-9), line.key
            checked.add(one.link.name)
    assert len(checked) >= 18


@by_door
def test_a_tied_bar_bends_both_ways_at_once_as_written(name):
    reading = reading_of(name)
    lines = lines_of(reading)
    key = "tied-sill_bar_outward" if reading.door.is_mid_bar else "tied-bar_outward"
    q = {quantity.symbol: quantity.value for quantity in lines[key].inputs}
    between_tubes = lines["moment_factor"].result.value * lines["span_out"].result.value ** 2

    written = math.hypot(
        q["w"] * min(q["k"] * q["a_{h}"] ** 2, between_tubes), q["k"] * q["u"] * q["a_{h}"] ** 2
    )  # fmt: skip

    assert "√" in lines[key].formula
    assert lines[key].result.value == pytest.approx(written, rel=1e-9)


def test_the_jamb_of_a_narrow_door_bends_as_written_while_its_sides_are_loose():
    line = lines_of(reading_of("mid bar"))["closed-stud_inward"]
    q = {quantity.symbol: quantity.value for quantity in line.inputs}
    sill, middle = 1 * INCH, 1 * INCH + 54 * INCH

    top = (q["U"] * middle + q["W"] * sill) / q["H"]

    assert line.result.value == pytest.approx(max(top * (q["H"] - middle), (q["U"] + q["W"] - top) * sill), rel=1e-9)


@by_door
def test_capacities_pressures_and_gusts_follow_from_each_other(name):
    reading = reading_of(name)
    lines = lines_of(reading)
    for state in reading.states:
        for one in state.links:
            line = lines[f"{state.state}-{one.link.name}"]
            capacity, pressure, coefficient, gust, share = (quantity.value for quantity in line.more)

            if line.result.value == 0:
                assert (pressure, gust, share) == (math.inf, math.inf, 0.0), line.key
                continue
            assert pressure == pytest.approx(capacity / line.result.value, rel=1e-9)
            assert gust == pytest.approx(math.sqrt(pressure / (0.613 * coefficient)), rel=1e-9)
            assert share == pytest.approx(coefficient * reading.velocity_pressure / pressure, rel=1e-9)


@by_door
def test_capacity_of_every_link_is_a_line_of_the_sheet(name):
    reading = reading_of(name)
    lines = lines_of(reading)
    for state in reading.states:
        for one in state.links:
            if FORMULAS[one.link.name].kind == "share":
                continue
            symbol = lines[f"{state.state}-{one.link.name}"].more[0].symbol.removeprefix("R = ")
            matching = [line for line in lines.values() if line.result.symbol == symbol]

            assert [line.result.value for line in matching] == pytest.approx([float(one.link.capacity)]), symbol


@by_door
def test_every_term_of_every_link_has_a_symbol_and_a_unit(name):
    for state in reading_of(name).states:
        for one in state.links:
            assert set(one.link.terms) - {"sudden"} <= FORMULAS[one.link.name].symbols.keys(), one.link.name


@by_door
def test_keys_are_unique_so_that_a_tap_leads_to_one_line(name):
    groups = calculation(reading_of(name), read_crank(reading_of(name).door))
    keys = [group.key for group in groups] + [line.key for group in groups for line in group.lines]

    assert len(keys) == len(set(keys))


@by_door
def test_every_worked_out_line_names_a_formula_or_a_source(name):
    for line in lines_of(reading_of(name)).values():
        assert line.formula or line.source, line.key


def test_what_is_missing_is_printed_as_not_known():
    lines = lines_of(read(make_door(soil=None, opening={"design": {"rod": None}}), 20.0))

    assert lines["part-soil"].result.si == "not known"
    assert lines["part-rod"].result.si == "not known"
    assert lines["part-turning"].result.si == "706.7 N m"


def test_crank_follows_the_energy_balance_as_written():
    lines = lines_of(reading_of("mid bar"))
    value = {key: line.result.value for key, line in lines.items()}
    handle = {quantity.symbol: quantity.value for quantity in lines["handle"].inputs}

    pull = value["crank-bar_weight"] + 2 * value["crank-sill_weight"] + value["crank-film_weight"] * value["height"]
    assert value["pull"] == pytest.approx(pull, rel=1e-9)
    torque = max(value["torque"], value["torque_open"])
    assert value["handle"] == pytest.approx(torque / (handle["i"] * handle["r"] * handle["η"]), rel=1e-9)


def test_the_frame_reads_the_door_the_core_read():
    reading = reading_of("wide")
    built = Frame(reading).built

    tied = reading.secured.find("billow_tube")
    assert tied is not None
    assert float(tied.link.capacity) == float(built.billow_moment)
    assert float(np.asarray(built.inner)) == 2


# Printing ------------------------------------------------------------------------


def test_formulas_get_real_indices_and_nothing_else_becomes_html():
    assert maths("M_{R} = f_y D^4 < 1") == "M<sub>R</sub> = f<sub>y</sub> D<sup>4</sup> &lt; 1"


@pytest.mark.parametrize(
    ("value", "kind", "units", "printed"),
    [
        (0.3048, "span", "us", "1 ft"),
        (math.pi / 6, "degrees", "us", "30°"),
        (2.1, "years", "metric", "2.1 years"),
        (math.nan, "force", "us", "not known"),
        (200e9, "stress", "us", "29010000 psi"),  # 29 007 548 psi to four figures
        (8.0, "count", "us", "8"),
    ],
)
def test_values_print_to_four_figures(value, kind, units, printed):
    assert shown(value, kind, units) == printed


def test_a_plain_number_has_no_second_unit():
    assert Quantity("k", 0.125).us == ""
    assert not re.search(r"[{}_^]", str(Quantity("M_{Rs}", 1.0, "moment").maths))


# Posts by the code, and the weather ------------------------------------------------


def test_film_through_the_year_by_hand():
    lines = lines_of(reading_of("mid bar"))

    assert lines["weather-slack"].result.value == pytest.approx(200e-6 * 30)
    # 200 MPa x 0.1524 mm x (1/0.994 - 1): what was 1 long wants to be 0.994
    assert lines["weather-pull"].result.value == pytest.approx(183.984, abs=0.001)


@pytest.mark.parametrize(("key", "is_held"), [("embedment-tube", False), ("embedment-guide", False),
                                              ("embedment-guide-held", True)])  # fmt: skip
def test_a_posts_depth_satisfies_the_codes_equation(key, is_held):
    """IBC 2021, Eq. 18-1 and 18-3 with the printed inputs; the pressure doubled for an isolated post."""
    line = lines_of(reading_of("mid bar"))[key]
    given = {quantity.symbol: quantity.value for quantity in line.inputs}
    depth, load, height, width = line.result.value, given["P"], given["h"], given["D"]

    if is_held:
        assert depth**2 == pytest.approx(4.25 * load * height / (2 * given["s_{1}"] * depth * width))
    else:
        area = 2.34 * load / (2 * given["s_{1}"] * depth / 3 * width)
        assert depth == pytest.approx(area / 2 * (1 + math.sqrt(1 + 4.36 * height / area)))


def test_the_guide_post_takes_half_of_the_bar_ends_drag():
    line = lines_of(reading_of("mid bar"))["guide-load"]
    given = {quantity.symbol: quantity.value for quantity in line.inputs}

    assert line.result.value == pytest.approx(1.2 * given["q"] * given["D_{b}"] * given["ℓ"] / 2)


def test_without_a_soil_no_depth_is_given():
    lines = lines_of(read(make_door(soil=None), 20.0))

    assert not {"embedment-tube", "embedment-guide"} & lines.keys()
