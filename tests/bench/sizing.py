"""How fast openings are sized: one at a time, and 100,000 as arrays; run it as a program, it prints a table.

Usage: python tests/bench/sizing.py [runs] [openings]

The loop beside the arrays sizes the same openings one by one in the same run, a hundredth of them, scaled up; it
makes whole sheets where the arrays make figures, so the last column says what a list of openings gains.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import fields, replace
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from doors.sizing import ArchFrame, DoorKind, Given, Opening, Rules, Side, frame_of, given_of, size, work_out  # noqa: E402
from farm.geometry import ROUND_CODE, Shape  # noqa: E402
from tests.openings import FEET, INCH, make_design, make_opening, make_wall  # noqa: E402

SLOW = 3  # exit status; a crash is 1
LIMIT_ONE = 1e-3  # s
LIMIT_MANY = 2.0  # s
SHARE = 100  # one of so many openings is sized in the loop
RULES = Rules()


def main(runs: int = 5_000, count: int = 100_000) -> int:
    """Time both ways and print the table; 3 if either is slower than it may be."""
    openings = {
        "mid-height bar": make_opening(),
        "bottom bar": make_opening(kind=DoorKind.BOTTOM_BAR),
        "hinged pair": make_opening(kind=DoorKind.HINGED_PAIR, rough_width=10 * FEET * INCH),
        "refused, with sizes offered": make_opening(rough_height=132 * INCH),
        "width and height only": Opening(kind=DoorKind.MID_BAR, rough_width=3.0, rough_height=2.5),
    }
    slow = 0
    print(f"{'one opening, median of ' + str(runs):<44} {'ms':>9} {'p95 ms':>9}")  # noqa: T201
    for name, opening in openings.items():
        times = [_timed(lambda opening=opening: size(opening)) for _ in range(runs)]
        median, late = statistics.median(times), statistics.quantiles(times, n=20)[-1]
        slow += median > LIMIT_ONE
        print(f"{name:<44} {median * 1e3:>9.3f} {late * 1e3:>9.3f}{_over(median, LIMIT_ONE)}")  # noqa: T201
    many = _many(count)
    arrays = min(_timed(lambda: work_out(many, RULES, winds_at_mid_height=True)) for _ in range(3))
    slow += arrays > LIMIT_MANY
    some = [_one(many, index) for index in range(0, count, SHARE)]
    loop = _timed(lambda: [work_out(given, RULES, winds_at_mid_height=True) for given in some]) * count / len(some)
    sheets = [_opening(given) for given in some]
    whole = _timed(lambda: [size(opening) for opening in sheets]) * count / len(sheets)
    print(f"\n{f'{count} openings':<44} {'s':>9} {'x arrays':>9}")  # noqa: T201
    for name, seconds in (("figures, as arrays", arrays), ("figures, in a loop", loop), ("sheets, in a loop", whole)):
        over = _over(seconds, LIMIT_MANY) if seconds == arrays else ""
        print(f"{name:<44} {seconds:>9.3f} {seconds / arrays:>9.1f}{over}")  # noqa: T201
    return SLOW if slow else 0


def _many(count: int) -> Given:
    """Return openings of all widths, heights and places in walls of all sizes, as arrays."""
    random = np.random.default_rng(8)
    opening = make_opening()
    one = given_of(opening, frame_of(opening.wall))
    names = [field.name for field in fields(Given) if field.name not in ("roll_widths", "frame")]
    many = {name: np.full(count, getattr(one, name)) for name in names}
    many["wall_width"] = random.uniform(20, 40, count) * FEET * INCH
    many["rough_width"] = random.uniform(8, 20, count) * FEET * INCH
    many["rough_height"] = random.uniform(7, 11, count) * FEET * INCH
    many["offset"] = random.uniform(0, 1, count) * (many["wall_width"] - many["rough_width"])
    many["drives_right"] = random.integers(0, 2, count).astype(np.float64)
    side = random.uniform(4, 6, count) * FEET * INCH
    ridge = side + random.uniform(0.3, 0.9, count) * many["wall_width"] / 2
    frame = ArchFrame(random.integers(0, 2, count), many["wall_width"], ridge, side)
    return Given(**many, roll_widths=one.roll_widths, frame=frame)


def _one(many: Given, index: int) -> Given:
    """Return the numbers of one opening of the arrays."""
    names = [field.name for field in fields(Given) if field.name not in ("roll_widths", "frame")]
    arch = ArchFrame(*(float(np.asarray(getattr(many.frame, field.name))[index]) for field in fields(ArchFrame)))
    return replace(many, frame=arch, **{name: getattr(many, name)[index] for name in names})


def _opening(given: Given) -> Opening:
    """Return the opening of some numbers, to make its sheet."""
    assert isinstance(given.frame, ArchFrame)
    shape = Shape.ROUND if given.frame.shape_code == ROUND_CODE else Shape.GOTHIC
    wall = make_wall(shape=shape, width=given.frame.width, ridge=given.frame.ridge, side=given.frame.side)
    design = make_design(drive_side=Side.RIGHT if given.drives_right else Side.LEFT)
    sizes = {name: float(getattr(given, name)) for name in ("rough_width", "rough_height", "offset")}
    return make_opening(wall=wall, design=design, **sizes)


def _timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _over(seconds: float, limit: float) -> str:
    return " over" if seconds > limit else ""


if __name__ == "__main__":
    sys.exit(main(*(int(argument) for argument in sys.argv[1:])))
