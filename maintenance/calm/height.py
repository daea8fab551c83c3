"""The wind at the height of people, from one measured or forecast higher up."""

from __future__ import annotations

import math
from typing import Final

LOWEST: Final = 0.5  # m; nearer to the grass the profile does not hold


def wind_at_two_metres(wind: float, height: float) -> float:
    """Return the mean wind two metres above short grass.

    Parameters
    ----------
    wind : float
        Mean wind. [m/s]
    height : float
        The height above ground at which it blows so. [m]

    Returns
    -------
    float
        Mean wind at 2 m. [m/s]

    Raises
    ------
    ValueError
        If the wind is negative or not finite, or the height is below half a metre.

    Notes
    -----
    :math:`u_2 = u_z \\cdot 4.87 / \\ln(67.8 z - 5.42)`, a logarithmic profile over grass 0.12 m high. It says
    nothing of gusts, nor of the lee and the corners of structures, where the wind may be stronger.

    References
    ----------
    Allen et al., FAO Irrigation and Drainage Paper 56 (1998), Eq. 47.
    """
    if not (math.isfinite(wind) and wind >= 0):
        raise ValueError("wind must be finite and not negative")
    if not (math.isfinite(height) and height >= LOWEST):
        raise ValueError(f"height must be at least {LOWEST} m")
    return wind * 4.87 / math.log(67.8 * height - 5.42)
