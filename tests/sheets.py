"""What tests of the drawing pages share: a tunnel with a sized film door, and a page's plain text."""

from __future__ import annotations

import re

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from doors.models import Door
from doors.services import resize_openings
from farm.models import Farm, Opening, Tunnel
from tests.factories import feet, make_opening, make_tunnel, make_wall


def add_tunnel(farm: Farm, **values: object) -> Tunnel:
    """Add a tunnel on the plan with a 12 x 8 ft film door in its west wall, drive chosen, sized."""
    number = Tunnel.objects.count()
    place = {"east_mm": feet(0), "north_mm": feet(-60 * number)}
    tunnel = make_tunnel(farm, **{**place, **values})
    opening = make_opening(make_wall(tunnel), machine="cart", machine_width_mm=feet(4), machine_height_mm=feet(4))
    size(opening, drive_side="right")
    return tunnel


def size(opening: Opening, **design: object) -> Door:
    """Size an opening with a design and return its door."""
    resize_openings(farm=opening.farm, opening_ids=[opening.pk])
    Door.objects.filter(opening=opening).update(**design)
    resize_openings(farm=opening.farm, opening_ids=[opening.pk])
    return Door.objects.select_related("sizing").get(opening=opening)


def the_opening(tunnel: Tunnel) -> Opening:
    return Opening.objects.get(end_wall__tunnel=tunnel)


def page(client: Client, name: str, *args: object) -> str:
    """Return a page's text, its runs of white space made one, its entities plain."""
    response = client.get(reverse(name, args=args))
    assert response.status_code == 200
    text = re.sub(r"<[^>]+>", " ", response.content.decode())
    return re.sub(r"\s+", " ", text).replace("&#x27;", "'").replace("&quot;", '"').replace("&amp;", "&")


def query_count(client: Client, url: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        assert client.get(url).status_code == 200
    return len(captured)
