"""The materials a new farm's book starts with, and which of them a new door takes.

Real sizes, with the trade's name beside them; prices are the farm's to enter.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from doors.models import Material
from farm.models import Farm, Opening

MM_PER_INCH = Decimal("25.4")
MM_PER_FOOT = 12 * MM_PER_INCH
MIL = MM_PER_INCH / 1000
Kind = Material.Kind


def _inches(value: str) -> Decimal:
    return Decimal(value) * MM_PER_INCH


def _tube(code: str, name: str, trade_name: str, diameter: str, wall: str) -> dict[str, Any]:
    return {
        "kind": Kind.TUBE, "code": code, "name": name, "trade_name": trade_name, "diameter_mm": _inches(diameter),
        "wall_mm": _inches(wall), "stock_length_mm": 24 * MM_PER_FOOT,
    }  # fmt: skip


# Outer diameters of steel tube sold by nominal pipe size (ASME B36.10 outside diameters) and fence-rail sizes;
# walls by the Birmingham gauge for tube. Stock lengths and roll widths are common practice, no source.
STARTER_BOOK: tuple[dict[str, Any], ...] = (
    _tube("TUBE-1.315", "Round tube 1.315 in x 0.065 in", "1-3/8 in, 16 gauge", "1.315", "0.065"),
    _tube("TUBE-1.660", "Round tube 1.660 in x 0.065 in", "1-5/8 in, 16 gauge", "1.660", "0.065"),
    _tube("TUBE-1.900", "Round tube 1.900 in x 0.065 in", "1-7/8 in, 16 gauge", "1.900", "0.065"),
    _tube("TUBE-2.375", "Round tube 2.375 in x 0.065 in", "2-3/8 in, 16 gauge", "2.375", "0.065"),
    {
        "kind": Kind.FILM, "code": "FILM-6MIL", "name": "Greenhouse film, 6 mil, UV stabilised", "trade_name": "4-year",
        "thickness_mm": 6 * MIL, "rated_life_years": Decimal(4),
        "roll_widths_mm": [float(feet * MM_PER_FOOT) for feet in (14, 16, 20, 24, 28, 32, 40, 48)],
    },
    {"kind": Kind.CLAMP, "code": "CLAMP-1.315", "name": "Snap clamp for 1.315 in tube", "trade_name": "for 1-3/8 in",
     "diameter_mm": _inches("1.315")},
    {"kind": Kind.CLAMP, "code": "CLAMP-1.660", "name": "Snap clamp for 1.660 in tube", "trade_name": "for 1-5/8 in",
     "diameter_mm": _inches("1.660")},
    {"kind": Kind.CHANNEL, "code": "CHANNEL", "name": "Film channel, aluminium",
     "stock_length_mm": _inches("78")},
    {"kind": Kind.WIRE, "code": "WIRE", "name": "Spring wire, coated", "stock_length_mm": _inches("78")},
    {
        "kind": Kind.ROD, "code": "ROD-3/8x12", "name": "Threaded rod 3/8-16 x 12 in", "diameter_mm": _inches("0.375"),
        "stock_length_mm": _inches("12"),
        # Hex nut and flat washer for 3/8 in, from memory (ASME B18.2.2: 21/64 in; type A plain washer: 0.065 in).
        "nut_height_mm": _inches("0.328125"), "washer_thickness_mm": _inches("0.065"),
    },
    {"kind": Kind.FASTENER, "code": "SCREW-SD", "name": "Self-drilling screw #12 x 3/4 in", "trade_name": "hex head"},
    {"kind": Kind.FASTENER, "code": "SCREW-CH", "name": "Channel screw #12 x 1-1/2 in", "trade_name": "hex washer"},
    {"kind": Kind.FASTENER, "code": "WASHER-3/8", "name": "Flat washer 3/8 in"},
    {"kind": Kind.FASTENER, "code": "NUT-3/8", "name": "Hex nut 3/8-16"},
    {"kind": Kind.FASTENER, "code": "LOCKNUT-1/4", "name": "Lock nut 1/4-20", "trade_name": "7/16 in socket"},
    {"kind": Kind.FASTENER, "code": "BOLT-1/4x3", "name": "Hex bolt 1/4-20 x 3 in"},
    {"kind": Kind.DRIVE, "code": "DRIVE-1:1", "name": "Hand gearbox, worm, 1 turn per turn",
     "gear_ratio": Decimal(1)},
    {"kind": Kind.DRIVE, "code": "DRIVE-4:1", "name": "Hand gearbox, worm, 4 turns per turn", "gear_ratio": Decimal(4)},
    {"kind": Kind.OTHER, "code": "ADAPTER", "name": "Round adapter, square output to tube"},
    {"kind": Kind.OTHER, "code": "CRANK", "name": "Crank handle"},
    {"kind": Kind.OTHER, "code": "SLEEVE-1.660", "name": "Joint sleeve for 1.660 in tube"},
    {"kind": Kind.TIMBER, "code": "STUD-2x4", "name": "Board 1-1/2 x 3-1/2 in", "trade_name": "2x4",
     "stock_length_mm": 8 * MM_PER_FOOT},
    {"kind": Kind.OTHER, "code": "TRACK", "name": "Sliding door track", "stock_length_mm": 10 * MM_PER_FOOT},
    {"kind": Kind.OTHER, "code": "HANGER", "name": "Track hanger with wheels"},
    {"kind": Kind.OTHER, "code": "FLOOR-GUIDE", "name": "Floor guide for a sliding panel"},
    {"kind": Kind.OTHER, "code": "HINGE", "name": "Strap hinge, 8 in"},
    {"kind": Kind.OTHER, "code": "LATCH", "name": "Thumb latch, opens from both sides"},
    {"kind": Kind.OTHER, "code": "BOLT-CANE", "name": "Cane bolt"},
    {"kind": Kind.OTHER, "code": "BUTTON", "name": "Turn button"},
    {"kind": Kind.DOOR, "code": "DOOR-COIL", "name": "Steel roll-up coil door, complete"},
)  # fmt: skip
# What hardware of a sheet is bought as. Clamps go by their tube; rods and gearboxes are chosen for each door.
HARDWARE = {
    "clamp_screw": "SCREW-SD",
    "channel_screw": "SCREW-CH",
    "washer": "WASHER-3/8",
    "nut": "NUT-3/8",
    "round_adapter": "ADAPTER",
    "drive_bolt": "BOLT-1/4x3",
    "lock_nut": "LOCKNUT-1/4",
    "crank_handle": "CRANK",
    "joint_sleeve": "SLEEVE-1.660",
    "joint_screw": "SCREW-SD",
    "hinge": "HINGE",
    "latch": "LATCH",
    "bolt_top_bottom": "BOLT-CANE",
    "hanger": "HANGER",
    "floor_guide": "FLOOR-GUIDE",
    "turn_button": "BUTTON",
    "coil_door": "DOOR-COIL",
}
TIMBER = {"inner_stud": "STUD-2x4", "leaf_stile": "STUD-2x4", "leaf_rail": "STUD-2x4", "leaf_brace": "STUD-2x4",
          "track": "TRACK"}  # fmt: skip

FILM_DOOR_CHOICES = {
    "turning_tube": "TUBE-1.660",
    "sill_tube": "TUBE-1.315",  # 1-3/8 in tube, common practice, no source
    "post_tube": "TUBE-1.660",
    "anti_billow_tube": "TUBE-1.315",
    "film": "FILM-6MIL",
    "channel": "CHANNEL",
    "wire": "WIRE",
    "rod": "ROD-3/8x12",
    "drive": "DRIVE-1:1",
}
CHOICES: dict[str, dict[str, str]] = {
    Opening.Kind.MID_BAR: FILM_DOOR_CHOICES,
    Opening.Kind.BOTTOM_BAR: {part: code for part, code in FILM_DOOR_CHOICES.items() if part != "sill_tube"},
    Opening.Kind.PERSON: {"film": "FILM-6MIL"},
    Opening.Kind.HINGED_PAIR: {"film": "FILM-6MIL"},
    Opening.Kind.SLIDING_PAIR: {"film": "FILM-6MIL"},
    Opening.Kind.COIL: {},
    Opening.Kind.LIFT_OUT: {},
}


def start_book(*, farm: Farm) -> None:
    """Give a farm the materials a book starts with; codes it already has are left as they are."""
    Material.objects.bulk_create([Material(farm=farm, **line) for line in STARTER_BOOK], ignore_conflicts=True)


def default_design(farm: Farm, kind: str) -> dict[str, int]:
    """Return the materials a new door of a kind takes from the farm's book: door field to material id.

    What the book does not hold is left out, so that the sheet names it as missing.
    """
    chosen = CHOICES.get(kind, {})
    in_book = dict(Material.objects.of(farm).in_book().filter(code__in=chosen.values()).values_list("code", "pk"))
    return {part: in_book[code] for part, code in chosen.items() if code in in_book}
