"""First hour that is too much: beside net pressures taken hour by hour, and what a gap in the data does."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from doors.mechanics.exceed import DOORS_AT_ONCE, NEVER, STEPS_PER_DEGREE, first_exceedance
from doors.mechanics.pressure import direction_shares
from doors.sizing.quantity import SizingError

DOOR = {"inward": [400.0], "outward": [300.0], "push": [0.8], "suction": [0.9], "inside": [0.18], "facing": [90.0],
        "factor": [1.0]}  # fmt: skip


def first(gusts, directions, **changes):
    return first_exceedance(**(DOOR | changes), gusts=gusts, directions=directions)


def by_hours(inward, outward, push, suction, inside, facing, factor, gusts, directions):
    """The same in plain words: for each door the hours one after the other."""
    found = []
    for door in range(len(inward)):
        found.append(NEVER)
        for hour, (gust, direction) in enumerate(zip(gusts, directions, strict=True)):
            shares = direction_shares(direction - facing[door])
            pushed, sucked = float(shares.push) * push[door], float(shares.suction) * suction[door]
            known = not np.isnan(direction)
            into = pushed + max(0.0, inside[door] - (sucked if known else 0.0))
            out = sucked + max(0.0, inside[door] - (pushed if known else 0.0))
            q = 0.613 * (gust * factor[door]) ** 2
            if q > 0 and not (q * into <= inward[door] and q * out <= outward[door]):
                found[-1] = hour
                break
    return np.array(found)


def rows(size, low, high):
    return arrays(np.float64, size, elements=st.floats(low, high, width=32))


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_as_hour_by_hour(data):
    doors, hours = data.draw(st.integers(1, 4)), data.draw(st.integers(1, 6))
    values = {
        "inward": data.draw(rows(doors, 10, 2000)),
        "outward": data.draw(rows(doors, 10, 2000)),
        "push": data.draw(rows(doors, 0.5, 1)),
        "suction": data.draw(rows(doors, 0.5, 1.5)),
        "inside": data.draw(rows(doors, 0, 0.5)),
        # on the grid of quarter degrees, so that both take the same angle
        "facing": data.draw(arrays(np.float64, doors, elements=st.integers(0, 1439).map(lambda step: step / 4))),
        "factor": data.draw(rows(doors, 0.5, 1.5)),
    }
    gusts = data.draw(rows(hours, 0, 60))
    directions = data.draw(
        arrays(np.float64, hours, elements=st.one_of(st.just(np.nan), st.integers(0, 1440).map(lambda step: step / 4)))
    )
    found = first_exceedance(**values, gusts=gusts, directions=directions)
    # Single precision may see a limit a hair sooner or later.
    sooner = by_hours(**{**values, "factor": values["factor"] * (1 + 1e-6)}, gusts=gusts, directions=directions)
    later = by_hours(**{**values, "factor": values["factor"] * (1 - 1e-6)}, gusts=gusts, directions=directions)

    for hour, earliest, latest in zip(found, sooner, later, strict=True):
        assert hour in (earliest, latest)


def test_by_hand():
    """East wall, 300 Pa outward, 400 Pa inward. Along it (north wind): suction 0.9 + 0.18: 0.613 x 1.08 V² > 300 from
    21.3 m/s. Head on: 0.8 + 0.18: 400 / (0.613 x 0.98) from 25.8 m/s. From behind it: 0.9 x 0.5/0.7 + 0.18: 24.5 m/s.
    """
    assert first([21.0, 21.6], [0.0, 0.0]) == [1]
    assert first([25.5, 26.1], [90.0, 90.0]) == [1]
    assert first([24.2, 24.8], [270.0, 270.0]) == [1]
    assert first([21.6, 21.6], [90.0, 450.0]) == [NEVER]


def test_an_unknown_direction_is_the_worst_one():
    assert first([21.6, 21.6], [90.0, np.nan]) == [1]


@pytest.mark.parametrize("name", ["inward", "outward", "push", "suction", "inside", "factor"])
def test_an_unknown_door_is_no_calm_one(name):
    """Whatever is missing, the first breath is too much."""
    found = first([0.0, 0.1, 50.0], [90.0, 90.0, 90.0], **{name: [np.nan]})

    assert found == [0 if name == "factor" else 1]


def test_a_door_that_nothing_loads():
    assert first([60.0], [0.0], inward=[np.inf], outward=[np.inf]) == [NEVER]


def test_the_forecast_reaches_the_door_by_its_factor():
    """21.3 m/s at the door is 26.6 m/s of the forecast where 0.8 of it arrives."""
    assert first([26.3, 26.9], [0.0, 0.0], factor=[0.8]) == [1]


def test_no_hours_no_exceedance():
    assert first([], []) == [NEVER]


def test_many_doors_in_rounds():
    count = DOORS_AT_ONCE + 3
    found = first([21.0, 21.6], [0.0, 0.0], inward=np.full(count, 400.0))

    assert found.shape == (count,)
    assert (found == 1).all()


def test_a_calm_or_negative_facing_turns_round():
    assert first([21.6], [0.0], facing=[-270.0]) == first([21.6], [0.0], facing=[450.0]) == [0]


def test_the_grid_is_fine_enough():
    """Between two steps of the table a share changes by less than 0.0131."""
    shares = direction_shares(np.arange(0, 360 * STEPS_PER_DEGREE + 1) / STEPS_PER_DEGREE)

    assert max(np.abs(np.diff(shares.push)).max(), np.abs(np.diff(shares.suction)).max()) < 0.0131


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"gusts": [-1.0]}, "gusts"),
        ({"gusts": [np.nan]}, "gusts"),
        ({"gusts": [np.inf]}, "gusts"),
        ({"facing": [np.nan]}, "facing"),
        ({"directions": [np.inf]}, "directions"),
        ({"gusts": [[10.0]], "directions": [[0.0]]}, "shape"),
        ({name: [[value[0]]] for name, value in DOOR.items()}, "shape"),
    ],
)
def test_what_cannot_be_evaluated_is_refused(changes, field):
    with pytest.raises(SizingError) as refusal:
        first_exceedance(**({**DOOR, "gusts": [10.0], "directions": [0.0]} | changes))

    assert refusal.value.field == field


def test_rows_of_different_length_are_refused():
    with pytest.raises(ValueError, match="shape"):
        first([10.0, 20.0], [0.0, 10.0, 20.0])
