"""The sizing core's public names; everybody else imports only these."""

from doors.sizing.figures import Figures, Given, work_out
from doors.sizing.frame import ArchFrame, Frame, MeasuredFrame, frame_of
from doors.sizing.missing import blocks_cutting
from doors.sizing.opening import (
    FILM_ROLLS,
    Design,
    DoorKind,
    Exit,
    Film,
    Machine,
    Neighbour,
    Opening,
    Rod,
    Side,
    SideOperator,
    Site,
    Stock,
    Tube,
    Wall,
)
from doors.sizing.quantity import FOOT, INCH, Floats, Length, SizingError, Unit
from doors.sizing.rules import Rules
from doors.sizing.sheet import Check, Cut, Hardware, Missing, Panel, Roll, Row, Sheet, Size, Step, Verdict
from doors.sizing.sheet import Figures as Facts
from doors.sizing.size import CORE_VERSION, given_of, size

__all__ = [
    "CORE_VERSION",
    "FILM_ROLLS",
    "FOOT",
    "INCH",
    "ArchFrame",
    "Check",
    "Cut",
    "Design",
    "DoorKind",
    "Exit",
    "Facts",
    "Figures",
    "Film",
    "Floats",
    "Frame",
    "Given",
    "Hardware",
    "Length",
    "Machine",
    "MeasuredFrame",
    "Missing",
    "Neighbour",
    "Opening",
    "Panel",
    "Rod",
    "Roll",
    "Row",
    "Rules",
    "Sheet",
    "Side",
    "SideOperator",
    "Site",
    "Size",
    "SizingError",
    "Step",
    "Stock",
    "Tube",
    "Unit",
    "Verdict",
    "Wall",
    "blocks_cutting",
    "frame_of",
    "given_of",
    "size",
    "work_out",
]
