"""Wind pressures keep within the limits of their formulas and say which one an input breaks."""

import numpy as np
import pint
import pytest

from doors.mechanics.choices import index_of
from doors.mechanics.gusts import beaufort, gust_by_curve, gust_from_mean, hourly_ratio
from doors.mechanics.pressure import direction_shares, gust_at_door, gust_pressure, net_pressures
from doors.mechanics.pressure_asce import elevation_factor, exposure_coefficient, velocity_pressure
from doors.mechanics.pressure_en import basic_pressure, wall_coefficient, wind_profile
from doors.mechanics.walls_asce import corner_width, internal_coefficient, is_open, partly_enclosed, wall_coefficients
from doors.mechanics.wind_data import DOMINANT_AREA, HIGHEST_ROOF, LOWEST_HEIGHT, SQUARE_FOOT, ZONE_5_LEAST, Enclosure
from doors.sizing.quantity import SizingError

UNITS = pint.UnitRegistry()
NAN, INF = float("nan"), float("inf")


@pytest.mark.parametrize(
    ("constant", "printed", "unit"),
    [
        (SQUARE_FOOT, "1 foot**2", "metre**2"),
        (LOWEST_HEIGHT, "15 foot", "metre"),
        (HIGHEST_ROOF, "60 foot", "metre"),
        (ZONE_5_LEAST, "3 foot", "metre"),
        (DOMINANT_AREA, "4 foot**2", "metre**2"),
    ],
)
def test_constants_in_customary_units(constant, printed, unit):
    assert constant == pytest.approx(UNITS.Quantity(printed).to(unit).magnitude, rel=1e-12)


def test_the_velocity_constant_makes_a_pressure_of_a_squared_speed():
    gust = UNITS.Quantity(20, "metre / second")
    pressure = (UNITS.Quantity(0.613, "kilogram / metre**3") * gust**2).to("pascal")

    assert gust_pressure(20.0) == pytest.approx(pressure.magnitude)
    assert basic_pressure(20.0) == pytest.approx((UNITS.Quantity(1.25, "kg / m**3") * gust**2 / 2).to("Pa").magnitude)


def test_hills_and_thin_air_scale_the_pressure():
    plain = velocity_pressure(30.0, 5.0).printed

    assert elevation_factor(1000.0) == pytest.approx(0.8878078, abs=1e-7)  # e^-0.12 x e^0.001, by hand
    assert velocity_pressure(30.0, 5.0, topography=1.5).printed == pytest.approx(1.5 * plain)
    assert velocity_pressure(30.0, 5.0, elevation=1000.0).printed == pytest.approx(0.8878078 * plain)


def test_hills_make_the_european_wind_faster_and_no_more_turbulent():
    # Eq. (4.3) and (4.7): the mean grows with c_o, its fluctuations keep their size.
    flat, hill = wind_profile(20.0, 10.0), wind_profile(20.0, 10.0, orography=1.2)

    assert hill.mean_speed == pytest.approx(1.2 * flat.mean_speed)
    assert hill.mean_speed * hill.turbulence == pytest.approx(flat.mean_speed * flat.turbulence)
    assert hill.peak_pressure == pytest.approx((1 + 7 * hill.turbulence) * 0.625 * hill.mean_speed**2)


# Limits


