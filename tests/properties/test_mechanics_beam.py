"""What holds for every straight beam: balance, superposition, its mirror image, the moment as the shear's sum."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from doors.mechanics.beam import LineLoad, PointLoad, Support, bend

LENGTH = 10.0
STIFFNESS = 8636.0  # N m², a 1.66 in bar
places = st.integers(0, 100).map(lambda step: step / 10)
forces = st.floats(-500, 500).filter(lambda force: abs(force) > 1e-3 or force == 0)
springs = st.one_of(st.just(np.inf), st.floats(1e2, 1e6))


@st.composite
def beams(draw):
    at = draw(st.lists(places, min_size=1, max_size=6, unique=True))
    supports = [Support(place, draw(springs), draw(st.booleans())) for place in at]
    if len(at) == 1:
        supports[0] = replace(supports[0], is_fixed=True)
    points = draw(st.lists(st.builds(PointLoad, places, forces), max_size=4))
    ends = draw(st.lists(st.lists(places, min_size=2, max_size=2, unique=True).map(sorted), max_size=3))
    return tuple(supports), tuple(points), tuple(LineLoad(start, end, draw(forces)) for start, end in ends)


def total(points, lines):
    """Load, its moment about the left end, and the size of both."""
    parts = [(load.force, load.place) for load in points]
    parts += [(line.intensity * (line.end - line.start), (line.start + line.end) / 2) for line in lines]
    sums = np.array([(force, force * place) for force, place in parts] or [(0.0, 0.0)])
    return sums.sum(axis=0), 1 + np.abs(sums).sum(axis=0)


@given(beams())
def test_reactions_balance_the_load(beam):
    supports, points, lines = beam
    bent = bend(LENGTH, STIFFNESS, *beam)
    (force, moment), (forces, moments) = total(points, lines)
    held = sum(support.place * reaction for support, reaction in zip(supports, bent.reactions, strict=True))

    assert bent.reactions.sum() == pytest.approx(force, abs=1e-9 * forces)
    # Clockwise about the left end: the load turns with the clock, reactions against it.
    assert held - bent.fixing_moments.sum() == pytest.approx(moment, abs=1e-9 * (moments + LENGTH * forces))


@given(beams())
def test_the_moment_is_the_sum_of_the_shear_and_ends_free(beam):
    supports, points, lines = beam
    bent = bend(LENGTH, STIFFNESS, *beam)
    size = total(points, lines)[1].sum() * 1e-9
    steps = np.diff(bent.places) * (bent.shear[1:] + bent.shear[:-1]) / 2  # exact: the shear is straight
    jumps = np.diff(bent.moment) - steps
    at_wall = [np.abs(bent.places[1:] - support.place).min() for support in supports if support.is_fixed]

    assert np.flatnonzero(np.abs(jumps) > size * 10).size <= len(at_wall)
    if all(0 < support.place < LENGTH or not support.is_fixed for support in supports):
        assert bent.moment[[0, -1]] == pytest.approx([0, 0], abs=size * 10)


@given(beams())
def test_stiff_supports_do_not_move_and_springs_move_as_they_are_pressed(beam):
    supports, points, lines = beam
    bent = bend(LENGTH, STIFFNESS, *beam)
    size = total(points, lines)[1][0]

    for support, reaction in zip(supports, bent.reactions, strict=True):
        sunk = bent.deflection[np.argmin(np.abs(bent.places - support.place))]
        expected = 0.0 if np.isinf(support.stiffness) else reaction / support.stiffness
        assert sunk == pytest.approx(expected, rel=1e-6, abs=1e-9 * size)


@given(beams())
def test_loads_add_up(beam):
    supports, points, lines = beam
    both = bend(LENGTH, STIFFNESS, *beam)
    one, other = bend(LENGTH, STIFFNESS, supports, points), bend(LENGTH, STIFFNESS, supports, (), lines)
    size = total(points, lines)[1][0]

    assert both.reactions == pytest.approx(one.reactions + other.reactions, abs=1e-8 * size)
    for support in supports:
        sags, moments = (
            [getattr(bent, name)[np.argmin(np.abs(bent.places - support.place))] for bent in (both, one, other)]
            for name in ("deflection", "moment")
        )
        assert sags[0] == pytest.approx(sags[1] + sags[2], rel=1e-6, abs=1e-9 * size)
        assert moments[0] == pytest.approx(moments[1] + moments[2], abs=1e-7 * size * LENGTH)


@given(beams())
def test_the_mirror_image_bends_as_the_mirror_image(beam):
    supports, points, lines = beam
    bent = bend(LENGTH, STIFFNESS, *beam)
    mirrored = bend(
        LENGTH,
        STIFFNESS,
        tuple(replace(support, place=LENGTH - support.place) for support in supports),
        tuple(PointLoad(LENGTH - load.place, load.force) for load in points),
        tuple(LineLoad(LENGTH - line.end, LENGTH - line.start, line.intensity) for line in lines),
    )
    size = total(points, lines)[1][0]

    assert mirrored.reactions == pytest.approx(bent.reactions, abs=1e-7 * size)
    assert mirrored.fixing_moments == pytest.approx(-bent.fixing_moments, abs=1e-7 * size * LENGTH)
    assert mirrored.worst_moment == pytest.approx(bent.worst_moment, abs=1e-7 * size * LENGTH)
    assert mirrored.worst_deflection == pytest.approx(bent.worst_deflection, rel=1e-6, abs=1e-9 * size)


@given(st.lists(st.integers(0, 49).map(lambda step: step / 10), min_size=1, max_size=4, unique=True), forces, places)
def test_a_symmetric_load_gives_symmetric_reactions(left, force, place):
    supports = tuple(Support(at) for at in [*sorted(left), *sorted(LENGTH - at for at in left)])
    bent = bend(LENGTH, STIFFNESS, supports, (PointLoad(place, force), PointLoad(LENGTH - place, force)))

    assert bent.reactions == pytest.approx(bent.reactions[::-1], abs=1e-8 * (1 + abs(force)))


@given(beams(), st.floats(0.1, 10))
def test_reactions_do_not_ask_how_stiff_a_beam_on_stiff_supports_is(beam, factor):
    supports, points, lines = beam
    stiff = tuple(replace(support, stiffness=np.inf) for support in supports)
    one, other = (bend(LENGTH, by * STIFFNESS, stiff, points, lines) for by in (1, factor))
    size = total(points, lines)[1][0]

    assert one.reactions == pytest.approx(other.reactions, abs=1e-8 * size)
    assert one.worst_deflection == pytest.approx(factor * other.worst_deflection, abs=1e-9 * size)
