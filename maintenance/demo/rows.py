"""What happened on the demo farm, in days before the load, and what lies in its store. Invented throughout."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import time
from decimal import Decimal
from typing import Final

from doors.models import Component, FailureCause, FailureMode
from maintenance.models import Repair

Kind = Component.Kind
Mode = FailureMode
Cause = FailureCause
State = Repair.State
MPH: Final = Decimal("0.44704")  # m/s, exact


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """A fault and what became of it. ``place`` is the code of an opening or a tunnel; people by first name."""

    days: int
    place: str
    part: str
    spot: str
    mode: str
    note: str
    by: str
    cause: str = Cause.UNKNOWN
    state: str = State.DONE
    minutes: int | None = None
    cost: Decimal | None = None
    is_critical: bool = False
    mended_days: int | None = None  # the same day where it is None


CLAMP_4: Final = "right jamb, clamp 4"
FAULTS: Final = (
    Fault(days=430, place="T08-W", part=Kind.CLAMP_SCREW, spot=CLAMP_4, mode=Mode.LOOSE, by="Teo", minutes=5,
          cause=Cause.WIND, note="Tightened."),
    Fault(days=300, place="T08-W", part=Kind.CLAMP_SCREW, spot=CLAMP_4, mode=Mode.SPUN, by="Teo", minutes=15,
          cause=Cause.WIND, note="One screw size up."),
    Fault(days=95, place="T08-W", part=Kind.CLAMP_SCREW, spot=CLAMP_4, mode=Mode.SPUN, by="Marisol", minutes=20,
          note="New hole an inch higher. The wood is soft."),
    Fault(days=6, place="T08-W", part=Kind.CLAMP_SCREW, spot=CLAMP_4, mode=Mode.SPUN, by="Marisol", minutes=45,
          state=State.OPEN, is_critical=True, note="Spins again in soft wood. The stud wants replacing."),
    Fault(days=250, place="T06-W", part=Kind.TURNING_BAR, spot="whole bar", mode=Mode.BENT, by="Dwayne", minutes=210,
          cost=Decimal(118), cause=Cause.USE, note="The door stood half open in a gust of 52 mph. Bar replaced."),
    Fault(days=200, place="T04", part=Kind.ROOF_FILM, spot="west end, bay 7, at the bow", mode=Mode.TORN, by="Hanna",
          minutes=30, cause=Cause.AGE, note="Tear of 3 ft, taped on both faces."),
    Fault(days=140, place="T04", part=Kind.ROOF_FILM, spot="west end, bay 5", mode=Mode.TORN, by="Hanna", minutes=20,
          cause=Cause.AGE, note="Tear of 14 in, taped."),
    Fault(days=8, place="T04", part=Kind.ROOF_FILM, spot="west end, bay 7, at the bow", mode=Mode.TORN, by="Hanna",
          minutes=40, state=State.OPEN, is_critical=True, cause=Cause.AGE, note="The tape on the 3 ft tear lifts."),
    Fault(days=120, place="T09-W", part=Kind.GUIDE_POST, spot="left", mode=Mode.LOOSE, by="Teo", minutes=25,
          note="Packed again."),
    Fault(days=10, place="T09-W", part=Kind.GUIDE_POST, spot="left", mode=Mode.LEANING, by="Teo", minutes=50,
          state=State.OPEN, is_critical=True, note="Leans 3 in."),
    Fault(days=45, place="T11-W", part=Kind.DRIVE, spot="crank handle pin", mode=Mode.MISSING, by="Dwayne", minutes=25,
          state=State.OPEN, is_critical=True, note="Pin lost, a bolt stands in for it. The bar creeps down."),
    Fault(days=80, place="T06", part=Kind.CORD, spot="north side, from bay 8", mode=Mode.MISSING, by="Marisol",
          minutes=30, state=State.OPEN, is_critical=True, cause=Cause.WIND, note="12 ft torn out, not replaced."),
    Fault(days=98, place="T02-E", part=Kind.SPRING_WIRE, spot="left jamb, lower 8 ft", mode=Mode.MISSING, by="Dwayne",
          minutes=10, state=State.OPEN, cause=Cause.UPKEEP, note="Lent to T05; not given back."),
    Fault(days=21, place="T01", part=Kind.BLOWER, spot="intake", mode=Mode.OTHER, by="Hanna", minutes=10,
          cause=Cause.UPKEEP, note="Intake cleaned."),
)  # fmt: skip
GUSTS: Final = (  # days ago, mph, what is known of it
    (412, 47, ""), (371, 49, ""), (329, 38, "Hail; the roof of T03 was holed."), (305, 55, ""),
    (250, 52, "T06-W stood half open."), (188, 46, ""), (151, 41, "Thunderstorm."), (62, 48, ""), (24, 36, ""),
)  # fmt: skip
# Of possible sunshine, from memory, as commonly given for central New York; the farm would enter its own.
SUNSHINE: Final = (0.32, 0.38, 0.45, 0.49, 0.54, 0.59, 0.63, 0.59, 0.53, 0.43, 0.27, 0.24)
STORE: Final = (  # material, pieces (film: sheets), when it came
    ("FILM-6MIL", 2, 30), ("SCREW-SD", 140, 200), ("SCREW-14", 22, 300), ("TAPE-FILM", 3, 60), ("CLAMP-1.660", 18, 200),
    ("CLAMP-1.315", 11, 200), ("WIRE", 6, 200), ("CORD", 1, 200), ("ROD-3/8x12", 4, 400), ("CRANK", 1, 400),
)  # fmt: skip
LEAST_STOCK: Final = {"SCREW-SD": 100, "TAPE-FILM": 4, "CLAMP-1.660": 12, "WIRE": 4, "CORD": 2}
LEAD_WEEKS: Final = {"FILM-6MIL": 6, "TUBE-1.660": 2, "TUBE-1.315": 2, "DRIVE-1:1": 3}
RATED_DOSE_KLY: Final = {"FILM-6MIL": Decimal(680)}  # invented: some five and a half years under this sky
LANGUAGES: Final = {"teo": "es", "marisol": "es"}
DIGEST_AT: Final = time(5)
CYCLES_A_WEEK: Final = {"T10-W": 26, "T11-W": 22, "T12-W": 18, "T12-E": 6, "T01-W": 14, "T04-W": 14}

# Rounds nobody has logged, by routine and, where it is not all of them, by the code of the tunnel.
LEFT_UNDONE: Final = {
    "clamp-screws-first": ("T12",), "clamp-screws-30-days": ("T12",), "channel-screws-first": ("T12",),
    "channel-screws-30-days": ("T12",), "door-film-first": ("T12",), "door-film-30-days": ("T12",),
    "shade-off": ("T07",), "frame-autumn": ("T05", "T09", "T11"), "door-autumn": ("T09", "T11"),
}  # fmt: skip
NEVER_BY_THEMSELVES: Final = (
    "roof-film-age",
    "wall-film-age",
    "door-film-age",
    "roof-film-dose",
    "door-film-dose",
    "connection-check",
)
