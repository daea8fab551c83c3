"""The keeper adds farms and people."""

from datetime import date

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from doors.book import start_book
from doors.models import Component, Door, Sizing, SizingRules
from doors.services import hang_door, resize_openings
from farm.models import Farm, Membership, Opening
from tests.factories import make_component, make_opening

pytestmark = pytest.mark.django_db


@pytest.fixture
def keeper() -> Client:
    client = Client()
    client.force_login(User.objects.create_superuser("keeper"))
    return client


def test_the_keeper_adds_a_farm_and_its_manager(keeper):
    person = User.objects.create_user("ada")
    form = {
        "name": "Two Lakes",
        "slug": "two-lakes",
        "units": "us",
        "time_zone": "America/New_York",
        "language": "en",
        "currency": "USD",
        "exposure": "C",
        "memberships-TOTAL_FORMS": "1",
        "memberships-INITIAL_FORMS": "0",
        "memberships-0-user": str(person.pk),
        "memberships-0-role": "manager",
    }

    keeper.post("/admin/farm/farm/add/", form)

    farm = Farm.objects.get(slug="two-lakes")
    assert [(member.user, member.role) for member in Membership.objects.of(farm)] == [(person, "manager")]


@pytest.mark.parametrize("path", ["/admin/", "/admin/farm/farm/", "/admin/farm/farm/add/", "/admin/auth/user/"])
def test_the_pages_open_for_the_keeper_only(keeper, path):
    crew = Client()
    crew.force_login(User.objects.create_user("bo"))

    assert keeper.get(path).status_code == 200
    assert crew.get(path).status_code == 302


@pytest.mark.parametrize(
    "page",
    ["farm/tunnel", "farm/endwall", "farm/opening", "doors/material", "doors/sizing", "doors/door", "doors/component",
     "doors/sizingrules"],
)  # fmt: skip
def test_the_keeper_looks_up_every_farms_rows_and_changes_none(keeper, page):
    counts = []
    for number in (1, 2):
        for _ in range(number):
            opening = make_opening()
            start_book(farm=opening.farm)
            SizingRules.objects.create(farm=opening.farm)
            resize_openings(farm=opening.farm)
            make_component(opening)
        with CaptureQueriesContext(connection) as queries:
            answer = keeper.get(f"/admin/{page}/")
        counts.append(len(queries))

    assert answer.status_code == 200
    assert counts[0] == counts[1]
    row = answer.context["cl"].result_list[0].pk
    assert keeper.get(f"/admin/{page}/{row}/change/").status_code == 200
    assert keeper.get(f"/admin/{page}/add/").status_code == 403
    assert keeper.post(f"/admin/{page}/{row}/change/", {}).status_code == 403
    assert keeper.post(f"/admin/{page}/{row}/delete/", {"post": "yes"}).status_code == 403


def test_a_farm_is_deleted_with_all_its_rows_and_no_other(keeper):
    openings = [make_opening(), make_opening()]
    for opening in openings:
        start_book(farm=opening.farm)
        resize_openings(farm=opening.farm)
        make_component(opening)
    hang_door(opening=openings[0], on=date(2024, 5, 1))

    keeper.post(f"/admin/farm/farm/{openings[0].farm_id}/delete/", {"post": "yes"})

    assert list(Farm.objects.all()) == [openings[1].farm]
    assert list(Opening.objects.all()) == [openings[1]]
    assert Component.objects.count() == Door.objects.count() == Sizing.objects.count() == 1
