"""Squares as paths of an SVG, put on paper dot by dot; and a plain reader of the smallest ones."""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

RUN = re.compile(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z")


def painted(side: int, d: str) -> np.ndarray:
    """Return the modules of a path of runs: True is dark. Whatever is no run is refused."""
    assert RUN.sub("", d) == ""
    modules = np.zeros((side, side), dtype=bool)
    for x, y, length, back in (map(int, match) for match in RUN.findall(d)):
        assert length == back
        assert not modules[y, x : x + length].any(), "one module is painted twice"
        modules[y, x : x + length] = True
    return modules


def picture(modules: np.ndarray, dots: int = 8) -> np.ndarray:
    """Return a grey picture, so many dots to a module, dark on white."""
    return np.where(np.kron(modules, np.ones((dots, dots), dtype=bool)), 0, 255).astype(np.uint8)


def bits_of_version_1(modules: np.ndarray, mask: int) -> Iterator[int]:
    """Yield the data bits of a version 1 symbol [21 x 21] in the order of ISO/IEC 18004, 7.7.3, unmasked."""
    masks = {
        0: lambda i, j: (i + j) % 2 == 0,
        5: lambda i, j: (i * j) % 2 + (i * j) % 3 == 0,
    }
    function = np.zeros((21, 21), dtype=bool)
    function[:9, :9] = function[:9, 13:] = function[13:, :9] = True  # finders, separators, format information
    function[6, :] = function[:, 6] = True  # timing
    columns = [column for column in range(20, -1, -1) if column != 6]
    for turn, pair in enumerate(zip(columns[::2], columns[1::2], strict=True)):
        rows = range(20, -1, -1) if turn % 2 == 0 else range(21)
        for row in rows:
            for column in pair:
                if not function[row, column]:
                    yield int(modules[row, column]) ^ int(masks[mask](row, column))
