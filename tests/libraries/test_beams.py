"""The beam solver beside two general-purpose libraries, on random continuous beams; run by .ci/run.

PyNiteFEA and anastruct solve frames by finite elements, in space and in the plane; they serve the tests only. What a
library samples, such as its largest sag, is not compared: reactions, fixing moments and moves at the supports are.
"""

import random
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from anastruct import SystemElements
from Pynite import FEModel3D

from doors.mechanics.beam import LineLoad, PointLoad, Support, bend

STEEL, SECOND = 200e9, 43_183e-12  # Pa, m⁴: a 1.66 in bar
AREA = 210e-6  # m², of the same bar


def random_beam(seed):
    """Return a beam of 4 to 8 m on two to six supports, some sprung or fixed, with overhangs and random loads."""
    dice = random.Random(seed)  # noqa: S311 - no secret
    length = float(dice.randint(40, 80)) / 10
    steps = range(int(length * 10) + 1)
    places = sorted(dice.sample(steps, dice.randint(2, 6)))
    supports = tuple(
        Support(
            place / 10,
            stiffness=dice.choice([np.inf, np.inf, float(dice.randint(2, 500) * 1000)]),
            is_fixed=dice.random() < 0.15,
        )
        for place in places
    )
    points = tuple(
        PointLoad(dice.choice(steps) / 10, float(dice.randint(-300, 300))) for _ in range(dice.randint(0, 3))
    )
    lines = tuple(
        LineLoad(start / 10, end / 10, float(dice.randint(-200, 400)))
        for start, end in (sorted(dice.sample(steps, 2)) for _ in range(dice.randint(1, 2)))
    )
    return length, supports, points, lines


def nodes_of(length, supports, points, lines):
    loads = [load.place for load in points] + [end for line in lines for end in (line.start, line.end)]
    return sorted({0.0, length, *(support.place for support in supports), *loads})


def in_space(length, supports, points, lines):
    """Return reactions, fixing moments (clockwise) and deflections at the supports, downward."""
    model = FEModel3D()
    model.add_material("steel", STEEL, STEEL / 2.6, 0.3, 7850.0)
    model.add_section("tube", AREA, SECOND, SECOND, 2 * SECOND)
    places = nodes_of(length, supports, points, lines)
    names = {place: f"N{number}" for number, place in enumerate(places)}
    for place, name in names.items():
        model.add_node(name, place, 0.0, 0.0)
    for number, (left, right) in enumerate(pairwise(places)):
        model.add_member(f"M{number}", names[left], names[right], "steel", "tube")
        for line in lines:
            if line.start <= left and right <= line.end:
                model.add_member_dist_load(f"M{number}", "Fy", -line.intensity, -line.intensity)
    for number, support in enumerate(supports):
        stiff = bool(np.isinf(support.stiffness))
        # Along the beam and about it the first support holds all: nothing loads it there.
        model.def_support(names[support.place], number == 0, stiff, True, number == 0, True, support.is_fixed)
        if not stiff:
            model.def_support_spring(names[support.place], "DY", support.stiffness)
    for load in points:
        model.add_node_load(names[load.place], "FY", -load.force)
    model.analyze(check_stability=False)
    nodes = [model.nodes[names[support.place]] for support in supports]
    return (
        np.array([node.RxnFY["Combo 1"] for node in nodes]),
        -np.array([node.RxnMZ["Combo 1"] for node in nodes]),
        -np.array([node.DY["Combo 1"] for node in nodes]),
    )


def in_the_plane(length, supports, points, lines):
    """Return the same from the other library; it turns and counts reactions the other way round."""
    places = nodes_of(length, supports, points, lines)
    names = {place: number + 1 for number, place in enumerate(places)}
    frame = SystemElements(EA=STEEL * AREA, EI=STEEL * SECOND)
    for number, (left, right) in enumerate(pairwise(places)):
        frame.add_element([[left, 0], [right, 0]])
        load = sum(line.intensity for line in lines if line.start <= left and right <= line.end)
        if load:
            frame.q_load(q=-load, element_id=number + 1)
    for support in supports:
        node = names[support.place]
        if np.isfinite(support.stiffness):
            frame.add_support_spring(node_id=node, translation=2, k=support.stiffness)
        elif support.is_fixed:
            frame.add_support_fixed(node)
        else:
            frame.add_support_hinged(node)
    for place in {load.place for load in points}:  # a second load on a node would replace the first
        frame.point_load(node_id=names[place], Fy=-sum(load.force for load in points if load.place == place))
    frame.solve()
    nodes = [frame.get_node_results_system(names[support.place]) for support in supports]
    forces, moments, sags = (np.array([float(node[key]) for node in nodes]) for key in ("Fy", "Tz", "uy"))
    return -forces, moments, sags


def compare(beam, reactions, moments, sags):
    length, supports, points, lines = beam
    bent = bend(length, STEEL * SECOND, supports, points, lines)
    sunk = [bent.deflection[np.argmin(np.abs(bent.places - support.place))] for support in supports]
    greatest = 1 + np.abs(bent.reactions).max()  # short elements between loads cost the libraries some digits

    assert bent.reactions == pytest.approx(reactions, abs=1e-5 * greatest)
    assert bent.fixing_moments == pytest.approx(moments, abs=1e-5 * greatest * length)
    assert sunk == pytest.approx(sags, rel=1e-5, abs=1e-8)


@pytest.mark.parametrize("seed", range(60))
def test_beside_a_frame_library_in_space(seed):
    beam = random_beam(seed)

    compare(beam, *in_space(*beam))


@pytest.mark.parametrize("seed", range(60))
def test_beside_a_frame_library_in_the_plane(seed):
    """It has no spring that is also fixed against turning, and wants one place held along the beam."""
    length, supports, points, lines = random_beam(seed)
    supports = tuple(
        replace(support, is_fixed=support.is_fixed and np.isinf(support.stiffness)) for support in supports
    )
    supports = (replace(supports[0], stiffness=np.inf), *supports[1:])
    beam = length, supports, points, lines

    compare(beam, *in_the_plane(*beam))
