"""Wrong codes: what they cost, how that grows, and that a hundred at once are a hundred."""

from datetime import UTC, datetime, timedelta

import pytest
from django.core.cache import cache

from farm.crew import coming, keys, tries
from farm.crew.names import folded, free_name
from tests.factories import make_farm
from tests.hashing import PATH

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 17, 12, tzinfo=UTC)
CODES = 10**6


@pytest.fixture(autouse=True)
def _real_counters(settings):
    settings.CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "LOCATION": "tries"}}
    settings.PASSWORD_HASHERS = [PATH]
    cache.clear()


@pytest.fixture
def hill():
    return make_farm(slug="hill")


@pytest.fixture(params=["real", "unknown"])
def name(request, hill):
    if request.param == "real":
        keys.make_person(farm=hill, name="Teo", short_name="Teo", role="crew", language="", now=NOW)
    return "Teo"


def guess(name: str, now: datetime, code: str = "none", address: str = "192.0.2.1") -> timedelta | None:
    """Try a wrong code; return how long it has to wait, or None where it was looked at."""
    try:
        coming.by_code(farm_slug="hill", short_name=name, code=code, address=address, now=now)
    except coming.TooSoonError as error:
        return error.wait
    except coming.RefusedError:
        return None
    raise AssertionError("a wrong code opened the farm")


def test_the_wait_doubles_up_to_a_quarter_of_an_hour(name):
    now, told = NOW, []
    for number in range(19):
        wait = guess(name, now, address=f"192.0.2.{number}")
        told.append(wait and wait.total_seconds())
        now += wait or timedelta(0)

    assert told == [None] * 5 + [30, None, 60, None, 120, None, 240, None, 480, None, 900, None, 900, None]


def test_who_waits_cannot_make_the_wait_longer(name):
    for _try in range(5):
        guess(name, NOW)
    for seconds in range(1, 20):
        guess(name, NOW + timedelta(seconds=seconds))

    assert guess(name, NOW + timedelta(seconds=31)) is None


def test_after_a_quiet_day_the_count_begins_anew(name):
    for number in range(12):
        guess(name, NOW + timedelta(hours=number))
    later = NOW + timedelta(days=2)

    assert [guess(name, later) for _try in range(4)] == [None] * 4


def test_guessing_for_a_year_finds_a_code_less_than_once_in_twenty(name):
    """Whoever guesses without a pause has so many tries; the chance is that number over all codes."""
    now, tried = NOW, 0
    while now < NOW + timedelta(days=5):
        wait = guess(name, now, address=f"2001:db8:{tried:x}::1")
        tried += wait is None
        now += wait or timedelta(0)

    assert tried * 365 / 5 / CODES < 1 / 20


def test_a_right_code_clears_the_count(hill):
    _person, code = keys.make_person(farm=hill, name="Teo", short_name="Teo", role="crew", language="", now=NOW)
    for _round in range(4):
        for _try in range(4):
            assert guess("Teo", NOW) is None
        person = coming.by_code(farm_slug="hill", short_name="Teo", code=code, address="192.0.2.1", now=NOW)
        assert person.user.first_name == "Teo"


def test_tries_that_were_read_at_the_same_moment_all_count(hill):
    """Each request holds the row as it was before the first of them wrote; as when a hundred come at once."""
    keys.make_person(farm=hill, name="Teo", short_name="Teo", role="crew", language="", now=NOW)
    rows = [coming._key_named("hill", "teo") for _request in range(9)]

    waits = [tries.count_name(key=row, farm_slug="hill", name="teo", now=NOW) for row in rows]

    assert [bool(wait) for wait in waits] == [False] * 5 + [True] * 4


def test_an_address_that_others_share_is_free_again_after_minutes():
    for number in range(30):
        guess(f"name{number}", NOW)

    assert guess("another", NOW) == timedelta(seconds=10)
    assert guess("another", NOW + timedelta(seconds=10)) is None
    assert tries.OF_AN_ADDRESS.wait(10**4) == timedelta(minutes=5)


def test_a_household_of_addresses_is_one():
    """A provider gives a household a /64 at least (RFC 6177); the next household is another."""
    for number in range(30):
        guess(f"name{number}", NOW, address=f"2001:db8:0:1::{number:x}")

    assert guess("another", NOW, address="2001:db8:0:1:ffff::1")
    assert guess("another", NOW, address="2001:db8:0:2::1") is None
    assert guess("another", NOW, address="no address at all") is None


@pytest.mark.parametrize(
    ("wanted", "taken", "free"),
    [("Teo Marsh", set(), "Teo"), ("Teo Marsh", {"teo"}, "Teo2"), ("Teo", {"teo", "teo2"}, "Teo3"),
     ("Maximilian-Alexander-Josef", set(), "Maximilian-Alexander"),
     ("Maximilian-Alexander-Josef", {"maximilian-alexander"}, "Maximilian-Alexande2"), ("", set(), "1")],
)  # fmt: skip
def test_a_free_short_name_is_proposed(wanted, taken, free):
    assert free_name(wanted, taken) == free
    assert folded(free) not in taken


def test_codes_are_six_digits_and_all_of_them_occur():
    """Leading noughts too. 3,000 digits: that one of ten never occurs has a chance below 10^-130."""
    farm = make_farm()
    person, first = keys.make_person(farm=farm, name="A", short_name="A", role="crew", language="", now=NOW)
    codes = [first, *(keys.new_code(membership=person, now=NOW) for _code in range(499))]

    assert {len(code) for code in codes} == {6}
    assert set("".join(codes)) == set("0123456789")
    assert any(code[0] == "0" for code in codes)
    assert len(set(codes)) > 495
