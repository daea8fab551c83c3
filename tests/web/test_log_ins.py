"""Where somebody is logged in, and how that ends."""

from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from farm.models import LoginSession
from farm.sessions import device, public_key

pytestmark = pytest.mark.django_db
PHONE = "Mozilla/5.0 (Linux; Android 14) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/141.0.0.0 Mobile Safari/537.36"
DESK = "Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0"
WORD = "kite over the ridge"


def enter(name: str, agent: str) -> Client:
    client = Client(headers={"user-agent": agent})
    assert client.post(reverse("login"), {"username": name, "password": WORD}).status_code == 302
    return client


@pytest.fixture
def people():
    return [User.objects.create_user(name, password=WORD) for name in ("ada", "bo")]


def is_in(client: Client) -> bool:
    return client.get(reverse("log-ins")).status_code == 200


def test_each_log_in_is_listed_with_what_it_is_on_and_since_when(people):
    desk, _phone, _other = enter("ada", DESK), enter("ada", PHONE), enter("bo", PHONE)

    text = desk.get(reverse("log-ins")).content.decode()

    assert text.count("<tr role=") == 1 + 2
    assert "Firefox, Linux" in text
    assert "Chrome, Android" in text
    assert text.count("You are here.") == 1
    assert f"{timezone.now():%Y-%m-%d}" in text


def test_a_log_in_is_ended_from_another_place(people):
    desk, phone, other = enter("ada", DESK), enter("ada", PHONE), enter("ada", PHONE)
    row = LoginSession.objects.get(session_key=phone.session.session_key)

    desk.post(reverse("log-ins"), {"end": public_key(row)})

    assert [is_in(one) for one in (desk, phone, other)] == [True, False, True]


def test_all_others_are_ended_at_once_and_nobody_elses(people):
    desk, phone, theirs = enter("ada", DESK), enter("ada", PHONE), enter("bo", DESK)

    desk.post(reverse("log-ins"), {"end": "others"})

    assert [is_in(one) for one in (desk, phone, theirs)] == [True, False, True]


def test_nobody_ends_another_persons_log_in(people):
    mine, theirs = enter("ada", DESK), enter("bo", DESK)
    row = LoginSession.objects.get(session_key=theirs.session.session_key)

    answer = mine.post(reverse("log-ins"), {"end": public_key(row)}, follow=True)

    assert "That log-in had ended already." in answer.content.decode()
    assert is_in(theirs)


def test_the_page_holds_no_key_that_would_let_its_reader_in(people):
    desk, phone = enter("ada", DESK), enter("ada", PHONE)
    text = desk.get(reverse("log-ins")).content.decode()

    assert phone.session.session_key not in text
    assert desk.session.session_key not in text


def test_a_visit_is_noted_once_an_hour(people):
    desk = enter("ada", DESK)
    key = desk.session.session_key
    before = LoginSession.objects.get(session_key=key).seen_at
    is_in(desk)
    assert LoginSession.objects.get(session_key=key).seen_at == before

    session = desk.session
    session["seen_at"] = (before - timedelta(hours=2)).isoformat()
    session.save()
    is_in(desk)

    assert LoginSession.objects.get(session_key=key).seen_at >= before


def test_a_person_who_goes_takes_the_log_ins_along(people):
    desk = enter("ada", DESK)
    people[0].delete()

    assert not is_in(desk)
    assert not LoginSession.objects.filter(user_id=people[0].pk).exists()


@pytest.mark.parametrize(
    ("agent", "said"), [(PHONE, "Chrome, Android"), (DESK, "Firefox, Linux"), ("", ""), ("curl/8", "")]
)
def test_a_browser_is_told_by_its_own_words(agent, said):
    assert device(agent) == said
