"""Tables of wind from standards and reports, a source beside each.

`from memory` marks a value not seen in print this time; `transcribed` one read in public code that cites the table.
"""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple

from doors.sizing.quantity import FOOT

SQUARE_FOOT = FOOT**2  # m², exact

VELOCITY_CONSTANT = 0.613  # kg/m³, ASCE 7-16 Eq. (26.10-1.si): half the density of standard air, as printed
REFERENCE_HEIGHT = 10.0  # m, ASCE 7-16 26.2: a basic wind speed is a 3 s gust at 10 m in exposure C
FASTEST_GUST = 150.0  # m/s, no source; above any gust on record but a tornado's: such a number is a wrong unit
HIGHEST_LAND, LOWEST_LAND = 9000.0, -500.0  # m; no farm lies outside them


class Edition(StrEnum):
    """Editions of ASCE 7 with constants of their own."""

    ASCE_7_16 = "7-16"
    ASCE_7_22 = "7-22"


class Exposure(StrEnum):
    """Ground upwind of a site: B wooded or built up, C open country, D flat beside water."""

    B = "B"
    C = "C"
    D = "D"


class PowerLaw(NamedTuple):
    """Profile of the velocity pressure by exposure B, C, D."""

    factor: float
    exponent: tuple[float, float, float]
    gradient_height: tuple[float, float, float]  # m


# ASCE 7-16 Table 26.11-1 and 7-22 Table 26.11-1, transcribed; the factors from Table 26.10-1, note 1
POWER_LAWS = {
    Edition.ASCE_7_16: PowerLaw(2.01, (7.0, 9.5, 11.5), (1200 * FOOT, 900 * FOOT, 700 * FOOT)),
    Edition.ASCE_7_22: PowerLaw(2.41, (7.5, 9.8, 11.5), (3280 * FOOT, 2460 * FOOT, 1935 * FOOT)),
}
LOWEST_HEIGHT = 15 * FOOT  # m, ASCE 7-16 Table 26.10-1: the profile is flat below 15 ft
LOWEST_CLADDING_HEIGHT = (30 * FOOT, 15 * FOOT, 15 * FOOT)  # m, the same with exposure B at 30 ft, transcribed
HIGHEST_ROOF = 60 * FOOT  # m, ASCE 7-16 30.3: wall coefficients of Fig. 30.3-1 are for roofs up to 60 ft
ELEVATION_DECAY = 0.000119  # 1/m, ASCE 7-16 Table 26.9-1, note 2
DIRECTIONALITY = 0.85  # -, ASCE 7-16 Table 26.6-1, buildings, cladding


class WallZone(NamedTuple):
    """External coefficients of a wall at the smallest and the largest area the figure tells apart."""

    inward: tuple[float, float]
    outward: tuple[float, float]


# ASCE 7-16 Fig. 30.3-1, (GCp) of walls with h up to 60 ft; end points transcribed, straight over the area's logarithm
WALL_AREAS = (10 * SQUARE_FOOT, 500 * SQUARE_FOOT)  # m²
WALL_ZONES = {
    4: WallZone((1.0, 0.7), (-1.1, -0.8)),
    5: WallZone((1.0, 0.7), (-1.4, -0.8)),
}
LOW_SLOPE_FACTOR = 0.9  # -, ASCE 7-16 Fig. 30.3-1, note 5: roofs of up to 10 degrees
# ASCE 7-16 Fig. 30.3-1, notation a, as read in ASCE 7-02 at Brockenbrough, Structural Steel Designer's Handbook, 4.18
ZONE_5_OF_WIDTH, ZONE_5_OF_HEIGHT, ZONE_5_LEAST_OF_WIDTH, ZONE_5_LEAST = 0.1, 0.4, 0.04, 3 * FOOT
# ASCE 7-16 Fig. 27.3-1, Cp of side walls and of the leeward wall of the shortest house; from memory
SIDE_WALL, LEEWARD_WALL = 0.7, 0.5


class Enclosure(StrEnum):
    """How open a house is while the wind blows, ASCE 7-16 26.12."""

    ENCLOSED = "enclosed"
    PARTLY_ENCLOSED = "partially enclosed"
    PARTLY_OPEN = "partially open"
    OPEN = "open"


# ASCE 7-16 Table 26.13-1, (GCpi), taken with both signs; transcribed
INTERNAL = {
    Enclosure.ENCLOSED: 0.18,
    Enclosure.PARTLY_ENCLOSED: 0.55,
    Enclosure.PARTLY_OPEN: 0.18,
    Enclosure.OPEN: 0.0,
}
# ASCE 7-16 26.2, definitions of partially enclosed and open buildings, quoted at engineeringexpress.com/wiki
DOMINANT_RATIO, DOMINANT_AREA, DOMINANT_SHARE, OTHER_SHARE = 1.10, 4 * SQUARE_FOOT, 0.01, 0.20
OPEN_SHARE = 0.80


