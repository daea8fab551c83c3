"""A farm's pages run by the farm's own clock, and leave the next farm's request to its own."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from doors.book import start_book
from doors.models import Sizing
from farm.models import Farm
from tests.factories import make_farm, make_member, make_opening
from tests.sheets import add_tunnel, page, size, the_opening

pytestmark = pytest.mark.django_db

# Half past three in the morning in UTC: the evening before in New York (UTC-4), half past five in Madrid (UTC+2).
MADE_AT = datetime(2024, 7, 1, 3, 30, tzinfo=UTC)


def sheet_of(client: Client, zone: str) -> str:
    """Return the text of a sheet of two revisions, both made at MADE_AT, on a farm in a zone."""
    farm = make_farm(time_zone=zone)
    start_book(farm=farm)
    opening = the_opening(add_tunnel(farm))
    size(opening, drive_side="left")
    Sizing.objects.filter(opening=opening).update(made_at=MADE_AT)
    client.force_login(make_member(farm).user)
    return page(client, "opening", farm.slug, opening.pk)


def test_two_farms_read_the_same_moment_by_their_own_clocks(client: Client) -> None:
    eastern, spanish, eastern_again = (
        sheet_of(client, zone) for zone in ("America/New_York", "Europe/Madrid", "America/New_York")
    )

    for text in (eastern, eastern_again):
        assert "Revision 1 , 2024-06-30 23:30" in text
        assert "Date 2024-06-30" in text
    assert "Revision 1 , 2024-07-01 05:30" in spanish
    assert "Date 2024-07-01" in spanish


@pytest.mark.parametrize("is_there", [True, False])
def test_the_clock_is_put_back_after_a_page_and_after_one_that_fails(client: Client, is_there: bool) -> None:
    farm = make_farm(time_zone="Pacific/Auckland")
    opening = make_opening(add_tunnel(farm).end_walls.get(end="A"))
    client.force_login(make_member(farm).user)

    answer = client.get(reverse("opening", args=[farm.slug, opening.pk if is_there else 0]))

    assert answer.status_code == (200 if is_there else 404)
    assert timezone.get_current_timezone_name() == "UTC"


@pytest.mark.parametrize("name", ["Mars/Base", "America", "../etc", ""])
def test_a_zone_nobody_knows_is_utc(client: Client, name: str) -> None:
    farm = make_farm(time_zone=name)
    client.force_login(make_member(farm).user)

    assert Farm.objects.get(pk=farm.pk).zone.key == "UTC"
    assert client.get(reverse("plan", args=[farm.slug])).status_code == 200
