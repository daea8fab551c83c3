"""What a trade's gauge number means in thickness: the same number is several thicknesses."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

from doors.sizing.quantity import INCH, SizingError


class System(StrEnum):
    """Systems a gauge may be counted in."""

    SHEET = "sheet"  # Manufacturers' Standard, bare steel sheet
    GALVANISED = "galvanised"  # steel sheet with its zinc
    BIRMINGHAM = "birmingham"  # walls of steel tube
    WIRE = "wire"  # American wire gauge


GAUGES: Mapping[System, Mapping[int, float]] = {  # in
    # machinecalcs.com/sheet-metal-gauge-chart, greaseralley.com/2010/12/09/sheet-metal-gauge-chart
    System.SHEET: {12: 0.1046, 13: 0.0897, 14: 0.0747, 15: 0.0673, 16: 0.0598, 17: 0.0538, 18: 0.0478, 20: 0.0359},
    System.GALVANISED: {12: 0.1084, 13: 0.0934, 14: 0.0785, 15: 0.0710, 16: 0.0635, 17: 0.0575, 18: 0.0516, 20: 0.0396},
    # Birmingham (Stubs) and American wire gauge, ASTM B258 and tube makers' tables, as read from fluids 1.3.1
    System.BIRMINGHAM: {12: 0.109, 13: 0.095, 14: 0.083, 15: 0.072, 16: 0.065, 17: 0.058, 18: 0.049, 20: 0.035},
    System.WIRE: {12: 0.0808, 13: 0.0720, 14: 0.0641, 15: 0.0571, 16: 0.0508, 17: 0.0453, 18: 0.0403, 20: 0.0320},
}


def gauge_thickness(system: System | str, gauge: int) -> float:
    """Return the thickness a gauge stands for.

    Parameters
    ----------
    system : System
        What the number is counted in: ask the seller, "16 gauge" alone says nothing.
    gauge : int
        12 to 18, or 20.

    Returns
    -------
    float
        [m]

    Raises
    ------
    ValueError
        If there is no such system.
    SizingError
        If the table has no such gauge.
    """
    table = GAUGES[System(system)]
    if gauge not in table:
        nearest = min(table, key=lambda known: abs(known - gauge))
        raise SizingError("gauge", float(gauge), "exactly", float(nearest))
    return table[gauge] * INCH


def gauge_meanings(gauge: int) -> Mapping[System, float]:
    """Return every thickness a gauge may stand for, by system. [m]"""
    return {system: gauge_thickness(system, gauge) for system in System}
