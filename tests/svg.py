"""What tests read off a drawing: the corners of its paths, its texts, where a mark stands."""

from __future__ import annotations

import re
from itertools import combinations
from typing import Final

from farm.paper import Drawing, Lettering, Path, room

HIGH: Final = 3.6  # mm; capitals and figures of 5 mm lettering


def metres(value: float) -> str:
    """Print a length so that a test can read it back."""
    return f"{value:.2f}"


def points(path: Path) -> list[tuple[float, float]]:
    """Return the corners a path of straight lines goes through. [mm]"""
    numbers = [float(text) for text in re.findall(r"-?\d+\.?\d*", path.d)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def paths(drawing: Drawing, style: str) -> list[Path]:
    linked = [path for link in drawing.links for path in link.paths]
    return [path for path in (*drawing.paths, *linked) if path.style.split()[0] == style]


def texts(drawing: Drawing) -> list[str]:
    return [line.text for line in drawing.lettering]


def middle(path: Path) -> tuple[float, float]:
    corners = points(path)
    return sum(x for x, _ in corners) / len(corners), sum(y for _, y in corners) / len(corners)


def pen(path: Path) -> tuple[float, float]:
    """Return where a path begins; a mark is drawn around that place. [mm]"""
    return points(path)[0]


Box = tuple[float, float, float, float]


def box(line: Lettering) -> Box:
    """Return what a line of lettering covers in the size a phone shows it: left, top, right, bottom. [mm]"""
    x, y, length = float(line.x), float(line.y), room(line.text)
    before = {"start": 0.0, "middle": length / 2, "end": length}[line.anchor]
    if line.turn:  # reads upwards, its letters to the left of where it stands
        return x - HIGH, y - length + before, x, y + before
    return x - before, y - HIGH, x - before + length, y


def collisions(drawing: Drawing) -> list[tuple[str, str]]:
    """Return the texts of a drawing that stand in each other's way."""
    boxes = [(line.text, box(line)) for line in drawing.lettering]
    return [(one, other) for (one, a), (other, b) in combinations(boxes, 2) if _overlap(a, b)]


def _overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