class Terrain(StrEnum):
    """Terrain categories of EN 1991-1-4."""

    SEA = "0"
    FLAT = "I"
    COUNTRY = "II"
    SUBURB = "III"
    CITY = "IV"


class Roughness(NamedTuple):
    """Roughness length and the height below which the profile is flat. [m]"""

    length: float
    lowest: float


# EN 1991-1-4:2005 Table 4.1, transcribed
ROUGHNESS = {
    Terrain.SEA: Roughness(0.003, 1.0),
    Terrain.FLAT: Roughness(0.01, 1.0),
    Terrain.COUNTRY: Roughness(0.05, 2.0),
    Terrain.SUBURB: Roughness(0.3, 5.0),
    Terrain.CITY: Roughness(1.0, 10.0),
}
AIR_DENSITY = 1.25  # kg/m³, EN 1991-1-4:2005 4.5(1) note 2, recommended
PROFILE_TOP = 200.0  # m, EN 1991-1-4:2005 4.3.2(1): the profile ends there
TERRAIN_SCALE, TERRAIN_POWER = 0.19, 0.07  # -, EN 1991-1-4:2005 Eq. (4.5)
PEAK_FACTOR = 7.0  # -, EN 1991-1-4:2005 Eq. (4.8): twice the peak factor of 3.5

WALL_RATIOS = (0.25, 1.0, 5.0)  # -, EN 1991-1-4:2005 Table 7.1, columns h/d
# EN 1991-1-4:2005 Table 7.1, zone: (cpe,1 at each h/d, cpe,10 at each h/d); from memory, agrees with a transcription
WALL_COEFFICIENTS = {
    "A": ((-1.4, -1.4, -1.4), (-1.2, -1.2, -1.2)),
    "B": ((-1.1, -1.1, -1.1), (-0.8, -0.8, -0.8)),
    "C": ((-0.5, -0.5, -0.5), (-0.5, -0.5, -0.5)),
    "D": ((1.0, 1.0, 1.0), (0.7, 0.8, 0.8)),
    "E": ((-0.3, -0.5, -0.7), (-0.3, -0.5, -0.7)),
}


class Surroundings(StrEnum):
    """Where the mean wind was taken; in land is roughly open country."""

    AT_SEA = "at sea"
    OFF_SEA = "off sea"
    OFF_LAND = "off land"
    IN_LAND = "in land"


# WMO/TD-No. 1555 (2010) Table 1.1, (mean over, gust of) [s]: at sea, off sea, off land, in land; transcribed
WMO_GUST_FACTORS = {
    (3600, 3): (1.30, 1.45, 1.60, 1.75),
    (3600, 60): (1.11, 1.17, 1.22, 1.28),
    (3600, 120): (1.07, 1.11, 1.15, 1.19),
    (3600, 180): (1.06, 1.09, 1.12, 1.15),
    (3600, 600): (1.03, 1.05, 1.06, 1.08),
    (600, 3): (1.23, 1.38, 1.52, 1.66),
    (600, 60): (1.05, 1.11, 1.16, 1.21),
    (600, 120): (1.02, 1.05, 1.09, 1.12),
    (600, 180): (1.00, 1.03, 1.06, 1.09),
    (180, 3): (1.17, 1.31, 1.44, 1.58),
    (180, 60): (1.00, 1.05, 1.10, 1.15),
    (180, 120): (1.00, 1.00, 1.04, 1.07),
    (120, 3): (1.15, 1.28, 1.42, 1.55),
    (120, 60): (1.00, 1.03, 1.08, 1.13),
    (60, 3): (1.11, 1.23, 1.36, 1.49),
}


class Curve(StrEnum):
    """Curves of the greatest short mean in an hour: Durst for gales, Krayer and Marshall for hurricanes."""

    DURST = "Durst"
    KRAYER_MARSHALL = "Krayer-Marshall"


# Seconds: ratio to the hourly mean, open country. Durst 1960 as in ASCE 7 Fig. C26.5-1, 1 s and 3 s at
# eng-tips.com/threads/78530, 45 s at seaintarchive.org 1998b/00679; the rest, and Krayer and Marshall 1992,
# read from scientimate 2.0
AVERAGING = {
    Curve.DURST: {1: 1.57, 3: 1.53, 10: 1.43, 30: 1.32, 45: 1.28, 60: 1.25, 120: 1.18, 600: 1.06, 3600: 1.0},
    Curve.KRAYER_MARSHALL: {1: 1.73, 3: 1.66, 10: 1.55, 30: 1.41, 60: 1.31, 120: 1.22, 600: 1.08, 3600: 1.0},
}

# WMO Beaufort scale, least mean speed of forces 1 to 12 [m/s], delta-s.org/weer/beaufort.html
BEAUFORT = (0.3, 1.6, 3.4, 5.5, 8.0, 10.8, 13.9, 17.2, 20.8, 24.5, 28.5, 32.7)
