"""Where a new opening is proposed: in the middle, else in the middle of the widest gap, else nowhere."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from doors.proposals import free_offset


@pytest.mark.parametrize(
    ("width", "wall", "others", "offset"),
    [
        (4, 10, [], 3),
        (10, 10, [], 0),
        (11, 10, [], None),
        (4, None, [], None),
        (4, 10, [(None, 8)], 3),
        (4, 20, [(0, 2)], 8),
        (2, 10, [(4, 3)], 1),  # free: 0 to 4 and 7 to 10
        (2, 10, [(3, 3)], 7),  # free: 0 to 3 and 6 to 10
        (5, 10, [(4, 2)], None),
        (2, 20, [(0, 4), (6, 6), (18, 2)], 14),  # free: 4 to 6 and 12 to 18
    ],
)
def test_an_opening_is_proposed_where_it_fits(width, wall, others, offset):
    assert free_offset(Decimal(width), None if wall is None else Decimal(wall), others) == offset


SPANS = st.lists(st.integers(0, 100), min_size=0, max_size=8, unique=True).map(sorted)


@given(st.integers(1, 100), SPANS)
def test_what_is_proposed_is_free_and_in_the_wall(width, edges):
    spans = [(Decimal(left), Decimal(right - left)) for left, right in zip(edges[::2], edges[1::2], strict=False)]

    offset = free_offset(Decimal(width), Decimal(100), spans)

    if offset is None:
        gaps = [0, *(edge for left, size in spans for edge in (left, left + size)), 100]
        assert all(right - left < width for left, right in zip(gaps[::2], gaps[1::2], strict=True))
    else:
        assert 0 <= offset <= 100 - width
        assert all(offset + width <= left or left + size <= offset for left, size in spans)
