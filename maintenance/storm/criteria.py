"""The products of a weather service by their wind criteria, so that the farm speaks the radio's words."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from maintenance.storm.quantity import KNOT, MPH, check_number, check_speed

SAME_SPEED: Final = 1e-9  # m/s; what floats take from a speed that just reaches its limit


class Reached(StrEnum):
    """What is said where no product is named."""

    NONE = "none"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Criterion:
    """One product, by mean wind or by gust, whichever comes first. [m/s]"""

    key: str
    mean: float
    gust: float

    def __post_init__(self) -> None:
        check_speed(f"{self.key}.mean", self.mean)
        check_speed(f"{self.key}.gust", self.gust)


# US National Weather Service, lowlands, weakest first. Offices vary, so these are a farm's to change.
# Wind advisory 31 or 46 mph (wmdt.com/2020/07/weather-tidbits-wind-alerts); high wind warning 40 or 58 mph (the same).
NWS: Final = (
    Criterion("wind_advisory", 31 * MPH, 46 * MPH),
    Criterion("high_wind_warning", 40 * MPH, 58 * MPH),
)


def reaches(speed: float, limit: float, *, step: float = 0.0) -> bool:
    """Return whether a speed rounded to a whole ``step`` may have come to a limit. [m/s]

    The 50 kn of a forecast in whole knots stand for up to 50.5 kn, so they reach a criterion of 58 mph, 50.4 kn.
    """
    return speed + step / 2 >= limit - SAME_SPEED


def product_of(
    mean: float | None, gust: float | None, criteria: tuple[Criterion, ...] = NWS, *, step: float = KNOT
) -> str:
    """Return the key of the strongest product whose criterion is reached.

    Parameters
    ----------
    mean, gust : float or None
        As forecast. [m/s]
    criteria : tuple of Criterion
        Weakest first.
    step : float, default a knot
        The source gives speeds as whole multiples of it; 0 for exact speeds. [m/s]

    Returns
    -------
    str
        A key of ``criteria``, ``none``, or ``unknown`` where neither speed is known.

    Notes
    -----
    How long a mean has to last, an hour in most offices, is not looked at: a spell of a forecast is as long.
    """
    check_number("step", step, least=0.0)
    if mean is None and gust is None:
        return Reached.UNKNOWN.value
    for one in reversed(criteria):
        pairs = ((mean, one.mean), (gust, one.gust))
        if any(speed is not None and reaches(speed, limit, step=step) for speed, limit in pairs):
            return one.key
    return Reached.NONE.value
