"""The keeper adds farms and people."""

import pytest
from django.contrib.auth.models import User
from django.test import Client

from farm.models import Farm, Membership

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
