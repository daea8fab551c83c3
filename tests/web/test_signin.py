"""Coming in: the one-time link, the password, and where a person lands."""

from datetime import datetime, timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from farm.models import Farm, Membership
from farm.signin import first_person, one_time_path

pytestmark = pytest.mark.django_db


@pytest.fixture
def farm() -> Farm:
    return Farm.objects.create(name="Two Lakes", slug="two-lakes")


@pytest.fixture
def manager(farm: Farm) -> User:
    person = User.objects.create_user("ada", last_login=timezone.now() - timedelta(days=1))
    Membership.objects.create(farm=farm, user=person, role=Membership.Role.MANAGER)
    return person


@pytest.mark.parametrize(("page", "labels"), [("login", ["Username", "Password"]), ("password", ["New password"])])
def test_labels_stand_without_a_colon(client, manager, page, labels):
    client.force_login(manager)

    text = client.get(reverse(page)).content.decode()

    for label in labels:
        assert f">{label}</label>" in text


def test_opening_the_link_shows_a_button_and_lets_nobody_in(client, manager):
    answer = client.get(one_time_path(manager))

    assert answer.status_code == 200
    assert b'<form method="post"' in answer.content
    assert "no-store" in answer["Cache-Control"]
    assert "_auth_user_id" not in client.session


def test_the_button_lets_the_person_in_and_leads_to_the_farm(client, manager, farm):
    answer = client.post(one_time_path(manager))

    assert client.session["_auth_user_id"] == str(manager.pk)
    assert answer.status_code == 302
    assert client.get(answer.url).url == farm.get_absolute_url()


def test_a_used_link_is_dead(client, manager):
    link = one_time_path(manager)
    client.post(link)

    answers = [Client().get(link), Client().post(link)]

    assert [answer.status_code for answer in answers] == [410, 410]


def test_an_old_link_is_dead(client, manager, settings):
    link = one_time_path(manager)
    settings.PASSWORD_RESET_TIMEOUT = -1

    assert client.post(link).status_code == 410
    assert "_auth_user_id" not in client.session


@pytest.mark.parametrize("change", [{"is_active": False}, {"password": "!other"}, {"email": "ada@farm.example"}])
def test_a_link_dies_when_its_person_changes(client, manager, change):
    link = one_time_path(manager)
    User.objects.filter(pk=manager.pk).update(**change)

    assert client.post(link).status_code == 410


@pytest.mark.parametrize("uid", ["MQ", "!!!", "OTk5OTk5", "AAAA", "LTE"])
def test_a_made_up_link_is_dead(client, uid):
    assert client.post(reverse("enter", args=[uid, "abc-def"])).status_code == 410


def test_a_link_of_one_person_does_not_fit_another(client, manager):
    other = User.objects.create_user("bo")
    token = one_time_path(manager).rstrip("/").rpartition("/")[2]
    uid = one_time_path(other).split("/")[2]

    assert client.post(reverse("enter", args=[uid, token])).status_code == 410


def test_the_button_needs_its_pages_token(manager):
    strict = Client(enforce_csrf_checks=True)

    assert strict.post(one_time_path(manager)).status_code == 403


def test_the_first_person_is_the_first_farms_manager(manager, farm):
    later = Farm.objects.create(name="Later", slug="later")
    for role, where in ((Membership.Role.CREW, farm), (Membership.Role.MANAGER, later)):
        person = User.objects.create_user(f"{role}")
        Membership.objects.create(farm=where, user=person, role=role)

    assert first_person() == manager


def test_a_manager_who_may_not_log_in_is_passed_over(manager):
    User.objects.filter(pk=manager.pk).update(is_active=False)

    assert first_person() != manager


def test_without_a_farm_there_is_one_keeper():
    keeper = first_person()

    assert keeper.is_superuser
    assert not keeper.has_usable_password()
    assert first_person() == keeper


def test_a_name_that_is_taken_is_not_given_to_the_keeper():
    User.objects.create_user("keeper")

    assert first_person().username == "keeper2"


def test_a_person_without_a_password_sets_one_and_stays_in(client, manager):
    client.force_login(manager)
    words = "seven green tunnels"

    answer = client.post(reverse("password"), {"new_password1": words, "new_password2": words})

    assert answer.url == reverse("home")
    assert client.get(reverse("password")).status_code == 200
    manager.refresh_from_db()
    assert manager.check_password(words)


def test_a_person_with_a_password_must_know_it(client, manager):
    manager.set_password("seven green tunnels")
    manager.save()
    client.force_login(manager)
    new = {"new_password1": "eight green tunnels", "new_password2": "eight green tunnels"}

    wrong = client.post(reverse("password"), {"old_password": "no", **new})
    right = client.post(reverse("password"), {"old_password": "seven green tunnels", **new})

    assert (wrong.status_code, right.status_code) == (200, 302)
    manager.refresh_from_db()
    assert manager.check_password("eight green tunnels")


def test_a_weak_password_is_refused_with_a_reason(client, manager):
    client.force_login(manager)

    answer = client.post(reverse("password"), {"new_password1": "12345", "new_password2": "12345"})

    assert answer.status_code == 200
    assert "too short" in answer.content.decode()


def test_logging_in_and_out_with_a_password(client, manager):
    manager.set_password("seven green tunnels")
    manager.save()

    client.post(reverse("login"), {"username": "ada", "password": "seven green tunnels"})
    inside = "_auth_user_id" in client.session
    client.post(reverse("logout"))

    assert inside
    assert "_auth_user_id" not in client.session


def test_a_person_without_a_farm_is_told_so(client):
    client.force_login(User.objects.create_user("bo"))

    answer = client.get("/")

    assert answer.status_code == 200
    assert "not a member of a farm" in answer.content.decode()


def test_a_stranger_is_sent_to_the_log_in_page(client):
    assert client.get("/").url == "/login/?next=/"


def test_a_strangers_fragment_moves_the_whole_page(client):
    headers = {"HX-Request": "true", "HX-Current-URL": "http://testserver/password/"}

    answer = client.get("/", headers=headers)

    assert answer.status_code == 200
    assert answer["HX-Redirect"] == "/login/?next=/password/"


def test_a_stale_token_reloads_the_page(manager):
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(manager)

    fragment = strict.post(reverse("password"), headers={"HX-Request": "true"})
    page = strict.post(reverse("password"))

    assert (fragment.status_code, fragment["HX-Refresh"]) == (200, "true")
    assert page.status_code == 403


def test_whom_to_tell_of_a_weakness_is_said_as_rfc_9116_has_it(client, settings):
    """RFC 9116, sections 2.5.3 and 2.5.5: Contact and one Expires are required, less than a year ahead."""
    settings.PUSH_CONTACT = "mailto:keeper@tunnels.example"

    answer = client.get("/.well-known/security.txt")
    fields = dict(line.split(": ", 1) for line in answer.content.decode().splitlines())

    assert answer["Content-Type"] == "text/plain; charset=utf-8"
    assert fields["Contact"] == "mailto:keeper@tunnels.example"
    assert timedelta(days=30) < datetime.fromisoformat(fields["Expires"]) - timezone.now() < timedelta(days=365)


def test_nobody_is_named_where_the_operator_named_nobody(client, settings):
    settings.PUSH_CONTACT = ""

    assert client.get("/.well-known/security.txt").status_code == 404
