"""The crew's way in: a short name and a code, a printed square, and phones that stay signed in."""

import hashlib
import re
from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.core import serializers
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from farm.crew import keys, phones
from farm.models import CrewKey, Farm, KnownPhone, LoginSession, Membership
from farm.sessions import public_key
from tests.factories import make_farm, make_member
from tests.hashing import PATH, CountingHasher

pytestmark = pytest.mark.django_db
WRONG = "The name or the code is not right."
LOCKED = "There were too many wrong codes."


@pytest.fixture(autouse=True)
def _real_counters(settings):
    settings.CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "LOCATION": "crew"}}
    settings.PASSWORD_HASHERS = [PATH]
    cache.clear()


@pytest.fixture
def hill() -> Farm:
    return make_farm(name="Hill Farm", slug="hill")


@pytest.fixture
def manager(hill) -> Client:
    client = Client()
    client.force_login(make_member(hill).user)
    return client


def make_person(
    farm: Farm, short_name: str = "Marisol", role: str = "crew", language: str = ""
) -> tuple[Membership, str]:
    return keys.make_person(
        farm=farm, name=f"{short_name} Vega", short_name=short_name, role=role, language=language, now=timezone.now()
    )


def come(client: Client, farm: str, name: str, code: str, **more):
    return client.post(reverse("crew-enter", args=[farm]), {"short_name": name, "code": code, "is_kept": "on", **more})


def other_than(code: str) -> str:
    return f"{(int(code) + 1) % 10**6:06d}"


def is_in(client: Client, farm: Farm) -> bool:
    return client.get(farm.get_absolute_url()).status_code == 200


def end_session(client: Client) -> None:
    """Let the session run out, as it does after two weeks, on the phone and on the server."""
    client.session.flush()
    client.cookies.pop("gablekeep_session", None)


def words(answer) -> str:
    """Return a page as text, without what differs on every page: tokens against forged requests."""
    text = answer.content.decode()
    return re.sub(r'(csrfmiddlewaretoken" value=|x-csrftoken": )"[^"]*"', "", text)


# --- made by a manager -------------------------------------------------------------------------------------------


def test_a_manager_makes_a_person_and_the_code_is_shown_once(manager, hill):
    made = manager.post(
        reverse("crew-new", args=[hill.slug]),
        {"name": "Teo Marsh", "short_name": "Teo", "role": "crew", "language": "es"},
    )
    first, second = manager.get(made.url).content.decode(), manager.get(made.url).content.decode()

    code = re.search(r'class="code">(\d{6})<', first)[1]
    assert code not in second
    person = Membership.objects.get(farm=hill, role="crew")
    assert (person.user.get_full_name(), person.language, person.user.email) == ("Teo Marsh", "es", "")
    assert not person.user.has_usable_password()
    assert come(Client(), hill.slug, "Teo", code).status_code == 302


def test_no_secret_lies_in_the_database(manager, hill):
    person, code = make_person(hill)
    token = keys.new_square(membership=person, now=timezone.now())
    phone = Client()
    come(phone, hill.slug, "Marisol", code)
    secret = phone.cookies[phones.COOKIE].value.split(":")[0]

    rows = [*CrewKey.objects.all(), *KnownPhone.objects.all(), *User.objects.all(), *Membership.objects.all()]
    text = serializers.serialize("json", rows)

    assert hashlib.sha256(token.encode()).hexdigest() in text
    assert hashlib.sha256(secret.encode()).hexdigest() in text
    for hidden in (code, token, secret):
        assert hidden not in text


@pytest.mark.parametrize(
    ("short_name", "said"),
    [("", "This field is required"), ("Ana Luz", "A short name is one word"), ("--", "has letters or digits"),
     ("MARISOL", "Somebody here is called"), ("marisól", "Somebody here is called")],
)  # fmt: skip
def test_a_bad_short_name_gets_a_sentence_and_what_was_typed_stays(manager, hill, short_name, said):
    make_person(hill)

    answer = manager.post(
        reverse("crew-new", args=[hill.slug]), {"name": "Ana Luz Ortega", "short_name": short_name, "role": "crew"}
    )

    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert 'value="Ana Luz Ortega"' in answer.content.decode()


def test_a_new_code_ends_the_one_before_and_leaves_known_phones_in(manager, hill):
    person, old = make_person(hill)
    phone = Client()
    come(phone, hill.slug, "Marisol", old)

    manager.post(reverse("crew-code", args=[hill.slug, person.pk]))
    page = manager.get(reverse("crew-person", args=[hill.slug, person.pk])).content.decode()
    new = re.search(r'class="code">(\d{6})<', page)[1]

    assert is_in(phone, hill)
    assert [come(Client(), hill.slug, "Marisol", code).status_code for code in (old, new)] == [422, 302] or old == new


