"""How each kind of door is made fast, step by step; common practice, no source.

A door is never left half open in wind: its bar then flails, and the opening lifts the cover from inside.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from doors.sizing import DoorKind
from maintenance.storm.levels import KEYS
from maintenance.storm.work import Task, TaskKind

ROLL: Final = (
    "look_clear",  # bar straight, no ice, nobody and nothing under it
    "lower_by_crank",  # never let it run; stand outside the bar's path
    "bar_on_threshold",  # snug, not drum tight
    "pins_in",  # both ends behind the guide posts
    "hold_downs",  # from the windward jamb inward
    "cords_even",
    "crank_locked",
    "batten:side_edges",
    "batten:jamb_brace",
    "photo",
)
# A step that begins with a level is done from that level up.
DOOR_STEPS: Final[Mapping[DoorKind, tuple[str, ...]]] = MappingProxyType(
    {
        DoorKind.MID_BAR: ROLL,
        DoorKind.BOTTOM_BAR: ROLL,
        DoorKind.PERSON: ("nobody_inside", "shut", "latch", "pull_test", "batten:prop", "photo"),
        DoorKind.HINGED_PAIR: ("nobody_inside", "shut", "cane_bolts", "latch", "pull_test", "batten:brace_bar",
                               "photo"),
        DoorKind.SLIDING_PAIR: ("look_clear", "shut", "meeting_latch", "floor_bolt", "pull_test", "batten:brace_bar",
                                "photo"),
        DoorKind.COIL: ("look_clear", "lower_by_crank", "bottom_locks", "crank_locked", "batten:brace_bar", "photo"),
        DoorKind.LIFT_OUT: ("seat_panel", "buttons", "pull_test", "batten:battens", "photo"),
    }
)  # fmt: skip
OTHER_STEPS: Final[Mapping[TaskKind, tuple[str, ...]]] = MappingProxyType(
    {
        TaskKind.SIDE: ("look_clear", "lower_by_crank", "bar_to_ground", "cords_even", "crank_locked", "photo"),
        TaskKind.INFLATION: ("intake_clear", "blower_runs", "batten:pressure_up"),
        TaskKind.SHADE: ("untie", "roll_up", "stow"),
        TaskKind.REPAIR: ("repair", "pull_test", "photo"),
        TaskKind.WALK_ROUND: ("stow_loose", "touch_every_door", "wire_tails", "side_cords", "nobody_inside"),
    }
)


def steps_of(task: Task, level: int) -> tuple[str, ...]:
    """Return the keys of a task's steps in order, at a structure's level."""
    steps = DOOR_STEPS[task.door] if task.door else OTHER_STEPS[task.kind]
    split = (step.rpartition(":") for step in steps)
    return tuple(key for name, _, key in split if not name or level >= KEYS.index(name))
