"""Cut list, hardware list and marks of a film roll-up door, read off its figures."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from doors.sizing.figures import Figures
from doors.sizing.layout import Marks
from doors.sizing.opening import Opening, Stock, Tube
from doors.sizing.quantity import SAME, Floats
from doors.sizing.rules import Rules
from doors.sizing.sheet import Cut, Hardware, Row

WASHERS_PER_ROD = 4  # inside; outside the header; before the tube; behind it
NUTS_PER_ROD = 5  # one inside; two against the header; two behind the tube, where one will do
STRIP_CLAMPS = 2
JAMBS = 2
JOINT_SCREWS = 4  # two in each piece; common practice, no source


def known(*values: Floats | float) -> bool:
    """Return whether every value was measured or worked out."""
    return all(map(math.isfinite, values))


def pieces_of(length: float, stock: float | None) -> tuple[float, ...]:
    """Return the lengths to cut from stock: as many whole ones as fit, then the rest; none from unknown stock. [m]"""
    if stock is None:
        return ()
    whole = int((length + SAME) // stock)
    rest = length - whole * stock
    return (*(stock for _ in range(whole)), *((rest,) if rest > SAME else ()))


def cuts(opening: Opening, figures: Figures, rules: Rules, *, has_sill_bar: bool) -> tuple[Cut, ...]:
    """Return the lines of the cut list whose measurements are known."""
    design = opening.design
    inner = int(figures.supports.count) - 2

    def lines() -> Iterator[Cut | None]:
        yield _turning_bar(opening, figures)
        if has_sill_bar:
            sill = float(figures.sill_bar.length)
            yield _tube("sill_bar", design.sill_tube, 1, sill)
        yield _tube("guide_post", design.post_tube, 1, float(figures.post_length))
        yield _tube("anti_billow_tube", design.anti_billow_tube, inner + 2, float(figures.billow_length))
        if inner:
            yield Cut(part="inner_stud", material="", count=inner, length=opening.rough_height,
                      pieces=(opening.rough_height,))  # fmt: skip
        channel = [("header", 1, float(figures.header_channel.length)), ("jamb", JAMBS, opening.rough_height)]
        if has_sill_bar:
            channel.append(("sill", 1, float(figures.sill_bar.length)))
        for part, stock in (("channel", design.channel), ("wire", design.wire)):
            for place, count, length in channel:
                yield _from_stock(f"{place}_{part}", stock or Stock(), count, length)
        if design.film is not None:
            width, height = float(figures.panel.width), float(figures.panel.height)
            name = design.film.name
            yield Cut(part="film_panel", material=name, count=1, length=height, pieces=(height,), width=width)
        strip = float(figures.strip_length)
        if strip > 0:
            name = design.film.name if design.film else ""
            yield Cut(part="drive_strip", material=name, count=1, length=strip, pieces=(strip,),
                      width=rules.strip_width)  # fmt: skip

    return tuple(line for line in lines() if line is not None)


def hardware(opening: Opening, figures: Figures, *, has_sill_bar: bool) -> tuple[Hardware, ...]:
    """Return the hardware with counts and places; what hangs on a missing measurement is left out."""
    design = opening.design
    rods = int(figures.supports.count)

    def lines() -> Iterator[Hardware]:
        if known(figures.clamps.count):
            clamps = int(figures.clamps.count)
            strip = STRIP_CLAMPS if float(figures.strip_length) > 0 else 0
            yield Hardware(item="clamp", place="turning_bar", count=clamps)
            if has_sill_bar:
                yield Hardware(item="clamp", place="sill_bar", count=clamps)
            if strip:
                yield Hardware(item="clamp", place="drive_strip", count=strip)
            yield Hardware(item="clamp_screw", place="turning_bar", count=clamps)
            if strip:
                yield Hardware(item="clamp_screw", place="drive_strip", count=strip)
            yield Hardware(item="channel_screw", place="header", count=int(figures.header_screws.count))
        yield Hardware(item="channel_screw", place="jambs", count=JAMBS * int(figures.jamb_screws.count))
        if has_sill_bar and known(figures.sill_screws.count):
            yield Hardware(item="channel_screw", place="sill_bar", count=int(figures.sill_screws.count))
        if design.rod is not None:
            yield Hardware(item="tie_rod", place="header", count=rods)
            yield Hardware(item="washer", place="tie_rods", count=WASHERS_PER_ROD * rods)
            yield Hardware(item="nut", place="tie_rods", count=NUTS_PER_ROD * rods)
        if design.drive_side is not None:
            yield Hardware(item=f"gearbox_{design.drive_side}", place="drive", count=1)
            for item in ("round_adapter", "drive_bolt", "lock_nut", "crank_handle"):
                yield Hardware(item=item, place="drive", count=1)
        if known(figures.turning_joint):
            yield Hardware(item="joint_sleeve", place="turning_bar", count=1)
            yield Hardware(item="joint_screw", place="turning_bar", count=JOINT_SCREWS)

    return tuple(lines())


def rows(opening: Opening, figures: Figures, rules: Rules, *, has_sill_bar: bool) -> tuple[Row, ...]:
    """Return the marking and drilling schedule, from the opening's left edge and from the threshold."""
    bar, sill, channel = figures.turning_bar, figures.sill_bar, figures.header_channel
    width, height = opening.rough_width, opening.rough_height

    def lines() -> Iterator[Row | None]:
        yield _marks("turning_bar", "clamp", figures.clamps, bar.start)
        yield _points("turning_bar", "opening_edge", (0.0, width), bar.start)
        if known(figures.turning_joint):
            yield _points("turning_bar", "joint", (float(figures.turning_joint),), bar.start)
        if float(figures.strip_length) > 0:
            half = rules.strip_width / 2 - rules.clamp_outboard
            place = float(figures.strip_place)
            yield _points("turning_bar", "strip_clamp", (place - half, place + half), bar.start)
        if has_sill_bar:
            yield _marks("sill_bar", "clamp", figures.clamps, sill.start)
            yield _points("sill_bar", "opening_edge", (0.0, width), sill.start)
            yield _marks("sill_channel", "channel_screw", _moved(figures.sill_screws, sill.start), sill.start)
        yield _marks("header_channel", "channel_screw", _moved(figures.header_screws, channel.start), channel.start)
        yield _marks("header", "header_hole", figures.supports, np.asarray(0.0))
        yield _marks("jamb_channel", "channel_screw", figures.jamb_screws, np.asarray(0.0), axis="up")
        yield _points("header", "hole_height", (float(figures.header_hole_height),), np.asarray(0.0), axis="up")
        if has_sill_bar:
            second = height / 2 - rules.clamp_line_drop
            yield _points("film", "clamp_line", (second,), np.asarray(0.0), axis="up")
            yield _points("film", "rest_line", (height / 2,), np.asarray(0.0), axis="up")

    return tuple(line for line in lines() if line is not None)