@pytest.mark.parametrize(
    ("broken", "field", "relation", "limit"),
    [
        (lambda: exposure_coefficient(-0.1), "height", "at least", 0.0),
        (lambda: exposure_coefficient([5.0, 18.4]), "height", "at most", HIGHEST_ROOF),
        (lambda: elevation_factor(-501.0), "elevation", "at least", -500.0),
        (lambda: elevation_factor(9001.0), "elevation", "at most", 9000.0),
        (lambda: velocity_pressure(-1.0, 5.0), "gust", "at least", 0.0),
        (lambda: velocity_pressure(151.0, 5.0), "gust", "at most", 150.0),
        (lambda: velocity_pressure(30.0, 5.0, topography=0.99), "topography", "at least", 1.0),
        (lambda: velocity_pressure(30.0, 5.0, directionality=0.0), "directionality", "above", 0.0),
        (lambda: velocity_pressure(30.0, 5.0, directionality=1.01), "directionality", "at most", 1.0),
        (lambda: gust_pressure([10.0, INF]), "gust", "at most", 150.0),
        (lambda: gust_at_door(-0.1, 5.0), "gust", "at least", 0.0),
        (lambda: gust_at_door(10.0, 5.0, local=0.0), "local", "above", 0.0),
        (lambda: gust_at_door(10.0, 5.0, local=2.1), "local", "at most", 2.0),
        (lambda: gust_at_door(10.0, 18.4), "height", "at most", HIGHEST_ROOF),
        (lambda: wall_coefficients(0.0), "area", "above", 0.0),
        (lambda: corner_width(0.0, 4.0), "least_width", "above", 0.0),
        (lambda: corner_width(9.0, 0.0), "roof_height", "above", 0.0),
        (lambda: corner_width(9.0, 18.4), "roof_height", "at most", HIGHEST_ROOF),
        (lambda: net_pressures(-1.0, 0.0, 9.0), "q", "at least", 0.0),
        (lambda: net_pressures(1.0, INF, 9.0), "angle", "finite", None),
        (lambda: net_pressures(1.0, 0.0, -9.0), "area", "above", 0.0),
        (lambda: partly_enclosed(1.0, 0.0, 0.0, 9.0), "wall", "above", 0.0),
        (lambda: partly_enclosed(1.0, 9.0, 0.0, 0.0), "other_surface", "above", 0.0),
        (lambda: partly_enclosed(-1.0, 9.0, 0.0, 9.0), "openings", "at least", 0.0),
        (lambda: partly_enclosed(9.1, 9.0, 0.0, 9.0), "openings", "at most", 9.0),
        (lambda: partly_enclosed(1.0, 9.0, 9.1, 9.0), "other_openings", "at most", 9.0),
        (lambda: partly_enclosed(NAN, 9.0, 1.0, 9.0), "openings", "finite", None),
        (lambda: partly_enclosed(1.0, 9.0, 1.0, NAN), "other_openings", "finite", None),
        (lambda: is_open([1.0, NAN], 9.0), "openings", "finite", None),
        (lambda: is_open([1.0, 2.0], [9.0, 0.0]), "walls", "above", 0.0),
        (lambda: is_open([1.0, 10.0], 9.0), "openings", "at most", 9.0),
        (lambda: basic_pressure(-1.0), "basic_speed", "at least", 0.0),
        (lambda: basic_pressure(151.0), "basic_speed", "at most", 150.0),
        (lambda: basic_pressure(20.0, air_density=0.0), "air_density", "above", 0.0),
        (lambda: wind_profile(20.0, -1.0), "height", "at least", 0.0),
        (lambda: wind_profile(20.0, 200.1), "height", "at most", 200.0),
        (lambda: wind_profile(20.0, 5.0, orography=0.0), "orography", "above", 0.0),
        (lambda: wind_profile(20.0, 5.0, turbulence_factor=0.0), "turbulence_factor", "above", 0.0),
        (lambda: wall_coefficient("D", 0.0, 1.0), "area", "above", 0.0),
        (lambda: wall_coefficient("D", 1.0, 0.0), "height_over_depth", "above", 0.0),
        (lambda: wall_coefficient("D", 1.0, 5.1), "height_over_depth", "at most", 5.0),
        (lambda: gust_from_mean(-1.0, over=600), "mean", "at least", 0.0),
        (lambda: hourly_ratio(0.9), "seconds", "at least", 1.0),
        (lambda: hourly_ratio(3601.0), "seconds", "at most", 3600.0),
        (lambda: gust_by_curve(-1.0), "mean", "at least", 0.0),
        (lambda: gust_by_curve(10.0, over=60.0, gust=61.0), "gust", "at most", 60.0),
        (lambda: beaufort(-0.1), "mean", "at least", 0.0),
        (lambda: beaufort(NAN), "mean", "finite", None),
    ],
)
def test_an_input_outside_its_limits_is_named(broken, field, relation, limit):
    with pytest.raises(SizingError) as error:
        broken()

    assert (error.value.field, error.value.relation) == (field, relation)
    assert error.value.limit == (None if limit is None else pytest.approx(limit))


