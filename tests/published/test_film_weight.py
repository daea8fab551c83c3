"""How heavy film is, beside the trade's figure for polyethylene of 6 mil.

Extension notes on covering tunnels print no weight; 0.029 lb/ft² is that of polyethylene at 0.92 g/cm³, the density
that handbooks of plastics give for the low-density kind (0.910 to 0.925), times 6 mil, rounded to three places.
"""

from __future__ import annotations

import pytest

from maintenance.sheeting import Piece, sheet_mass

FOOT = 0.3048  # m, exact
POUND = 0.45359237  # kg, exact
SIX_MIL = 6 * 25.4e-6  # m


def test_six_mil_film_weighs_0_029_lb_on_a_square_foot():
    assert sheet_mass(Piece(FOOT, FOOT), SIX_MIL) / POUND == pytest.approx(0.029, abs=0.0005)


@pytest.mark.parametrize(("width", "length", "pounds"), [(40, 100, 115), (48, 100, 138)])
def test_covers_as_they_are_carried(width, length, pounds):
    """Area times 0.0287 lb/ft², to the whole pound: what a crew has on its ropes."""
    piece = Piece(width * FOOT, length * FOOT)

    assert sheet_mass(piece, SIX_MIL) / POUND == pytest.approx(pounds, abs=0.5)
