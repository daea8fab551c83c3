"""The kinds of table that go in and out of files: their columns, and the form fields that read these."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from copy import deepcopy
from dataclasses import dataclass
from typing import Any, Final

from django import forms
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from doors.exchange.columns import Column
from doors.forms import ComponentForm, MaterialForm
from doors.models import Component, Door, FailureCause, FailureMode, Sizing
from farm.formfields import KnownField, day_field
from farm.forms import OpeningForm, TunnelForm
from farm.models import EndWall, Farm, Opening, Tunnel
from farm.naming import point

Fields = Mapping[str, forms.Field]


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of table: what it is called, its columns, those only written out, and how its cells are read."""

    key: str
    title: str | Promise
    columns: tuple[Column, ...]
    fields: Callable[[Farm], Fields]
    computed: tuple[Column, ...] = ()


def _tunnel_fields(farm: Farm) -> Fields:
    fields = dict(TunnelForm(farm=farm).fields)
    fields["status"] = forms.ChoiceField(choices=Tunnel.Status.choices, required=False)
    return fields


def _opening_fields(farm: Farm) -> Fields:
    return {
        **OpeningForm(farm=farm, end_wall=EndWall(farm=farm, tunnel=Tunnel(farm=farm))).fields,
        "tunnel": forms.CharField(max_length=20),
        "wall": forms.CharField(max_length=10),
        "drive_side": forms.ChoiceField(choices=Door.DriveSide.choices, required=False),
    }


def _component_fields(_farm: Farm) -> Fields:
    # The class's own fields: the form itself would look up every place on the farm.
    fields = deepcopy(ComponentForm.base_fields)
    return {
        **{name: fields[name] for name in ("kind", "spot", "quantity", "lot", "printed_side", "notes")},
        "fitted_on": day_field(""),
        "tunnel": forms.CharField(max_length=20, required=False),
        "wall": forms.CharField(max_length=10, required=False),
        "opening": forms.CharField(max_length=30, required=False),
        "material": forms.CharField(max_length=40, required=False),
        "removed_on": _optional(day_field("")),
        "removal_reason": forms.ChoiceField(choices=Component.Reason.choices, required=False),
        "failure_mode": forms.ChoiceField(choices=FailureMode.choices, required=False),
        "failure_cause": forms.ChoiceField(choices=FailureCause.choices, required=False),
    }


def _material_fields(farm: Farm) -> Fields:
    return {**MaterialForm(farm=farm).fields, "is_in_book": KnownField(required=False)}


def _count_fields(_farm: Farm) -> Fields:
    return {
        "code": forms.CharField(max_length=40),
        "found": forms.DecimalField(max_digits=10, decimal_places=2),
        "on": _optional(day_field("")),
        "note": forms.CharField(max_length=200, required=False),
    }


def _optional(field: forms.Field) -> forms.Field:
    field.required = False
    return field


def _wall_of(component: Component) -> str:
    wall = component.opening.end_wall if component.opening else component.end_wall
    return point(wall.bearing_deg, wall.end) if wall else ""


def _tunnel_of(component: Component) -> str:
    if component.tunnel:
        return component.tunnel.code
    wall = component.opening.end_wall if component.opening else component.end_wall
    return wall.tunnel.code if wall else ""


def _verdict(opening: Any) -> str:
    return str(Sizing.Verdict(opening.verdict).label) if opening.verdict else ""


def _opening_wall(opening: Opening) -> str:
    return point(opening.end_wall.bearing_deg, opening.end_wall.end)


def _length(key: str, name: str = "", example: str = "", *, needed: bool = False) -> Column:
    return Column(key, name or f"{key}_mm", example, is_length=True, is_needed=needed)


NOTES: Final = Column("notes", "notes")

TUNNELS: Final = Kind(
    "tunnels",
    _("Tunnels"),
    (
        Column("code", "code", "T13"),
        Column("name", "name", "New north tunnel", is_needed=True),
        Column("status", "status", "in use"),
        Column("shape", "shape", "gothic arch"),
        _length("width", example="30 ft"),
        _length("length", example="96 ft"),
        _length("ridge", example="14' 6\"", name="ridge_mm"),
        _length("side", example="5 ft"),
        Column("profile", "profile_mm"),
        Column("direction", "axis_bearing_deg", "W", aliases=("axis", "bearing", "azimuth")),
        _length("east", example="120 ft"),
        _length("north", example="-40 ft"),
        Column("left_side_rolls_up", "has_left_rollup", "yes"),
        Column("left_operator_end", "left_operator_end", "A"),
        Column("right_side_rolls_up", "has_right_rollup", "yes"),
        Column("right_operator_end", "right_operator_end", "A"),
        _length("operator_travel", example="5 ft"),
        _length("bow_spacing", example="4 ft"),
        Column("film_layers", "film_layers", "2"),
        Column("shelter", "shelter", "open"),
        Column("storm_posture", "storm_posture", "closed tight"),
        NOTES,
    ),
    _tunnel_fields,
)

