"""Labels: made, printed, replaced; and where a phone goes that reads one."""

import re
from datetime import date

import pytest
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from farm.crew import keys
from farm.models import Opening
from farm.qr import square_of
from maintenance.labels.labelling import make_missing, replace
from maintenance.models import Label
from tests.factories import make_farm, make_member, make_opening, make_tunnel, make_wall
from tests.squares import painted

pytestmark = pytest.mark.django_db


@pytest.fixture
def hill():
    farm = make_farm(name="Hill Farm", slug="hill")
    make_opening(make_wall(make_tunnel(farm, code="T01", name="North field")), code="T01-W")
    make_tunnel(farm, code="T02")
    make_missing(farm=farm, now=timezone.now())
    return farm


@pytest.fixture
def manager(hill):
    client = Client()
    client.force_login(make_member(hill).user)
    return client


@pytest.fixture
def door(hill):
    return Label.objects.get(farm=hill, opening__code="T01-W")


def scan(client, token):
    return client.get(reverse("label", args=[token]))


def text_of(answer):
    """Return a page without its tokens against forged requests, which differ each time."""
    return re.sub(r'(csrfmiddlewaretoken" value=|x-csrftoken": )"[^"]*"', "", answer.content.decode())


def member_of(farm, role="crew"):
    client = Client()
    client.force_login(make_member(farm, role).user)
    return client


# --- a phone reads one -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["viewer", "crew", "manager"])
def test_a_member_goes_straight_to_the_door(hill, door, role):
    answer = scan(member_of(hill, role), door.token)

    assert (answer.status_code, answer.url) == (302, f"{reverse('field', args=['hill'])}#door/{door.opening_id}")
    assert "no-store" in answer["Cache-Control"]


def test_a_tunnels_label_and_its_walls_lead_to_the_tunnel(hill):
    client = member_of(hill)
    labels = Label.objects.filter(farm=hill, opening=None).select_related("end_wall")

    for label in labels:
        tunnel = label.tunnel_id or label.end_wall.tunnel_id
        assert scan(client, label.token).url == f"{reverse('field', args=['hill'])}#tunnel/{tunnel}"
    assert len(labels) == 6


def test_a_token_may_be_typed_in_small_letters(hill, door):
    assert scan(member_of(hill), door.token.lower()).status_code == 302


def test_a_stranger_comes_in_first_and_then_stands_at_the_door(hill, door, settings):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    cache.clear()
    _person, code = keys.make_person(
        farm=hill, name="Teo", short_name="Teo", role="crew", language="", now=timezone.now()
    )
    phone = Client()

    asked = scan(phone, door.token)
    page = phone.get(asked.url).content.decode()
    wanted = re.search(r'name="next" value="([^"]+)"', page)[1]
    came = phone.post(asked.url.partition("?")[0], {"short_name": "teo", "code": code, "next": wanted})

    assert asked.url == f"{reverse('crew-enter', args=['hill'])}?next=%2Fq%2F{door.token}%2F"
    assert phone.get(came.url).url.endswith(f"#door/{door.opening_id}")


def test_a_label_that_was_replaced_says_so_to_everybody(hill, door):
    replace(label=door, now=timezone.now())

    for client in (Client(), member_of(hill)):
        answer = scan(client, door.token)
        assert answer.status_code == 410
        assert "works no more" in answer.content.decode()


def test_a_door_out_of_use_says_so(hill, door):
    Opening.objects.update(retired_on=date(2026, 1, 1))

    assert scan(member_of(hill), door.token).status_code == 410


@pytest.mark.parametrize("token", ["3AC7XWYT", "x", "y" * 300, "%00", "☃"])
def test_an_unknown_label_says_so(hill, token):
    for client in (Client(), member_of(hill)):
        answer = scan(client, token)
        assert answer.status_code == 404
        assert "No such label" in answer.content.decode()


def test_another_farms_label_is_as_unknown_as_any(hill, door):
    """Also one that was replaced: nobody learns of another farm what its labels are."""
    elsewhere = member_of(make_farm(), "manager")
    known = scan(elsewhere, door.token)
    replace(label=door, now=timezone.now())

    assert known.status_code == scan(elsewhere, door.token).status_code == 404
    assert text_of(known).replace(door.token, "X") == text_of(scan(elsewhere, "3AC7XWYT")).replace("3AC7XWYT", "X")


@pytest.mark.parametrize("method", ["post", "put", "delete"])
def test_a_label_is_only_read(door, method):
    assert getattr(Client(), method)(reverse("label", args=[door.token])).status_code == 405


