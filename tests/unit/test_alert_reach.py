"""Whether an official warning is for a place, by the outlines of CAP 1.2."""

from __future__ import annotations

from typing import Any

import pytest

from maintenance.weather import Alert, Area, reaches
from maintenance.weather.reach import distance

SQUARE = ((41.0, -97.0), (41.0, -96.0), (42.0, -96.0), (42.0, -97.0), (41.0, -97.0))
NOTCHED = ((0.0, 0.0), (0.0, 4.0), (4.0, 4.0), (2.0, 2.0), (4.0, 0.0), (0.0, 0.0))  # a bite out of its north side
DATE_LINE = ((-1.0, 179.0), (-1.0, -179.0), (1.0, -179.0), (1.0, 179.0), (-1.0, 179.0))


def alert(*areas: Area) -> Alert:
    graded: dict[str, Any] = {"severity": "Severe", "certainty": "Likely", "urgency": "Expected"}
    times: dict[str, Any] = dict.fromkeys(("sent", "onset", "ends", "expires"))
    return Alert(id="one", event="High wind", status="Actual", message_type="Alert", areas=areas, **graded, **times)


def outlined(*outlines: tuple[tuple[float, float], ...]) -> Alert:
    return alert(Area("somewhere", polygons=outlines))


@pytest.mark.parametrize(
    ("outline", "place", "expected"),
    [
        (SQUARE, (41.5, -96.5), True),
        (SQUARE, (40.9, -96.5), False),
        (SQUARE, (41.5, -95.9), False),
        (SQUARE, (41.5, -97.1), False),
        (SQUARE, (41.0, -96.5), True),  # on the line
        (SQUARE, (42.0, -97.0), True),  # at a corner
        (SQUARE, (42.0, -95.0), False),  # in line with an edge, past its end
        (SQUARE[::-1], (41.5, -96.5), True),
        (NOTCHED, (3.0, 2.0), False),
        (NOTCHED, (3.0, 0.5), True),
        (NOTCHED, (2.0, 2.0), True),
        (DATE_LINE, (0.0, 180.0), True),
        (DATE_LINE, (0.0, -179.5), True),
        (DATE_LINE, (0.0, 0.0), False),
    ],
)
def test_an_outline_holds_a_place_or_not(outline, place, expected):
    assert reaches(outlined(outline), place) is expected


def test_a_degree_of_latitude_is_sixty_nautical_miles():
    # The nautical mile is 1852 m exactly (BIPM, SI Brochure, 8th edition, Table 8), at first a minute of latitude;
    # on the ellipsoid that minute is from 1843 m to 1862 m.
    assert distance((41.0, -96.0), (42.0, -96.0)) == pytest.approx(60 * 1852, rel=0.005)


@pytest.mark.parametrize(("radius", "expected"), [(112_000.0, True), (110_000.0, False)])
def test_a_circle_reaches_as_far_as_its_radius(radius, expected):
    circle = Area("round", circles=(((41.0, -96.0), radius),))

    assert reaches(alert(circle), (42.0, -96.0)) is expected


def test_one_of_several_areas_is_enough():
    elsewhere = Area("elsewhere", polygons=(NOTCHED,))
    here = Area("here", polygons=(SQUARE,))

    assert reaches(alert(elsewhere, here), (41.5, -96.5)) is True
    assert reaches(alert(elsewhere), (41.5, -96.5)) is False


@pytest.mark.parametrize(
    "areas",
    [(), (Area("a county", ugc=("QZZ015",)),), (Area("elsewhere", polygons=(NOTCHED,)), Area("a county"))],
    ids=["no area", "codes alone", "outlines in part"],
)
def test_without_outlines_nobody_can_tell(areas):
    assert reaches(alert(*areas), (41.5, -96.5)) is None


def test_of_a_farm_without_a_place_nobody_can_tell():
    assert reaches(outlined(SQUARE), None) is None
