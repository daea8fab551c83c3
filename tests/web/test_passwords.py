"""Passwords guessed and passwords forgotten."""

import re
from datetime import timedelta

import pytest
from axes.models import AccessAttempt
from django.contrib.auth.models import User
from django.core import mail
from django.core.cache import cache
from django.test import Client, override_settings
from django.urls import reverse

from farm import reset, tasks

pytestmark = pytest.mark.django_db
WORD = "kite over the ridge"


@pytest.fixture(autouse=True)
def _mail_server(settings):
    settings.CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "LOCATION": "passwords"}}
    cache.clear()
    settings.HAS_MAIL_SERVER = True
    settings.PUBLIC_ADDRESS = "https://tunnels.example"


@pytest.fixture
def ada():
    return User.objects.create_user("ada", email="ada@farm.example", password=WORD)


@pytest.fixture
def queued(monkeypatch):
    sent = []
    monkeypatch.setattr(reset.current_app, "send_task", lambda name, kwargs: sent.append((name, kwargs)))
    return sent


def try_password(name: str, word: str, **more) -> int:
    return Client().post(reverse("login"), {"username": name, "password": word}, **more).status_code


def test_eight_wrong_passwords_lock_a_name_for_a_quarter_of_an_hour(ada):
    said = {try_password("ada", "guess") for _ in range(7)}

    assert said == {200}
    assert try_password("ada", "guess") == 429
    assert try_password("ada", WORD) == 429

    AccessAttempt.objects.update(attempt_time=AccessAttempt.objects.get().attempt_time - timedelta(minutes=16))
    assert try_password("ada", WORD) == 302


def test_a_lock_keeps_nobody_else_out_and_nobody_in_another_place(ada):
    User.objects.create_user("bo", password=WORD)
    for _ in range(9):
        try_password("ada", "guess")

    assert try_password("bo", WORD) == 302
    assert try_password("ada", WORD, REMOTE_ADDR="192.0.2.7") == 302


def test_a_name_that_nobody_has_is_locked_alike(ada):
    assert [try_password("ada", "guess") for _ in range(9)] == [try_password("nobody", "guess") for _ in range(9)]


def test_a_right_password_starts_the_count_anew(ada):
    for _ in range(3):
        for _ in range(5):
            try_password("ada", "guess")
        assert try_password("ada", WORD) == 302


def test_the_page_of_a_lock_says_how_long_and_what_helps(client, ada):
    for _ in range(8):
        answer = client.post(reverse("login"), {"username": "ada", "password": "guess"})

    text = answer.content.decode()
    assert "Try again in 15 minutes." in text
    assert reverse("password-forgotten") in text


def ask(email: str, **more):
    return Client().post(reverse("password-forgotten"), {"email": email}, **more)


def letter() -> str:
    (message,) = mail.outbox
    assert message.to == ["ada@farm.example"]
    return message.body


def test_the_answer_is_the_same_whether_anybody_has_the_address(ada, queued):
    pages = [re.sub(r"csrf[^>]*", "", ask(email).content.decode()) for email in ("ada@farm.example", "x@farm.example")]

    assert pages[0] == pages[1]
    assert "If somebody here has this address, a link is on its way." in pages[0]
    assert [kwargs["email"] for _name, kwargs in queued] == ["ada@farm.example", "x@farm.example"]
    assert {name for name, _kwargs in queued} == {"farm.tasks.send_new_password"}
    assert tasks.send_new_password.name == "farm.tasks.send_new_password"


def test_the_link_sets_a_password_once_and_names_our_own_address(ada):
    tasks.send_new_password(email="ADA@farm.example")
    (link,) = re.findall(r"https://tunnels\.example(/\S+)", letter())

    client = Client()
    form = client.get(link, follow=True)
    client.post(
        form.request["PATH_INFO"], {"new_password1": "a longer ridge line", "new_password2": "a longer ridge line"}
    )

    assert client.session["_auth_user_id"] == str(ada.pk)
    assert try_password("ada", "a longer ridge line") == 302
    assert "This link has been used" in Client().get(link, follow=True).content.decode()


def test_no_letter_goes_to_an_address_that_nobody_has_or_to_a_crew_without_password(ada):
    User.objects.create_user("cy", email="cy@farm.example")

    tasks.send_new_password(email="x@farm.example")
    tasks.send_new_password(email="cy@farm.example")

    assert mail.outbox == []


def test_one_place_may_ask_ten_times_an_hour(ada, queued):
    for _ in range(12):
        assert ask("ada@farm.example").status_code == 200

    assert len(queued) == 10


@pytest.mark.parametrize("email", ["", "no address", "a@b\r\nBcc: c@d", "x" * 400 + "@farm.example"])
def test_what_is_no_address_is_said_and_nothing_goes(queued, email):
    assert 'class="errors"' in ask(email).content.decode()
    assert queued == []


def test_without_a_mail_server_the_page_says_who_can_help(client, queued):
    with override_settings(HAS_MAIL_SERVER=False):
        text = client.get(reverse("password-forgotten")).content.decode()

    assert "no mail server" in text
    assert "<form" not in text