# --- the manager's pages -----------------------------------------------------------------------------------------


def test_missing_labels_are_made_in_one_go(manager, hill):
    opening = make_opening(make_wall(hill.tunnels.get(code="T02")))
    page = reverse("labels", args=["hill"])

    before = manager.get(page).content.decode()
    said = manager.post(page, follow=True).content.decode()

    assert "Make the one that is missing" in before
    assert "1 label is made." in said
    assert "Make the one that is missing" not in said
    assert Label.objects.get(opening=opening).token in said


def test_a_lost_label_is_replaced(manager, hill, door):
    page = reverse("label-replace", args=["hill", door.pk])

    first, second = (manager.post(page, follow=True).content.decode() for _time in range(2))

    new = Label.objects.get(opening=door.opening_id, revoked_at=None)
    assert new.token in first
    assert "was taken back before" in second
    assert Label.objects.filter(opening=door.opening_id).count() == 2


def sheets(client, query="", **more):
    return client.get(reverse("labels-print", args=["hill"]) + query, **more)


def test_each_label_shows_its_place_and_holds_its_own_address(manager, hill, door):
    """The drawing on the page is compared with the square of the address, module by module."""
    text = sheets(manager).content.decode()

    cards = re.findall(r'<li class="label">(.*?)</li>', text, re.DOTALL)
    card = next(card for card in cards if door.token in card)
    drawn = re.search(r'viewBox="0 0 (\d+) \d+".*class="qr-ink" d="([^"]+)"', card, re.DOTALL)
    wanted = square_of(f"http://testserver/q/{door.token}/")
    assert len(cards) == 7
    assert "T01-W" in card
    assert "North field" in card
    assert (painted(int(drawn[1]), drawn[2]) == painted(wanted.side, wanted.d)).all()


def test_one_tunnel_alone_is_printed(manager, hill):
    tunnel = hill.tunnels.get(code="T02")

    text = sheets(manager, f"?tunnel={tunnel.pk}&size=small").content.decode()

    assert len(re.findall('<li class="label">', text)) == 3
    assert 'class="label-sheet small"' in text


@pytest.mark.parametrize("query", ["?tunnel=0", "?tunnel=x", "?tunnel=99999999999999999999", "?tunnel=-1"])
def test_a_tunnel_that_is_none_prints_nothing(manager, hill, query):
    answer = sheets(manager, query)

    assert answer.status_code == 200
    assert "There is no label to print here." in answer.content.decode()


@pytest.mark.parametrize(
    ("host", "said", "unsaid"),
    [("localhost", "only this computer", "own network"), ("127.0.0.1:8000", "only this computer", "own network"),
     ("[::1]:8000", "only this computer", "own network"), ("192.168.1.20:8000", "own network", "only this"),
     ("10.0.0.4", "own network", "only this"), ("shed.local", "own network", "only this"),
     ("tunnels.example", "", "own network"), ("tunnels.example", "", "only this")],
)  # fmt: skip
def test_the_page_says_which_address_is_inside_and_who_can_open_it(manager, hill, settings, host, said, unsaid):
    settings.ALLOWED_HOSTS = ["*"]
    for page in ("labels-print", "labels", "crew"):
        text = manager.get(reverse(page, args=["hill"]), headers={"host": host}).content.decode()
        assert said in text
        assert unsaid not in text
        assert f"http://{host}" in text or page == "labels"


def test_the_address_that_was_set_goes_before_the_one_the_page_was_opened_at(manager, hill, settings):
    settings.KNOWS_PUBLIC_ADDRESS, settings.PUBLIC_ADDRESS = True, "https://tunnels.example"

    text = sheets(manager, headers={"host": "localhost"}).content.decode()

    assert "tunnels.example/q/" in text
    assert "only this computer" not in text


def test_both_lists_ask_the_same_for_one_tunnel_and_for_three(manager, hill):
    counts = []
    for page in ("labels", "labels-print"):
        manager.get(reverse(page, args=["hill"]))  # the first visit notes that somebody is here
    for _more in range(2):
        for page in ("labels", "labels-print"):
            with CaptureQueriesContext(connection) as asked:
                manager.get(reverse(page, args=["hill"]))
            counts.append(len(asked))
        for _tunnel in range(2):
            make_opening(make_wall(make_tunnel(hill)))
        make_missing(farm=hill, now=timezone.now())

    assert counts[:2] == counts[2:]
