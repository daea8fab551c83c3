"""Whatever JSON is given, the edge answers with a sheet that is strict JSON or names what it cannot take."""

import contextlib
import copy
import functools
import json
import math
import operator

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from doors.codec import InputError, from_plain, to_plain
from doors.sheets import sheet_from_json, size_json
from doors.sizing import INCH, DoorKind, Neighbour, Opening, Rules, Side, SideOperator
from farm.geometry import Shape
from tests.openings import make_opening, make_wall

POINTS = tuple((x * INCH, y * INCH) for x, y in ((0, 60), (180, 174), (360, 60)))


def whole(kind, shape):
    wall = make_wall(
        shape=shape, points=POINTS, side_operators=(SideOperator(corner=Side.RIGHT, travel_top=30 * INCH),)
    )
    neighbour = Neighbour(left=300 * INCH, width=36 * INCH, head=30 * INCH, code="T1-P")
    return to_plain(make_opening(kind=kind, wall=wall, neighbours=(neighbour,))) | {"rules": to_plain(Rules())}


def places_in(data, path=()):
    """Yield the path of every value in JSON."""
    yield path
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in items:
        yield from places_in(value, (*path, key))


numbers = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True),
    st.sampled_from([0, -0.0, 1e-320, 1e-9, 1e-3, 0.5, 1, 1e3, 1e5, 1e9, 1e300, 1.7e308, math.nan, math.inf, 10**400]),
    st.integers(),
    st.floats(0, 20_000),
)
junk = st.recursive(
    st.one_of(st.none(), st.booleans(), numbers, st.text(max_size=5), st.sampled_from(["coil", "left", "mid_bar"])),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)


def answer(data):
    """Size JSON; return its sheet read back strictly, or None where it was refused by name."""
    refused: InputError | None = None
    try:
        made = size_json(data)
    except InputError as error:
        refused = error
    if refused is None:
        return json.loads(json.dumps(made, allow_nan=False))
    assert isinstance(refused.field, str)
    assert refused.message
    return None


@given(kind=st.sampled_from(list(DoorKind)), shape=st.sampled_from(list(Shape)), data=st.data())
@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_change_of_an_opening_is_sized_or_refused(kind, shape, data):
    described = whole(kind, shape)
    places = list(places_in(described))[1:]
    for _ in range(data.draw(st.integers(1, 3), label="changes")):
        path = data.draw(st.sampled_from(places), label="path")
        value = data.draw(st.one_of(numbers, junk), label="value")
        with contextlib.suppress(KeyError, IndexError, TypeError):  # its place may be gone with an earlier change
            here = functools.reduce(operator.getitem, path[:-1], described)
            here[path[-1]] = copy.deepcopy(value)

    sheet = answer(described)

    if sheet is not None:
        assert sheet["verdict"] in ("pass", "warn", "blocked", "fail")
        sheet_from_json(sheet)


@given(kind=st.sampled_from(list(DoorKind)), data=st.data())
@settings(max_examples=200, deadline=None)
def test_any_rules_size_or_are_refused(kind, data):
    described = whole(kind, Shape.GOTHIC)
    names = data.draw(st.lists(st.sampled_from(sorted(described["rules"])), min_size=1, max_size=4), label="rules")
    for name in names:
        described["rules"][name] = data.draw(st.floats(0, 100_000) | st.sampled_from([0, 10, 1e5, 1e-320]), label=name)

    answer(described)


@given(
    kind=st.sampled_from(list(DoorKind)),
    width=st.floats(1e-6, 60_000),
    height=st.floats(1e-6, 60_000),
    offset=st.floats(0, 60_000),
)
def test_any_size_is_sized_or_refused(kind, width, height, offset):
    described = whole(kind, Shape.ROUND) | {"rough_width_mm": width, "rough_height_mm": height, "offset_mm": offset}
    described["wall"]["ridge_mm"] = 4000

    answer(described)


@given(data=junk)
def test_anything_is_sized_or_refused(data):
    answer(data)


@given(
    data=st.dictionaries(
        st.sampled_from(["kind", "rough_width_mm", "rough_height_mm", "wall", "design", "rules", "x"]), junk
    )
)
def test_anything_under_the_right_keys_is_sized_or_refused(data):
    answer(data)


lengths = st.floats(1e-4, 59)


@given(
    kind=st.sampled_from(list(DoorKind)),
    width=lengths,
    height=lengths,
    offset=st.none() | lengths,
    code=st.text(max_size=9),
)
def test_an_opening_goes_to_json_and_back(kind, width, height, offset, code):
    opening = make_opening(kind=kind, rough_width=width, rough_height=height, offset=offset, code=code)
    written = to_plain(opening)
    again = from_plain(Opening, json.loads(json.dumps(written)))

    assert to_plain(again) == written
    assert (again.kind, again.code, again.wall.shape, again.machine.name) == (kind, code, Shape.GOTHIC, "tractor")
    assert again.rough_width == pytest.approx(width, abs=1e-9)
    assert (again.offset is None) is (offset is None)


@given(
    changes=st.dictionaries(st.sampled_from(["free_end", "film_side", "headroom_film", "leaf_gap"]), st.floats(0, 99))
)
def test_rules_go_to_json_and_back(changes):
    rules = Rules(**changes)
    written = to_plain(rules)

    assert to_plain(from_plain(Rules, written)) == written
    assert from_plain(Rules, {}) == Rules()


@given(kind=st.sampled_from(list(DoorKind)), shape=st.sampled_from(list(Shape)), left=st.floats(0, 216 * 25.4))
@settings(deadline=None)
def test_a_sheet_goes_to_json_and_back(kind, shape, left):
    written = size_json(whole(kind, shape) | {"offset_mm": left})

    from_json = sheet_from_json(json.loads(json.dumps(written, allow_nan=False)))
    assert to_plain(from_json) == written
