"""What is to be said of each kind of door, in words."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from doors.mechanics.choose import HABITS
from doors.sizing import DoorKind
from doors.words.names import Words

CAUTIONS: Words = {
    "keep_shovelled": _("Swings outwards: snow, ice or crates in front of it shut people in. Keep it shovelled."),
    "opens_outward": _("Latch that opens from inside with gloves on, without a key."),
    "brace_in_wind": _("Weak in wind until a bar braces both leaves and their bolts are shot."),
    "snow_blocks_swing": _("Both leaves swing outwards: snow in front has to be cleared before they open."),
    "pin_in_wind": _("Pin both panels at the floor before wind; keep the track free of ice."),
    "strong_frame": _("Heavy: header and jambs must be framed for it by somebody who can size them."),
    "poor_light": _("Lets no light through and carries heat out."),
    "hook_in_wind": _("Weak in wind until it is wired into its channels and hooked down."),
    "not_an_exit": _("Not a way out when it is shut."),
    "thaw_before_rolling": _("Clear snow and thaw the lower edge before rolling: frozen film tears."),
    "two_people": _("Two people lift it, in calm air only."),
}


def cautions_of(kind: DoorKind) -> tuple[str, ...]:
    """Return the cautions of a kind of door, a sentence or two each."""
    return tuple(str(CAUTIONS[key]) for key in HABITS[kind].cautions)
