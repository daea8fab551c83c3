"""The sizing rules in words, in the order the farm's page lists them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from django.utils.translation import gettext_lazy as _

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise as Text


@dataclass(frozen=True, slots=True)
class RuleGroup:
    """Rules under one heading: what each is called, by its name in the core."""

    heading: Text
    rules: Mapping[str, Text]


RULE_GROUPS: Final = (
    RuleGroup(
        _("Film doors in general"),
        {
            "film_door_least": _("narrowest hand-cranked film door"),
            "film_door_most": _("widest hand-cranked film door"),
            "wide_from": _("counts as wide from"),
            "support_spacing": _("anti-billow tubes in a wide door, at most apart"),
            "two_people_from": _("two people at the crank from"),
        },
    ),
    RuleGroup(
        _("Bars"),
        {
            "free_end": _("turning bar, past the opening at the free end"),
            "drive_end": _("turning bar, past the structure's side at the drive"),
            "sill_bar_end": _("sill bar, past each jamb stud"),
            "joint_piece": _("shortest piece worth joining"),
        },
    ),
    RuleGroup(
        _("Film panel"),
        {
            "film_side": _("wider than the opening, each side"),
            "film_extra": _("taller than the opening"),
            "film_above_hanging": _("left above the header while hanging"),
            "film_above_trimmed": _("left above the header after trimming"),
            "film_below_first": _("left at the bottom at the first trim"),
            "film_below_final": _("left past the bar at the last trim"),
            "tail_wraps": _("wraps on the bar before the clamps, at least"),
        },
    ),
    RuleGroup(
        _("Clamps and channel"),
        {
            "clamp_line_drop": _("clamps' line below the line at half height"),
            "clamp_spacing": _("clamps, at most apart"),
            "clamp_outboard": _("outboard clamp, past the jamb stud"),
            "clamp_joint_gap": _("clamp kept clear of a joint by"),
            "channel_screw_inset": _("channel screw from the channel's end"),
            "channel_screw_spacing": _("channel screws, at most apart"),
        },
    ),
    RuleGroup(
        _("Strip at the drive"),
        {
            "strip_from": _("needed where the bar runs free for"),
            "strip_width": _("width of the strip"),
        },
    ),
    RuleGroup(
        _("Holes, anti-billow tubes and guide post"),
        {
            "header_hole_inset": _("header hole, in from the jamb stud"),
            "tube_stand_off": _("tube's centre in front of the threshold"),
            "tube_hole_from_top": _("tube's hole below its top"),
            "post_above_header": _("guide post above the header"),
            "post_embedment": _("guide post in the ground"),
        },
    ),
    RuleGroup(
        _("Room"),
        {
            "headroom_film": _("headroom above a film door"),
            "headroom_leaf": _("headroom above a leaf or panel"),
            "headroom_coil": _("headroom above a coil"),
            "operator_gap": _("gearbox clear of a side operator by"),
            "machine_side_least": _("each side of a machine, at least"),
            "machine_side_good": _("each side of a machine, better"),
            "machine_over_least": _("over a machine, at least"),
            "machine_over_good": _("over a machine, better"),
            "wall_beside": _("wall left at each side of a large door"),
            "diagonal_tolerance": _("the two diagonals agree within"),
            "size_step": _("sizes that fit are proposed in steps of"),
        },
    ),
    RuleGroup(
        _("Leaves, panels and coils"),
        {
            "person_leaf_most": _("widest leaf of a person door"),
            "hinged_leaf_most": _("widest leaf of a hinged pair"),
            "panel_most": _("widest lift-out or sliding panel"),
            "leaf_gap": _("gap around a leaf"),
            "leaf_floor_gap": _("gap below a leaf"),
            "leaf_member": _("face of a leaf's boards"),
            "panel_lap": _("lap of a panel over the opening"),
            "coil_guide": _("guide of a coil door, each side"),
        },
    ),
)
