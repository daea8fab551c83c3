"""The trade's rules of sizing; every one of them is a farm's to change.

All values are common practice, no source, unless a line says otherwise. ``low`` and ``high`` in a field's
metadata give the range practice keeps to, where it keeps to one. Metres; counts and ratios are plain numbers.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import Any

from doors.sizing.quantity import FOOT, INCH, Length, require

MOST = 100.0  # m; no rule of a door is longer than this
LEAST_SPACING = 0.01  # m; closer marks cannot be made


def _inches(value: float, low: float | None = None, high: float | None = None) -> Any:
    return field(
        default=value * INCH,
        metadata={
            "low": None if low is None else low * INCH,
            "high": None if high is None else high * INCH,
        },
    )


def _feet(value: float) -> Any:
    return field(default=value * FOOT, metadata={"low": None, "high": None})


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """How this farm sizes its doors.

    Raises
    ------
    SizingError
        If a rule is negative, not finite, or longer than 100 m; if a spacing is below 10 mm; or if the
        least width of a film door is not below the most.
    """

    # range of the hand-cranked film door
    film_door_least: Length = _feet(8)
    film_door_most: Length = _feet(22)
    wide_from: Length = _feet(14)
    support_spacing: Length = _feet(7)
    two_people_from: Length = _feet(16)
    # bars
    free_end: Length = _inches(10, 8, 12)
    drive_end: Length = _inches(13.5, 12, 15)
    sill_bar_end: Length = _inches(9.5, 7, 12)
    # film
    film_side: Length = _inches(15, 12, 18)
    film_extra: Length = _inches(42, 36, 48)
    film_above_hanging: Length = _inches(4, 4, 6)
    film_above_trimmed: Length = _inches(2)
    film_below_first: Length = _inches(24)
    film_below_final: Length = _inches(1)
    tail_wraps: float = field(default=1.5, metadata={"low": 1.5, "high": None})
    # clamps and channel
    clamp_line_drop: Length = _inches(4)
    clamp_spacing: Length = _inches(15, 12, 18)
    clamp_outboard: Length = _inches(2)
    clamp_joint_gap: Length = _inches(2, 2, None)
    joint_piece: Length = _inches(24)  # shortest piece worth joining
    channel_screw_inset: Length = _inches(1)
    channel_screw_spacing: Length = _inches(12)
    # strip that carries the bar near the drive
    strip_from: Length = _feet(4)
    strip_width: Length = _inches(12)
    # header holes, anti-billow tubes, guide post
    header_hole_inset: Length = _inches(3)
    tube_stand_off: Length = _inches(2.5)
    tube_hole_from_top: Length = _inches(3)
    post_above_header: Length = _inches(2, 0, 4)
    post_embedment: Length = _inches(24)
    # room
    headroom_film: Length = _inches(12, 10, 12)
    headroom_leaf: Length = _inches(6)
    headroom_coil: Length = _inches(20, 16, 24)
    operator_gap: Length = _inches(12)
    machine_side_least: Length = _inches(12)
    machine_side_good: Length = _inches(24)
    machine_over_least: Length = _inches(12)
    machine_over_good: Length = _inches(24)
    wall_beside: Length = _feet(4)
    diagonal_tolerance: Length = _inches(0.5)
    size_step: Length = _inches(6)
    # leaves, panels and coils
    person_leaf_most: Length = _feet(4)
    hinged_leaf_most: Length = _feet(6)
    panel_most: Length = _feet(12)
    leaf_gap: Length = _inches(0.375)
    leaf_floor_gap: Length = _inches(0.75)
    leaf_member: Length = _inches(3.5)
    panel_lap: Length = _inches(2)
    coil_guide: Length = _inches(3)

    def __post_init__(self) -> None:
        for rule in fields(self):
            value = getattr(self, rule.name)
            require(f"rules.{rule.name}", value, "finite")
            require(f"rules.{rule.name}", value, "at least", 0.0)
            require(f"rules.{rule.name}", value, "at most", MOST)
        for name in ("support_spacing", "clamp_spacing", "channel_screw_spacing", "size_step"):
            require(f"rules.{name}", getattr(self, name), "at least", LEAST_SPACING)
        require("rules.film_door_least", self.film_door_least, "below", self.film_door_most)
