"""QR codes beside the worked examples of ISO/IEC 18004 (all from memory): Annexes C, D and I.

Our squares come from a library; what is checked is that what we paint is such a symbol, module by module.
"""

import numpy as np
import pytest
import segno

from farm.qr import QUIET, square_of
from tests.squares import bits_of_version_1, painted

# Annex I: the digits 01234567 in version 1-M. Data codewords, then the error correction codewords.
EXAMPLE_DATA = "10 20 0C 56 61 80 EC 11 EC 11 EC 11 EC 11 EC 11"
EXAMPLE_CORRECTION = "A5 24 D4 C1 ED 36 C7 87 2C 55"
# Annex C: level M with mask pattern 101 is written as 100000011001110.
EXAMPLE_FORMAT = "100000011001110"
FORMAT_GENERATOR = 0b10100110111  # x^10 + x^8 + x^5 + x^4 + x^2 + x + 1
FORMAT_MASK = 0b101010000010010
LEVELS = {0b01: "L", 0b00: "M", 0b11: "Q", 0b10: "H"}
FINDER = ["1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111"]


def format_bits(modules: np.ndarray) -> str:
    """Return the 15 bits of format information round the upper left finder, the most significant first (figure 25)."""
    down = [*range(6), 7, 8]
    column = [modules[row, 8] for row in down]  # bits 0 to 7
    row = [modules[8, place] for place in (7, 5, 4, 3, 2, 1, 0)]  # bits 8 to 14
    return "".join(str(int(bit)) for bit in reversed([*column, *row]))


def remainder(value: int, generator: int) -> int:
    """Return the remainder of a division of polynomials over GF(2)."""
    while value.bit_length() >= generator.bit_length():
        value ^= generator << (value.bit_length() - generator.bit_length())
    return value


@pytest.mark.parametrize("mask", [0, 5])
def test_the_worked_example_comes_out_codeword_for_codeword(mask):
    code = segno.make("01234567", version=1, error="m", mask=mask, boost_error=False)

    bits = "".join(map(str, bits_of_version_1(np.array([list(row) for row in code.matrix]), mask)))
    words = " ".join(f"{int(bits[start : start + 8], 2):02X}" for start in range(0, 208, 8))

    assert words == f"{EXAMPLE_DATA} {EXAMPLE_CORRECTION}"


def test_the_format_information_is_that_of_the_example():
    code = segno.make("01234567", version=1, error="m", mask=5, boost_error=False)

    assert format_bits(np.array([list(row) for row in code.matrix])) == EXAMPLE_FORMAT


@pytest.mark.parametrize("text", ["https://a.example/q/3AC7XWYT/", "http://192.168.1.20:8000/q/3AC7XWYT/", "1" * 150])
def test_a_square_of_ours_stands_a_quarter_hidden_and_has_its_quiet_zone(text):
    """Level Q recovers about 25 % of the codewords; the quiet zone is 4 modules wide (5.3.8)."""
    square = square_of(text)
    modules = painted(square.side, square.d)
    inner = modules[QUIET:-QUIET, QUIET:-QUIET]

    word = int(format_bits(inner), 2) ^ FORMAT_MASK
    assert QUIET == 4
    assert remainder(word, FORMAT_GENERATOR) == 0
    assert LEVELS[word >> 13] in "QH"
    assert not np.delete(modules, np.s_[4:-4], axis=0).any()
    assert not np.delete(modules, np.s_[4:-4], axis=1).any()
    assert (len(inner) - 17) % 4 == 0
    finder = np.array([[digit == "1" for digit in row] for row in FINDER])
    for corner in (inner[:7, :7], inner[:7, -7:], inner[-7:, :7]):
        assert (corner == finder).all()
    timing = inner[6, 8:-8]
    assert (timing == [place % 2 == 0 for place in range(len(timing))]).all()
