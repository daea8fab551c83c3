"""What tests read off a drawing: the corners of its paths, its texts, where a mark stands."""

from __future__ import annotations

import re

from farm.paper import Drawing, Path


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
