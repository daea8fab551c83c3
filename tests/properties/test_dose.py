"""What holds for the sun everywhere, and for every sheet of film."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.dose import HORIZON, Climate, dose, dose_table, end_of_life, light_left
from maintenance.sunlight import (
    clear_sky_radiation,
    daylight,
    extraterrestrial_radiation,
    net_shortwave,
    solar_radiation,
)

FIRST, ON = date(2019, 3, 1), date(2026, 11, 1)
KNOWN = (ON - FIRST).days
DAY = timedelta(days=1)
SAME = 1e-9  # of a sum over 50 years

latitudes = st.floats(-np.pi / 2, np.pi / 2)
shares = st.floats(0, 1)
climates = st.builds(
    Climate,
    latitude=st.floats(-1.1, 1.1),
    sunshine=st.tuples(*[shares] * 12),
    uncertainty=st.floats(0, 0.5),
)
known_days = st.integers(0, KNOWN).map(lambda number: FIRST + timedelta(days=number))
spans = st.lists(st.tuples(known_days, known_days).map(lambda pair: tuple(sorted(pair))), max_size=6)
readings = st.dictionaries(known_days, st.floats(0, 40e6), max_size=20)
habits = st.sets(st.integers(1, 12), max_size=12)


def days_of(sheet):
    """Return each day a sheet lay out, once."""
    return {start + timedelta(days=number) for start, end in sheet for number in range((end - start).days)}


@given(latitudes, st.floats(1, 182.5))
def test_the_hemispheres_mirror_each_other_half_a_year_apart(latitude, day):
    north, south = (extraterrestrial_radiation(*at) for at in ((latitude, day), (-latitude, day + 182.5)))

    assert daylight(latitude, day) == pytest.approx(daylight(-latitude, day + 182.5), abs=0.1)
    # The earth's path brings it nearer by 3.3 % in January and takes it as much further in July.
    assert north * 0.967 / 1.033 - 1 <= south <= north * 1.033 / 0.967 + 1


@given(latitudes, st.integers(1, 365))
def test_one_hemispheres_day_is_the_others_night(latitude, day):
    assert daylight(latitude, day) + daylight(-latitude, day) == pytest.approx(86_400)


@given(latitudes, st.integers(1, 366))
def test_the_sun_shines_when_it_is_up(latitude, day):
    outside = extraterrestrial_radiation(latitude, day, 366)

    assert (outside > 0) <= (daylight(latitude, day, 366) > 0)
    assert 0 <= outside <= 1.033 * 1367 * daylight(latitude, day, 366)


@given(st.floats(0, 50e6), shares, shares)
def test_the_more_sunshine_the_more_energy(outside, one, other):
    less, more = sorted((one, other))

    assert solar_radiation(outside, less) <= solar_radiation(outside, more) <= clear_sky_radiation(outside)
    assert net_shortwave(outside, more) <= net_shortwave(outside, less) <= outside


@given(climates, st.tuples(known_days, known_days, known_days).map(sorted), readings)
def test_adjacent_spans_add_up(climate, days, measured):
    first, between, last = days
    table = dose_table(climate, FIRST, ON, measured)
    whole = dose(table, [(first, last)])

    assert dose(table, [(between, last), (first, between)]) == pytest.approx(whole, rel=SAME, abs=1)
    assert dose(table, [(first, between)]) + dose(table, [(between, last)]) == pytest.approx(whole, rel=SAME, abs=1)
    assert table.between([first, between], [between, last]).sum() == pytest.approx(whole, rel=SAME, abs=1)


@given(climates, spans, readings)
def test_each_day_outdoors_counts_once(climate, sheet, measured):
    table = dose_table(climate, FIRST, ON, measured)
    out = np.array(sorted(days_of(sheet)), dtype="datetime64[D]")

    assert dose(table, sheet) == pytest.approx(table.between(out, out + 1).sum(), rel=SAME, abs=1)
    assert dose(table, sheet + sheet[::-1]) == dose(table, sheet)


@given(climates, spans, st.integers(1, 12), shares)
def test_the_more_sunshine_the_greater_the_dose(climate, sheet, month, share):
    sunny = tuple(max(was, share) if number == month else was for number, was in enumerate(climate.sunshine, start=1))
    more = dose_table(replace(climate, sunshine=sunny), FIRST, ON)

    assert dose(more, sheet) >= dose(dose_table(climate, FIRST, ON), sheet) * (1 - SAME)


@given(climates, readings)
def test_measured_days_replace_their_estimate_and_no_other(climate, measured):
    estimated, mixed = (dose_table(climate, FIRST, ON, known) for known in (None, measured))
    every = np.arange(np.datetime64(FIRST), np.datetime64(ON))
    days = [day for day in measured if day < ON]
    others = every[~np.isin(every, np.array(days, dtype="datetime64[D]"))]

    assert mixed.between(days, [day + DAY for day in days]) == pytest.approx([measured[day] for day in days], abs=1)
    assert mixed.between(others, others + 1) == pytest.approx(estimated.between(others, others + 1), abs=1)


@given(climates, st.floats(1e6, 300e9), spans, habits, readings)
def test_the_rated_dose_is_reached_on_the_last_day_and_not_before(climate, rated, sheet, laid_up, measured):
    table = dose_table(climate, FIRST, ON + HORIZON, measured)
    end = end_of_life(table, rated, sheet, ON, laid_up).expected
    days = np.arange(np.datetime64(ON), np.datetime64(ON + HORIZON))
    ahead = days[~np.isin(days.astype("datetime64[M]").astype(int) % 12 + 1, sorted(laid_up))]
    past = np.array(sorted(days_of(sheet)), dtype="datetime64[D]")
    out = np.concatenate((past, ahead))

    if end is None:
        assert table.between(out, out + 1).sum() < rated * (1 + SAME)
        return
    taken = out[out <= np.datetime64(end)]
    assert end in taken
    assert table.between(taken, taken + 1).sum() >= rated * (1 - SAME) - 1
    assert table.between(taken[:-1], taken[:-1] + 1).sum() < rated * (1 + SAME) + 1


@given(climates, spans.filter(days_of), st.integers(-1, 1))
def test_a_dose_that_a_span_fills_to_the_last_digit_is_reached_on_a_day_outdoors(climate, sheet, side):
    table = dose_table(climate, FIRST, ON + HORIZON)
    days = days_of(sheet)
    rated = float(np.nextafter(dose(table, sheet), side * np.inf)) if side else dose(table, sheet)

    end = end_of_life(table, rated, sheet, ON).expected

    assert end in {max(days), ON}


@given(climates, st.floats(1e9, 100e9), spans)
def test_a_sheet_ends_earlier_in_more_sun_and_later_in_less(climate, rated, sheet):
    table = dose_table(climate, FIRST, ON + HORIZON)
    end = end_of_life(table, rated, sheet, ON)
    known = [day or date.max for day in (end.early, end.expected, end.late)]

    assert known == sorted(known)
    # 1 + u times the sun is the expected sun on a sheet rated 1 + u times lower.
    lower, higher = rated / (1 + climate.uncertainty), rated / (1 - climate.uncertainty)
    assert end.early == end_of_life(table, lower, sheet, ON).expected
    assert end.late == end_of_life(table, higher, sheet, ON).expected


@given(st.floats(0, 20), st.floats(0, 20), shares)
def test_losses_of_light_compound(years, more, loss):
    assert light_left(years + more, loss) == pytest.approx(light_left(years, loss) * light_left(more, loss))
    assert 0 <= light_left(years + more, loss) <= light_left(years, loss) <= 1