def _turning_bar(opening: Opening, figures: Figures) -> Cut | None:
    tube, length = opening.design.turning_tube, float(figures.turning_bar.length)
    if tube is None or not known(length):
        return None
    if not known(figures.turning_joint):
        in_one = tube.stock_length is not None and length <= tube.stock_length + SAME
        return Cut(part="turning_bar", material=tube.name, count=1, length=length, pieces=(length,) if in_one else ())
    left = float(figures.turning_joint - figures.turning_bar.start)
    return Cut(part="turning_bar", material=tube.name, count=1, length=length, pieces=(left, length - left),
               joint=left)  # fmt: skip


def _tube(part: str, tube: Tube | None, count: int, length: float) -> Cut | None:
    if tube is None or not known(length):
        return None
    return Cut(part=part, material=tube.name, count=count, length=length, pieces=(length,))


def _from_stock(part: str, stock: Stock, count: int, length: float) -> Cut | None:
    if not known(length):
        return None
    pieces = pieces_of(length, stock.stock_length)
    return Cut(part=part, material=stock.name, count=count, length=length, pieces=pieces)


def _moved(marks: Marks, start: Floats | float) -> Marks:
    return Marks(np.asarray(marks.first + start), np.asarray(marks.last + start), marks.count, marks.spacing)


def _marks(part: str, mark: str, marks: Marks, start: Floats | float, *, axis: str = "along") -> Row | None:
    if not known(marks.first, marks.last, start):
        return None
    return Row(
        part=part,
        mark=mark,
        axis=axis,
        first=float(marks.first),
        last=float(marks.last),
        count=int(marks.count),
        spacing=float(marks.spacing),
        part_start=float(start),
    )


def _points(
    part: str, mark: str, places: tuple[float, ...], start: Floats | float, *, axis: str = "along"
) -> Row | None:
    first, last = np.asarray(places[0]), np.asarray(places[-1])
    spacing = np.asarray((last - first) / max(len(places) - 1, 1))
    return _marks(part, mark, Marks(first, last, np.asarray(len(places)), spacing), start, axis=axis)