@pytest.mark.parametrize(
    ("broken", "message"),
    [
        (lambda: exposure_coefficient(5.0, "A"), "exposure is 'A': must be one of B, C, D"),
        (lambda: exposure_coefficient([5.0, 6.0], ["B", "b"]), "exposure is 'b': must be one of B, C, D"),
        (lambda: exposure_coefficient(5.0, edition="7-10"), "edition is '7-10': must be one of 7-16, 7-22"),
        (lambda: wall_coefficients(9.0, 6), "zone is '6': must be one of 4, 5"),
        (lambda: wall_coefficient("F", 9.0, 1.0), "zone is 'F': must be one of A, B, C, D, E"),
        (lambda: wind_profile(20.0, 5.0, "V"), "terrain is 'V': must be one of 0, I, II, III, IV"),
        (
            lambda: internal_coefficient("closed"),
            "enclosure is 'closed': must be one of enclosed, partially enclosed, partially open, open",
        ),
        (
            lambda: gust_from_mean(9.0, over=600, surroundings="sea"),
            "surroundings is 'sea': must be one of at sea, off sea, off land, in land",
        ),
        (lambda: hourly_ratio(3.0, curve="durst"), "curve is 'durst': must be one of Durst, Krayer-Marshall"),
    ],
)
def test_an_unknown_name_is_told_with_the_known_ones(broken, message):
    with pytest.raises(ValueError, match="must be one of") as error:
        broken()

    assert str(error.value) == message


@pytest.mark.parametrize(("over", "gust"), [(600, 600), (600, 3600), (3, 600), (300, 3)])
def test_no_gust_factor_but_the_tables_and_none_backward(over, gust):
    with pytest.raises(ValueError, match=f"a gust of {gust} s in a mean over {over} s: the table has 3 in 3600"):
        gust_from_mean(10.0, over=over, gust=gust)


@pytest.mark.parametrize("height", [0.0, HIGHEST_ROOF])
def test_the_limits_themselves_are_allowed(height):
    assert exposure_coefficient(height) > 0.8
    assert velocity_pressure(150.0, height, topography=1.0, directionality=1.0).printed > 0
    assert gust_at_door(0.0, height, local=2.0) == 0
    assert wind_profile(0.0, [0.0, 200.0]).peak_pressure.tolist() == [0, 0]
    assert partly_enclosed(9.0, 9.0, 0.0, 9.0)
    assert wall_coefficient("E", 1.0, 5.0) == pytest.approx(-0.7)
    assert hourly_ratio([1.0, 3600.0]).tolist() == [1.57, 1.0]


def test_an_opening_just_at_a_threshold_does_not_exceed_it():
    assert not partly_enclosed(5.5, 90.0, 5.0, 900.0)  # 1.1 x 5
    assert not partly_enclosed(DOMINANT_AREA, 90.0, 0.0, 900.0)
    assert partly_enclosed(1.0001 * DOMINANT_AREA, 90.0, 0.0, 900.0)


# What is not measured


def test_what_is_not_measured_stays_unknown():
    assert np.isnan(gust_at_door([NAN, 20.0], [5.0, NAN])).all()
    assert np.isnan(velocity_pressure(20.0, 5.0, elevation=NAN).printed)
    assert np.isnan(wall_coefficients(NAN)).all()
    assert np.isnan(net_pressures([NAN, 100.0], 0.0, [9.0, NAN])).all()
    assert np.isnan(wind_profile(NAN, 5.0).peak_pressure)
    assert np.isnan(wall_coefficient("D", NAN, 1.0))


def test_a_wall_of_unknown_bearing_takes_the_envelope_of_all_directions():
    push, suction = wall_coefficients(9.0)

    net = net_pressures(100.0, NAN, 9.0, Enclosure.PARTLY_ENCLOSED)

    assert net.inward == pytest.approx(100 * (push + 0.55))
    assert net.outward == pytest.approx(100 * (-suction + 0.55))
    assert direction_shares(NAN) == (1.0, 1.0)


# The rule of directions


def test_head_on_and_along_the_wall_the_standard_is_kept():
    push, suction = wall_coefficients(9.0)

    head_on, along = (net_pressures(100.0, angle, 9.0) for angle in (0.0, 90.0))

    assert (head_on.inward, head_on.outward) == (pytest.approx(100 * (push + 0.18)), 0.0)
    assert (along.inward, along.outward) == (0.0, pytest.approx(100 * (-suction + 0.18)))