def test_an_account_the_keeper_made_gets_a_code_too(manager, hill):
    member = make_member(hill, "crew", user=User.objects.create_user("dwayne", first_name="Dwayne", password="pw"))

    manager.post(reverse("crew-code", args=[hill.slug, member.pk]))
    page = manager.get(reverse("crew-person", args=[hill.slug, member.pk])).content.decode()

    code = re.search(r'class="code">(\d{6})<', page)[1]
    assert come(Client(), hill.slug, "dwayne", code).status_code == 302


def test_managers_have_no_code_and_who_becomes_one_loses_it(manager, hill):
    person, code = make_person(hill)
    manager.post(
        reverse("crew-person", args=[hill.slug, person.pk]),
        {"name": "Marisol Vega", "short_name": "Marisol", "role": "manager", "language": ""},
    )

    assert Membership.objects.get(pk=person.pk).role == "manager"
    assert come(Client(), hill.slug, "Marisol", code).status_code == 422
    manager.post(reverse("crew-code", args=[hill.slug, person.pk]))
    assert CrewKey.objects.get(membership=person).code_hash == ""
    assert make_person(hill, "Boss", role="manager")[1] == ""


def test_a_code_never_opens_an_account_beyond_the_farm(manager, hill):
    """Else a manager would make a code for somebody, and look at that person's other farm."""
    both, keeper = make_member(hill, "crew"), make_member(hill, "crew", user=User.objects.create_superuser("keeper"))
    make_member(make_farm(), "manager", user=both.user)

    for person in (both, keeper):
        manager.post(reverse("crew-code", args=[hill.slug, person.pk]))
        manager.post(reverse("crew-card", args=[hill.slug, person.pk]))
        manager.post(
            reverse("crew-person", args=[hill.slug, person.pk]),
            {"name": "Taken", "short_name": "Taken", "role": "crew", "language": ""},
        )

    assert not CrewKey.objects.exists()
    assert not User.objects.filter(first_name="Taken").exists()


def test_who_joins_another_farm_comes_in_by_code_no_more(hill):
    person, code = make_person(hill)
    phone = Client()
    come(phone, hill.slug, "Marisol", code)
    make_member(make_farm(), "manager", user=person.user)

    assert not is_in(phone, hill)
    assert come(Client(), hill.slug, "Marisol", code).status_code == 422


def test_the_last_manager_stays(manager, hill):
    boss = Membership.objects.get(farm=hill)
    page = reverse("crew-person", args=[hill.slug, boss.pk])

    demoted = manager.post(page, {"name": "x", "short_name": "x", "role": "crew", "language": ""})
    gone = manager.post(reverse("crew-leave", args=[hill.slug, boss.pk]))

    assert (demoted.status_code, gone.status_code) == (422, 422)
    assert "left without a manager" in demoted.content.decode()
    assert Membership.objects.get(pk=boss.pk).role == "manager"


def test_the_list_asks_the_same_for_one_person_and_for_three(manager, hill):
    manager.get(reverse("crew", args=[hill.slug]))  # the first visit notes that somebody is here
    counts = []
    for name in ("Teo", "Ana", "Luz"):
        make_person(hill, name)
        with CaptureQueriesContext(connection) as asked:
            manager.get(reverse("crew", args=[hill.slug]))
        counts.append(len(asked))

    assert counts[0] == counts[2]


# --- a short name and a code -------------------------------------------------------------------------------------


@pytest.mark.parametrize("typed", ["José", "jose", " JOSE ", "josé", "Jose\u0301"])
def test_case_accents_and_spaces_do_not_count(hill, typed):
    _person, code = make_person(hill, "José")

    answer = come(Client(), hill.slug, typed, f"{code[:3]} {code[3:]}")

    assert answer.status_code == 302


def test_the_crew_lands_on_its_page_in_its_language(hill):
    _person, code = make_person(hill, language="es")
    phone = Client(headers={"accept-language": "en"})

    answer = come(phone, hill.slug, "Marisol", code)

    assert answer.url == reverse("field", args=[hill.slug])
    assert phone.cookies["django_language"].value == "es"
    assert '<html lang="es">' in phone.get(reverse("due", args=[hill.slug])).content.decode()


def test_a_viewer_lands_on_the_plan(hill):
    _person, code = make_person(hill, role="viewer")

    assert come(Client(), hill.slug, "Marisol", code).url == hill.get_absolute_url()


