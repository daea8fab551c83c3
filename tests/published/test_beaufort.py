"""The Beaufort scale against its printed limits.

m/s: delta-s.org/weer/beaufort.html and meteothes.gr/wxbeaufort-en.html. Knots and mph:
panitiasainsskpj.blogspot.com/2011/06. km/h: meteothes.gr. Each column is rounded for itself.
"""

import numpy as np
import pint
import pytest

from doors.mechanics.gusts import beaufort

UNITS = pint.UnitRegistry()
FORCES = list(range(13))
METRES = {
    0: (0.0, 0.2), 1: (0.3, 1.5), 2: (1.6, 3.3), 3: (3.4, 5.4), 4: (5.5, 7.9), 5: (8.0, 10.7), 6: (10.8, 13.8),
    7: (13.9, 17.1), 8: (17.2, 20.7), 9: (20.8, 24.4), 10: (24.5, 28.4), 11: (28.5, 32.6), 12: (32.7, 60.0),
}  # fmt: skip
KNOTS = [
    (0, 0),
    (1, 3),
    (4, 6),
    (7, 10),
    (11, 16),
    (17, 21),
    (22, 27),
    (28, 33),
    (34, 40),
    (41, 47),
    (48, 55),
    (56, 63),
]
MPH = [(0, 0), (1, 3), (4, 7), (8, 12), (13, 18), (19, 24), (25, 31), (32, 38), (39, 46), (47, 54), (55, 63), (64, 72)]
KMH = [
    (0, 0),
    (1, 5),
    (6, 11),
    (12, 19),
    (20, 28),
    (29, 38),
    (39, 49),
    (50, 61),
    (62, 74),
    (75, 88),
    (89, 102),
    (103, 117),
]
# Speeds whose printed force differs from that of the metric column: 16 kn are 8.23 m/s, where force 5 begins at 8.0.
ROUNDED = {"knot": {16, 21}, "mile / hour": {18}, "kilometre / hour": {1, 12, 50}}


@pytest.mark.parametrize("force", FORCES)
def test_limits_in_metres_per_second(force):
    assert beaufort(METRES[force]).tolist() == [force, force]


@pytest.mark.parametrize(("unit", "rows"), [("knot", KNOTS), ("mile / hour", MPH), ("kilometre / hour", KMH)])
def test_limits_in_other_units(unit, rows):
    one = UNITS.Quantity(1, unit).to("metre / second").magnitude
    printed = [(speed, force) for force, row in enumerate(rows) for speed in row if speed not in ROUNDED[unit]]

    speeds, forces = np.array(printed).T

    assert beaufort(speeds * one).tolist() == forces.tolist()


@pytest.mark.parametrize(("speed", "unit"), [(64, "knot"), (74, "mile / hour"), (118, "kilometre / hour")])
def test_hurricanes(speed, unit):
    assert beaufort(UNITS.Quantity(speed, unit).to("metre / second").magnitude) == 12


def test_the_power_law_gives_the_middle_of_each_force():
    # v = 0.836 B^1.5, printed for 1 to 12; it is no limit.
    middles = [0.84, 2.36, 4.34, 6.69, 9.35, 12.29, 15.48, 18.92, 22.57, 26.44, 30.50, 34.75]

    assert beaufort(middles).tolist() == FORCES[1:]
