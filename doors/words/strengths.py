"""The planning values of strength in words: what each is called, its unit, where its standard value comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from django.utils.translation import gettext_lazy as _

from doors.mechanics.fastener import THICKEST_SCREW, THINNEST_SCREW
from doors.mechanics.timber import THICKEST_WOOD_SCREW, THINNEST_WOOD_SCREW

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise as Text

Measure = Literal["length", "stress", "force", "mass", "share", "pace", "count", "wood"]
PRACTICE: Final = _("common practice, no source")


@dataclass(frozen=True, slots=True)
class StrengthWords:
    """One planning value; ``low`` and ``high`` are what the formulas take. [SI]"""

    label: Text
    measure: Measure
    source: Text
    low: float = 0.0
    high: float | None = None


@dataclass(frozen=True, slots=True)
class StrengthGroup:
    """Planning values under one heading."""

    heading: Text
    rows: dict[str, StrengthWords]


MPA = 1e6  # Pa
STRENGTH_GROUPS: Final = (
    StrengthGroup(
        _("Steel tubes and rods"),
        {
            "tube_yield": StrengthWords(
                _("tubes yield at"), "stress", "ASTM F1043 group IC, from memory", 100 * MPA, 1000 * MPA
            ),
            "rod_pitch": StrengthWords(_("tie rods, pitch of the thread"), "length", "3/8-16 UNC, ASME B1.1", 0, 0.004),
            "washer": StrengthWords(
                _("washers of the tie rods, outside"), "length", _("flat washer for 3/8 in, from memory"), 0.0125, 0.1
            ),
        },
    ),
    StrengthGroup(
        _("Timber and its screws"),
        {
            "wood": StrengthWords(_("studs and header are"), "wood", "NDS 2018, Table 12.3.3A, from memory"),
            "header_plies": StrengthWords(_("boards nailed into the header"), "count", PRACTICE, 1.0, 6.0),
            "wood_bending": StrengthWords(
                _("studs and header break in bending at"),
                "stress",
                _("NDS 2018, reference bending of No. 2 spruce-pine-fir times its format conversion, from memory"),
                1 * MPA,
                150 * MPA,
            ),
            "wood_screw": StrengthWords(
                _("channel screws in wood, diameter"), "length", _("No. 12; common practice, no source"),
                THINNEST_WOOD_SCREW, THICKEST_WOOD_SCREW,
            ),
            "wood_penetration": StrengthWords(_("their thread in the wood"), "length", PRACTICE, 0.0, 0.3),
        },
    ),
    StrengthGroup(
        _("Screws in steel"),
        {
            "sheet_screw": StrengthWords(
                _("clamp and channel screws in tubes, diameter"), "length", _("No. 12; common practice, no source"),
                THINNEST_SCREW, THICKEST_SCREW,
            ),
            "channel_thickness": StrengthWords(_("wall of the film channel"), "length", PRACTICE, 0.0001, 0.01),
        },
    ),
    StrengthGroup(
        _("Film and hold-downs"),
        {
            "film_yield": StrengthWords(
                _("new film stays stretched from"), "stress", "ASTM D882, from memory", 1 * MPA, 100 * MPA
            ),
            "belly": StrengthWords(_("belly of the film, of its span"), "share", PRACTICE, 0.01, 0.5),
            "hold_down": StrengthWords(_("one hook or strap holds"), "force", PRACTICE, 10.0, 100_000.0),
        },
    ),
    StrengthGroup(
        _("Crank"),
        {
            "gearbox_mass": StrengthWords(_("gearbox"), "mass", PRACTICE, 0.0, 100.0),
            "handle_radius": StrengthWords(_("handle, from its axle"), "length", PRACTICE, 0.02, 1.0),
            "efficiency": StrengthWords(_("work of the hand that reaches the bar"), "share", PRACTICE, 0.01, 1.0),
            "turns_per_second": StrengthWords(_("crank turns in a minute"), "pace", PRACTICE, 1 / 60, 200 / 60),
        },
    ),
)  # fmt: skip
