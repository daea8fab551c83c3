"""What holds for every wind on every wall."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from doors.mechanics.gusts import beaufort, gust_by_curve, gust_from_mean, hourly_ratio
from doors.mechanics.pressure import direction_shares, gust_at_door, gust_pressure, net_pressures
from doors.mechanics.pressure_asce import exposure_coefficient, velocity_pressure
from doors.mechanics.pressure_en import wall_coefficient, wind_profile
from doors.mechanics.walls_asce import partly_enclosed, wall_coefficients
from doors.mechanics.wind_data import WMO_GUST_FACTORS, Curve, Edition, Enclosure, Exposure, Surroundings, Terrain

speeds = st.floats(0, 70)
heights = st.floats(0, 18.28)
angles = st.floats(-720, 720)
areas = st.floats(0.1, 100)
zones = st.sampled_from([4, 5])
enclosures = st.sampled_from(list(Enclosure))
exposures = st.sampled_from(list(Exposure))
editions = st.sampled_from(list(Edition))


@given(speeds, st.floats(1, 2), heights, exposures, editions)
def test_pressure_grows_with_the_square_of_speed(speed, scale, height, exposure, edition):
    slow, fast = (velocity_pressure(v, height, exposure, edition=edition) for v in (speed, scale * speed))

    assert fast.printed == pytest.approx(slow.printed * scale**2)
    assert fast.effective == pytest.approx(slow.effective * scale**2)
    assert gust_pressure(scale * speed) == pytest.approx(gust_pressure(speed) * scale**2)


@given(st.floats(0, 18), st.floats(0, 0.28), exposures, editions, st.booleans())
def test_wind_grows_with_height(height, more, exposure, edition, cladding):
    low, high = exposure_coefficient([height, height + more], exposure, edition=edition, cladding=cladding)

    assert low <= high


@given(speeds, heights, editions)
def test_wind_grows_from_town_to_water(speed, height, edition):
    town, country, water = gust_at_door(speed, height, ["B", "C", "D"], edition=edition)

    assert town <= country <= water


@given(st.floats(1, 70), st.floats(0, 190), st.floats(0, 10), st.sampled_from(list(Terrain)))
def test_the_european_profile_grows_with_height_and_calms(speed, height, more, terrain):
    profile = wind_profile(speed, [height, height + more], terrain)

    assert profile.mean_speed[0] <= profile.mean_speed[1]
    assert profile.turbulence[0] >= profile.turbulence[1]
    assert profile.peak_pressure[0] <= profile.peak_pressure[1]


@given(st.floats(1, 70), st.floats(1, 2), st.floats(0, 200), st.sampled_from(list(Terrain)))
def test_the_european_pressure_grows_with_the_square_of_speed(speed, scale, height, terrain):
    slow, fast = (wind_profile(v, height, terrain) for v in (speed, speed * scale))

    assert fast.peak_pressure == pytest.approx(slow.peak_pressure * scale**2)


@given(areas, st.floats(1, 10), zones, st.booleans())
def test_larger_parts_take_smaller_coefficients(area, scale, zone, low_slope):
    push, suction = wall_coefficients([area, area * scale], zone, low_slope=low_slope)

    assert push[0] >= push[1] > 0
    assert suction[0] <= suction[1] < 0


@given(areas, st.floats(1, 10), st.sampled_from("ABCDE"), st.floats(0.05, 5))
def test_larger_parts_take_smaller_coefficients_in_europe(area, scale, zone, ratio):
    small, large = wall_coefficient(zone, [area, area * scale], ratio)

    assert abs(small) >= abs(large) - 1e-12


@given(speeds, st.floats(0, 100), angles, areas, enclosures, zones)
def test_net_pressures_grow_with_the_wind_and_never_turn_round(speed, more, angle, area, enclosure, zone):
    q = gust_pressure(speed)

    weak, strong = (net_pressures(p, angle, area, enclosure, zone=zone) for p in (q, q + more))

    assert 0 <= weak.inward <= strong.inward
    assert 0 <= weak.outward <= strong.outward


@given(angles, areas, enclosures, zones)
def test_the_mirror_image_of_the_wind_gives_the_same_pressures(angle, area, enclosure, zone):
    here, mirrored, turned = (
        net_pressures(1000.0, direction, area, enclosure, zone=zone) for direction in (angle, -angle, angle + 360)
    )

    assert np.array(here) == pytest.approx(np.array(mirrored), abs=1e-6)
    assert np.array(here) == pytest.approx(np.array(turned), abs=1e-6)


@given(angles, areas, enclosures, zones, st.floats(0, 0.1))
def test_pressures_change_smoothly_with_direction(angle, area, enclosure, zone, turn):
    before, after = (net_pressures(1.0, a, area, enclosure, zone=zone) for a in (angle, angle + turn))

    # Steepest: half a cosine wave of 1.4 over 30 degrees, beside one of 1.0 that works against it.
    steepest = np.pi / 2 * (1.4 + 1.0) / 30
    assert np.array(before) == pytest.approx(np.array(after), abs=steepest * turn + 1e-9)


@given(angles, areas, enclosures, zones, st.booleans())
def test_no_direction_exceeds_the_envelope(angle, area, enclosure, zone, low_slope):
    here, envelope = (
        net_pressures(1.0, direction, area, enclosure, zone=zone, low_slope=low_slope)
        for direction in (angle, float("nan"))
    )

    assert here.inward <= envelope.inward * (1 + 1e-12)
    assert here.outward <= envelope.outward * (1 + 1e-12)


@given(angles)
def test_some_of_the_wind_is_on_the_wall_from_every_direction(angle):
    shares = direction_shares(angle)

    assert min(shares) >= 0
    assert 5 / 7 - 1e-9 <= max(shares) <= 1


@given(angles, areas, zones)
def test_a_dominant_opening_loads_a_door_more(angle, area, zone):
    shut, breached = (net_pressures(1.0, angle, area, name, zone=zone) for name in ("enclosed", "partially enclosed"))

    assert breached.inward >= shut.inward
    assert breached.outward >= shut.outward


@given(st.floats(0, 50), st.floats(51, 100), st.floats(0, 100), st.floats(101, 1000))
def test_opening_more_elsewhere_never_makes_an_opening_dominant(openings, wall, other, rest):
    if not partly_enclosed(openings, wall, other, rest):
        assert not partly_enclosed(openings, wall, (other + rest) / 2, rest)


@given(st.floats(1, 3600), st.floats(1, 3600), st.sampled_from(list(Curve)))
def test_shorter_gusts_are_stronger(one, other, curve):
    short, long = sorted([one, other])

    strong, weak = hourly_ratio([short, long], curve=curve)

    assert strong >= weak >= 1
    assert gust_by_curve(10.0, over=long, gust=short, curve=curve) >= 10


@given(speeds, st.sampled_from(list(WMO_GUST_FACTORS)), st.sampled_from(list(Surroundings)))
def test_a_gust_is_never_below_its_mean(mean, times, surroundings):
    assert gust_from_mean(mean, over=times[0], gust=times[1], surroundings=surroundings) >= mean


@given(speeds, st.floats(0, 10))
def test_forces_grow_with_the_wind(speed, more):
    weak, strong = beaufort([speed, speed + more])

    assert 0 <= weak <= strong <= 12