OPENINGS: Final = Kind(
    "openings",
    _("Openings"),
    (
        Column("tunnel", "tunnel", "T13", is_needed=True, read=lambda row: row.end_wall.tunnel.code),
        Column("wall", "wall", "W", is_needed=True, aliases=("end_wall", "end"), read=_opening_wall),
        Column("code", "code", "T13-W", aliases=("opening", "door")),
        Column("kind", "kind", "film roll-up, mid-height bar"),
        _length("rough_width", example="12 ft", needed=True),
        _length("rough_height", example="8 ft", needed=True),
        _length("offset", example="9 ft"),
        _length("threshold", example="0"),
        _length("header_depth", example="9 1/4 in"),
        Column("crank_side", "drive_side", "right", aliases=("drive_side", "crank")),
        _length("diagonal_1", example="14' 5\""),
        _length("diagonal_2", example="14' 5\""),
        Column("machine", "machine", "tractor with bed shaper", aliases=("what_must_pass",)),
        _length("machine_width", example="6 ft"),
        _length("machine_height", example="6' 6\""),
        NOTES,
    ),
    _opening_fields,
    computed=(
        *(
            Column(key, f"{key}_mm", is_length=True, is_computed=True)
            for key in ("clear_width", "clear_height", "turning_bar", "panel_width", "panel_height")
        ),
        Column("clamps", "clamp_count"),
        Column("check", "verdict", read=_verdict),
        Column("hung_on", "hung_on"),
    ),
)

COMPONENTS: Final = Kind(
    "components",
    _("Parts"),
    (
        Column("part", "kind", "clamp", is_needed=True, aliases=("kind",)),
        Column("tunnel", "tunnel", "T13", read=_tunnel_of),
        Column("wall", "wall", "W", aliases=("end_wall",), read=_wall_of),
        Column(
            "opening", "opening", "T13-W", aliases=("door",), read=lambda row: row.opening.code if row.opening else ""
        ),
        Column("where_exactly", "spot", "left jamb, clamp 4", aliases=("spot",)),
        Column("quantity", "quantity", "1"),
        Column(
            "material", "material", "clamp-1.66", aliases=("material_code",),
            read=lambda row: row.material.code if row.material else "",
        ),
        Column("fitted_on", "fitted_on", "2024-05-01", is_needed=True),
        Column("removed_on", "removed_on"),
        Column("why_removed", "removal_reason"),
        Column("how_it_failed", "failure_mode", aliases=("failure_mode",)),
        Column("cause", "failure_cause", aliases=("failure_cause",)),
        Column("lot", "lot", aliases=("roll", "lot_number")),
        Column("printed_side", "printed_side"),
        NOTES,
    ),
    _component_fields,
)  # fmt: skip

MATERIALS: Final = Kind(
    "materials",
    _("Materials"),
    (
        Column("kind", "kind", "tube"),
        Column("code", "code", "tube-1.66", is_needed=True, aliases=("material", "material_code")),
        Column("name", "name", "1-3/8 in pipe"),
        Column("trade_name", "trade_name", "top rail"),
        _length("diameter", example="1.66 in"),
        _length("wall", example="0.083 in"),
        _length("stock_length", example="21 ft"),
        _length("thickness"),
        Column("roll_widths", "roll_widths_mm"),
        _length("nut_height"),
        _length("washer_thickness"),
        Column("gear_ratio", "gear_ratio"),
        Column("rated_life_years", "rated_life_years"),
        Column("rated_dose_kly", "rated_dose_kly"),
        Column("price", "price", "38.50"),
        Column("price_per", "price_per", "stock length"),
        Column("least_stock", "least_stock", "4", aliases=("at_least",)),
        Column("lead_weeks", "lead_weeks", "2", aliases=("weeks_to_deliver",)),
        Column("in_use", "is_in_book", "yes"),
        NOTES,
    ),
    _material_fields,
)

COUNTS: Final = Kind(
    "counts",
    _("Counts of the store"),
    (
        Column("code", "code", "tube-1.66", is_needed=True, aliases=("material", "material_code")),
        Column("counted", "found", "12", is_needed=True, aliases=("found", "lies_there")),
        Column("on", "on", aliases=("counted_on", "day")),
        Column("note", "note", "after the storm", aliases=("notes",)),
    ),
    _count_fields,
)

IMPORTED: Final[Mapping[str, Kind]] = {kind.key: kind for kind in (TUNNELS, OPENINGS, COMPONENTS, MATERIALS, COUNTS)}