@pytest.mark.parametrize(
    ("wanted", "goes"),
    [("/farm/hill/due/?a=1", "/farm/hill/due/?a=1"), ("https://elsewhere.example/", None),
     ("//elsewhere.example", None), ("javascript:alert(1)", None), ("/\\elsewhere.example", None)],
)  # fmt: skip
def test_it_goes_on_where_somebody_was_going_but_never_elsewhere(hill, wanted, goes):
    _person, code = make_person(hill)

    answer = come(Client(), hill.slug, "Marisol", code, next=wanted)

    assert answer.url == (goes or reverse("field", args=[hill.slug]))


@pytest.mark.parametrize("code", ["", "12345", "1234567", "abcdef", "١٢٣٤٥٦"])
def test_what_cannot_be_a_code_is_not_counted(hill, code):
    make_person(hill)

    answer = come(Client(), hill.slug, "Marisol", code)

    assert answer.status_code == 422
    assert "six digits" in answer.content.decode()
    assert CrewKey.objects.get().failures == 0


def test_another_farms_name_and_code_do_not_open_this_one(hill):
    _person, code = make_person(make_farm(slug="vale"))

    assert come(Client(), hill.slug, "Marisol", code).status_code == 422


def test_who_is_locked_out_by_the_keeper_stays_out(hill):
    person, code = make_person(hill)
    User.objects.filter(pk=person.user_id).update(is_active=False)

    assert come(Client(), hill.slug, "Marisol", code).status_code == 422


def test_a_name_that_nobody_bears_is_answered_like_one_that_somebody_does(hill):
    """Word for word and hash for hash, from the first wrong code to the lock; also on a farm that does not exist."""
    _person, code = make_person(hill)
    told = []
    for farm, name in ((hill.slug, "Marisol"), (hill.slug, "Nobody1"), ("nowhere", "Marisol")):
        CountingHasher.rounds.clear()
        answers = [come(Client(), farm, name, other_than(code)) for _try in range(7)]
        text = [words(answer).replace("Nobody1", "Marisol").replace("nowhere", hill.slug) for answer in answers]
        text = [re.sub(r"counts in \d+ seconds", "counts in some seconds", one) for one in text]
        told.append(([answer.status_code for answer in answers], text, list(CountingHasher.rounds)))
        cache.clear()

    assert told[0][0] == [422] * 5 + [429] * 2
    assert len(told[0][2]) == 5
    assert told[0] == told[1] == told[2]


def test_the_page_of_a_farm_that_does_not_exist_is_the_same(hill):
    there, nowhere = (words(Client().get(reverse("crew-enter", args=[slug]))) for slug in (hill.slug, "nowhere"))

    assert nowhere.replace("nowhere", hill.slug) == there


def test_a_right_code_waits_as_well_and_counts_again_afterwards(hill):
    _person, code = make_person(hill)
    for _try in range(5):
        assert WRONG in come(Client(), hill.slug, "Marisol", other_than(code)).content.decode()

    locked = come(Client(), hill.slug, "Marisol", code)
    CrewKey.objects.update(locked_until=timezone.now() - timedelta(seconds=1))
    later = come(Client(), hill.slug, "Marisol", code)

    assert (locked.status_code, later.status_code) == (429, 302)
    assert LOCKED in locked.content.decode()
    assert 0 < int(locked["Retry-After"]) <= 30
    assert CrewKey.objects.get().failures == 0


def test_a_lock_keeps_no_known_phone_out_and_no_card(hill):
    person, code = make_person(hill)
    token = keys.new_square(membership=person, now=timezone.now())
    phone, card = Client(), Client()
    come(phone, hill.slug, "Marisol", code)
    for _try in range(7):
        come(Client(), hill.slug, "Marisol", other_than(code))

    card.post(reverse("crew-square", args=[token]))

    assert is_in(phone, hill)
    assert is_in(card, hill)


def test_one_address_cannot_try_name_after_name(hill):
    answers = [come(Client(), hill.slug, f"name{number}", "000000").status_code for number in range(32)]
    _person, code = make_person(hill)
    elsewhere = Client(REMOTE_ADDR="203.0.113.9")

    assert answers == [422] * 30 + [429] * 2
    assert come(Client(), hill.slug, "Marisol", code).status_code == 429
    assert come(elsewhere, hill.slug, "Marisol", code).status_code == 302


# --- a printed square --------------------------------------------------------------------------------------------


def test_looking_at_a_square_lets_nobody_in_and_its_button_does(hill):
    person, _code = make_person(hill)
    page = reverse("crew-square", args=[keys.new_square(membership=person, now=timezone.now())])
    phone = Client()

    looked = phone.get(page)
    before = is_in(phone, hill)
    phone.post(page, {"is_kept": "on"})

    assert "Are you Marisol Vega?" in looked.content.decode()
    assert (before, is_in(phone, hill)) == (False, True)


