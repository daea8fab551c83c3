"""What tunnels, walls and openings are called."""

from decimal import Decimal

import pytest

from farm.naming import moved_code, next_opening_code, next_tunnel_code, point


@pytest.mark.parametrize(
    ("codes", "code"),
    [([], "T01"), (["T01", "T12", "Barn"], "T13"), (["t9"], "T10"), (["T99"], "T100"), (["T7b"], "T01")],
)
def test_the_next_tunnel_takes_the_next_number(codes, code):
    assert next_tunnel_code(codes) == code


def test_a_second_opening_in_a_wall_is_numbered():
    assert next_opening_code("T04", "W", set()) == "T04-W"
    assert next_opening_code("T04", "W", {"T04-W"}) == "T04-W2"
    assert next_opening_code("T04", "W", {"T04-W", "T04-W2", "T04-E"}) == "T04-W3"


def test_a_wall_is_named_by_where_it_faces_and_by_its_end_only_without_a_direction():
    assert point(Decimal(270), "B") == "W"
    assert point(None, "B") == "B"


def test_a_cloned_opening_keeps_its_tail():
    assert moved_code("T04-W2", "T04", "T13") == "T13-W2"
