"""How a panel of film under wind hands its load to the edges that hold it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from doors.mechanics.membrane import arc
from doors.sizing.quantity import Floats


@dataclass(frozen=True, slots=True)
class Panel:
    """What a panel under a pressure of 1 Pa does to its edges; every field has the inputs' shape.

    On each metre of the upper and of the lower edge it leans with ``edge`` and pulls along the wall with ``along``;
    on each metre of the sides with ``side`` and ``across``, both 0 where the sides are loose.
    """

    down: Floats  # -, share carried up and down
    edge: Floats  # m: N/m per Pa, through the wall
    along: Floats  # m, in the wall's plane
    side: Floats  # m, through the wall
    across: Floats  # m, in the wall's plane
    tension: Floats  # m, the greatest anywhere
    pull: Floats  # m, at the upper and lower edge, both parts together


def panel(strip: Floats, width: Floats, belly: Floats, *, sides_held: bool) -> Panel:
    r"""Return what a panel does to its edges.

    Parameters
    ----------
    strip, width : ndarray, shape (...)
        Height and width of the panel. [m]
    belly : ndarray
        Depth of its belly over its height, or over the shorter of both where the sides are held. [-]
    sides_held : bool
        Whether spring wire holds its sides.

    Returns
    -------
    Panel
        Per pascal. [m]

    Notes
    -----
    Each strip of film is an arc of radius :math:`R = (L^2/4+s^2)/2s` with tension :math:`R` per pascal. At its
    edge it leans with :math:`R \sin\theta = L/2` and pulls with :math:`R \cos\theta = R - s`. Strips that cross have
    one belly at the middle: the strain of each goes with :math:`(s/L)^2` and its share with pull over span squared,
    so the shares stand as :math:`L^{-4}` (Grashof and Rankine, as for slabs; a planning rule).
    """
    if not sides_held:
        alone = arc(strip, belly * strip).radius
        none = np.zeros_like(alone)
        return Panel(none + 1, strip / 2 + none, alone - belly * strip, none, none, alone, alone)
    sag = belly * np.minimum(strip, width)
    down = np.asarray(width**4 / (width**4 + strip**4))
    upright, level = down * arc(strip, sag).radius, (1 - down) * arc(width, sag).radius
    return Panel(
        down=down,
        edge=np.asarray(down * strip / 2),
        along=np.asarray(upright - down * sag),
        side=np.asarray((1 - down) * width / 2),
        across=np.asarray(level - (1 - down) * sag),
        tension=np.maximum(upright, level),
        pull=np.asarray(upright),
    )