def test_the_button_needs_its_pages_token(hill):
    person, _code = make_person(hill)
    page = reverse("crew-square", args=[keys.new_square(membership=person, now=timezone.now())])

    assert Client(enforce_csrf_checks=True).post(page).status_code == 403


def test_a_card_is_shown_once_and_a_new_one_ends_it(manager, hill):
    person, _code = make_person(hill)
    page = reverse("crew-card", args=[hill.slug, person.pk])

    first = manager.get(manager.post(page).url).content.decode()
    again = manager.get(page).content.decode()
    old = CrewKey.objects.get().token_hash
    manager.post(page)

    assert 'class="qr"' in first
    assert 'class="qr"' not in again
    assert CrewKey.objects.get().token_hash != old


@pytest.mark.parametrize("token", ["made-up", "x" * 200, "%00"])
def test_a_square_that_is_nobodys_says_so(client, token):
    answers = [client.get(reverse("crew-square", args=[token])), client.post(reverse("crew-square", args=[token]))]

    assert [answer.status_code for answer in answers] == [410, 410]
    assert "works no more" in answers[0].content.decode()


# --- phones that stay signed in ----------------------------------------------------------------------------------


def test_a_known_phone_comes_in_when_its_session_has_run_out(hill):
    _person, code = make_person(hill)
    phone = Client()
    come(phone, hill.slug, "Marisol", code)
    end_session(phone)

    assert is_in(phone, hill)
    assert KnownPhone.objects.count() == 1


def test_a_script_of_a_known_phone_needs_no_page(hill):
    """What waits on the phone is sent with a token it asks for, without anybody seeing a page."""
    _person, code = make_person(hill)
    phone = Client(enforce_csrf_checks=True)
    page = phone.get(reverse("crew-enter", args=[hill.slug])).content.decode()
    token = re.search(r'csrfmiddlewaretoken" value="(\w+)"', page)[1]
    come(phone, hill.slug, "Marisol", code, csrfmiddlewaretoken=token)
    end_session(phone)

    asked = phone.get(reverse("field-token", args=[hill.slug]))
    sent = phone.post(
        reverse("field-entries", args=[hill.slug]), {"sent_at": timezone.now().isoformat(), "entries": []},
        content_type="application/json", headers={"x-csrftoken": asked.json()["csrf"]},
    )  # fmt: skip

    assert asked.status_code == 200
    assert sent.status_code == 200, sent.content


def test_the_phones_secret_is_out_of_every_scripts_reach(hill, settings):
    _person, code = make_person(hill)
    settings.SESSION_COOKIE_SECURE = True

    cookie = come(Client(), hill.slug, "Marisol", code).cookies[phones.COOKIE]

    assert (cookie["httponly"], cookie["samesite"], cookie["secure"]) == (True, "Lax", True)
    assert cookie["max-age"] > 365 * 24 * 3600


@pytest.mark.parametrize("deed", ["revoke", "leave", "deactivate", "remove"])
def test_out_means_out_at_the_next_request(manager, hill, deed):
    person, code = make_person(hill)
    open_phone, closed_phone = Client(), Client()
    for phone in (open_phone, closed_phone):
        come(phone, hill.slug, "Marisol", code)
    end_session(closed_phone)
    if deed == "revoke":
        for row in KnownPhone.objects.all():
            manager.post(reverse("crew-phone", args=[hill.slug, person.pk, row.pk]))
    elif deed == "leave":
        manager.post(reverse("crew-leave", args=[hill.slug, person.pk]))
    elif deed == "deactivate":
        User.objects.filter(pk=person.user_id).update(is_active=False)
    else:
        Membership.objects.filter(pk=person.pk).delete()

    for phone in (open_phone, closed_phone):
        answer = phone.get(reverse("due", args=[hill.slug]))
        assert (answer.status_code, answer.url.partition("?")[0]) == (302, reverse("login"))
        assert phone.get(reverse("field-token", args=[hill.slug])).status_code == 401
        assert not phone.cookies[phones.COOKIE].value


def test_a_changed_role_counts_at_the_next_request(manager, hill):
    person, code = make_person(hill)
    phone = Client()
    come(phone, hill.slug, "Marisol", code)
    before = phone.get(reverse("gust-new", args=[hill.slug])).status_code

    manager.post(
        reverse("crew-person", args=[hill.slug, person.pk]),
        {"name": "Marisol Vega", "short_name": "Marisol", "role": "viewer", "language": ""},
    )

    assert (before, phone.get(reverse("gust-new", args=[hill.slug])).status_code) == (200, 403)