def test_suction_behind_the_house_is_five_sevenths_of_that_along_it():
    along, behind = (net_pressures(100.0, angle, 9.0, "open").outward for angle in (90.0, 180.0))

    assert behind / along == pytest.approx(0.5 / 0.7)


def test_push_and_suction_by_direction():
    shares = direction_shares([0, 45, 60, 75, 90, 120, 150, 180])

    assert shares.push == pytest.approx([1, 1, 1, 0.5, 0, 0, 0, 0])
    assert shares.suction == pytest.approx([0, 0, 0.5, 1, 1, 1, 6 / 7, 5 / 7])


def test_internal_pressure_first_overcomes_what_the_wind_holds_against_it():
    # Open end door upwind, this one in the lee: 0.55 q inside against the suction outside.
    push, suction = wall_coefficients(1000.0, low_slope=True)
    lee = net_pressures(100.0, 180.0, 1000.0, "partially enclosed", low_slope=True)

    assert lee.outward == pytest.approx(100 * (0.72 * 5 / 7 + 0.55))
    assert lee.inward == pytest.approx(100 * (0.55 - 0.72 * 5 / 7))
    assert (push, suction) == (pytest.approx(0.63), pytest.approx(-0.72))


# The gust at a door


@pytest.mark.parametrize("edition", ["7-16", "7-22"])
def test_in_open_country_10_m_up_the_gust_is_the_forecasts(edition):
    assert gust_at_door(30.0, 10.0, "C", edition=edition) == pytest.approx(30.0, rel=1e-12)
    assert gust_at_door(30.0, 10.0, "C", local=0.9, edition=edition) == pytest.approx(27.0, rel=1e-12)


def test_low_among_trees_the_gust_is_weaker_but_cladding_takes_no_credit_below_30_feet():
    low, floor = gust_at_door(30.0, [3.0, 9.144], "B")
    bare = gust_at_door(30.0, 3.0, "B", cladding=False)

    assert low == floor
    assert bare < floor < gust_at_door(30.0, 3.0, "C")


@pytest.mark.parametrize("edition", ["7-16", "7-22"])
def test_the_gust_at_the_door_and_the_velocity_pressure_agree(edition):
    # Two ways to one pressure: the exposure in the gust, or in q. 10 m in C is 1.00 within the table's rounding.
    by_gust = gust_pressure(gust_at_door(30.0, 4.0, "C", edition=edition))
    by_code = velocity_pressure(30.0, 4.0, "C", edition=edition, directionality=1.0).effective

    assert by_gust == pytest.approx(by_code, rel=0.005)


# Arrays


def test_a_million_values_in_one_call():
    count = 1_000_000
    index = np.arange(count)
    exposures = np.array(["B", "C", "D"])[index % 3]
    gust = gust_at_door(np.linspace(0, 60, count), np.linspace(0, 18, count), exposures)

    net = net_pressures(
        gust_pressure(gust), np.linspace(0, 180, count), np.linspace(0.5, 60, count), "enclosed", zone=4 + index % 2
    )

    assert net.inward.shape == net.outward.shape == (count,)
    for place in (0, 1, 333_334, count - 1):
        alone = net_pressures(
            gust_pressure(gust_at_door(60 * place / (count - 1), 18 * place / (count - 1), exposures[place])),
            180 * place / (count - 1),
            0.5 + 59.5 * place / (count - 1),
            zone=4 + place % 2,
        )
        assert [net.inward[place], net.outward[place]] == pytest.approx([float(value) for value in alone])


def test_inputs_of_different_shapes_are_combined():
    net = net_pressures(np.ones((4, 1)), [0.0, 90.0, 180.0], 9.0)
    walls = wall_coefficient([["A"], ["D"]], [1.0, 5.0, 10.0], 0.5)
    profile = wind_profile([20.0, 30.0], 5.0, [["I"], ["II"], ["III"]])

    assert net.inward.shape == (4, 3)
    assert walls.shape == (2, 3)
    assert profile.peak_pressure.shape == (3, 2)
    assert wall_coefficients([1.0, 2.0], [[4], [5]])[1].shape == (2, 2)


def test_names_become_places_in_the_table():
    assert index_of("letter", [["b", "a"]], "ab").tolist() == [[1, 0]]
    assert index_of("letter", "b", ["a", "b"]) == 1
