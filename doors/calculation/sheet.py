"""The whole calculation sheet of one door, group by group in the order an engineer follows it."""

from __future__ import annotations

from doors.calculation.crank import crank_group, sag_group
from doors.calculation.frame import Frame, geometry_group, given_group
from doors.calculation.ground import embedment_group, weather_group
from doors.calculation.links import state_group
from doors.calculation.loads import film_group, load_group
from doors.calculation.maths import Group
from doors.calculation.parts import capacity_group, section_group
from doors.calculation.soil import soil_group
from doors.wind.cranking import CrankReading
from doors.wind.reading import SHUT, WindReading


def calculation(reading: WindReading, crank: CrankReading) -> list[Group]:
    """Return every quantity of a reading with its formula, source, inputs and result."""
    frame = Frame(reading)
    groups = [given_group(frame), geometry_group(frame), section_group(frame), load_group(frame)]
    groups += [capacity_group(frame), soil_group(frame)]
    for state in reading.states:
        groups += [film_group(frame, state)] if state.state in SHUT else []
        groups.append(state_group(frame, state))
    groups += [embedment_group(frame, crank), weather_group(frame)]
    return [*groups, crank_group(reading.door, crank), sag_group(reading.door, crank)]