def test_whoever_logs_out_is_out_and_the_old_secret_opens_nothing(hill):
    _person, code = make_person(hill)
    phone = Client()
    come(phone, hill.slug, "Marisol", code)
    secret = phone.cookies[phones.COOKIE].value

    left = phone.post(reverse("logout"))
    thief = Client()
    thief.cookies[phones.COOKIE] = secret

    assert left.url == reverse("crew-enter", args=[hill.slug])
    assert not is_in(phone, hill)
    assert not is_in(thief, hill)


@pytest.mark.parametrize("end", ["others", "one"])
def test_whoever_ends_a_log_in_elsewhere_ends_the_phones_too(hill, end):
    """Else the phone would come in again by itself."""
    _person, code = make_person(hill)
    here, lost, asleep = Client(), Client(), Client()
    for phone in (here, lost, asleep):
        come(phone, hill.slug, "Marisol", code)
    key = public_key(LoginSession.objects.get(session_key=lost.session.session_key))
    end_session(asleep)

    here.post(reverse("log-ins"), {"end": "others" if end == "others" else key})

    assert [is_in(phone, hill) for phone in (here, lost, asleep)] == [True, False, end == "one"]


@pytest.mark.parametrize("change", [lambda text: text[:-2] + "xx", lambda text: text.split(":")[0], lambda text: "::"])
def test_a_secret_that_was_tampered_with_opens_nothing(hill, change):
    _person, code = make_person(hill)
    phone, thief = Client(), Client()
    come(phone, hill.slug, "Marisol", code)

    thief.cookies[phones.COOKIE] = change(phone.cookies[phones.COOKIE].value)

    assert not is_in(thief, hill)


def test_a_borrowed_phone_is_not_kept(hill):
    _person, code = make_person(hill)
    phone = Client()

    come(phone, hill.slug, "Marisol", code, is_kept="")

    assert is_in(phone, hill)
    assert not phone.cookies[phones.COOKIE].value
    assert phone.cookies["gablekeep_session"]["max-age"] == ""  # ends with the browser


def test_the_next_person_on_a_shared_phone_takes_it_over(hill):
    codes = {name: make_person(hill, name)[1] for name in ("Teo", "Ana")}
    phone = Client()
    for name in codes:
        come(phone, hill.slug, name, codes[name])
    end_session(phone)
    phone.get(hill.get_absolute_url())

    assert User.objects.get(pk=phone.session["_auth_user_id"]).first_name == "Ana Vega"
    assert KnownPhone.objects.filter(revoked_at=None).count() == 1


def test_a_phone_offers_the_names_that_came_in_on_it_and_no_other(hill):
    codes = {name: make_person(hill, name)[1] for name in ("Teo", "Ana", "Luz")}
    phone = Client()
    for name in ("Teo", "Ana"):
        come(phone, hill.slug, name, codes[name])
    phone.post(reverse("logout"))

    text = phone.get(reverse("crew-enter", args=[hill.slug])).content.decode()

    assert re.findall(r'href="\?name=(\w+)"', text) == ["Ana", "Teo"]
    assert "?name=" not in Client().get(reverse("crew-enter", args=[hill.slug])).content.decode()


def test_a_manager_logged_in_by_password_is_left_alone(hill):
    _person, code = make_person(hill)
    phone = Client()
    come(phone, hill.slug, "Marisol", code)
    boss = make_member(hill).user
    phone.force_login(boss)
    KnownPhone.objects.update(revoked_at=timezone.now())

    assert is_in(phone, hill)
    assert phone.session["_auth_user_id"] == str(boss.pk)


def test_a_phone_of_another_person_cannot_be_signed_out_by_a_wrong_address(manager, hill):
    people = [make_person(hill, name) for name in ("Teo", "Ana")]
    come(Client(), hill.slug, "Ana", people[1][1])
    phone = KnownPhone.objects.get()

    answer = manager.post(reverse("crew-phone", args=[hill.slug, people[0][0].pk, phone.pk]))

    assert answer.status_code == 404
    assert KnownPhone.objects.get().revoked_at is None


def test_the_log_in_page_shows_the_crew_its_way(hill):
    page = Client().get(reverse("due", args=[hill.slug]), follow=True).content.decode()

    assert f'href="{reverse("crew-enter", args=[hill.slug])}?next=%2Ffarm%2Fhill%2Fdue%2F"' in page
    assert "crew/" not in Client().get(reverse("login")).content.decode()
