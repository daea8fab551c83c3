"""Labels: one in use for each place, a lost one taken back, tokens that nobody mixes up."""

from datetime import UTC, date, datetime
from threading import Barrier, Thread

import pytest
from django.db import connection

from farm.models import EndWall, Opening, Tunnel
from maintenance.labels.labelling import LabelError, make_missing, replace
from maintenance.labels.places import place_in_use, places_of
from maintenance.labels.tokens import ALPHABET, LENGTH, new_token, tidied
from maintenance.models import Label
from tests.factories import make_farm, make_opening, make_tunnel, make_wall

NOW = datetime(2026, 11, 17, 12, tzinfo=UTC)
db = pytest.mark.django_db


@pytest.fixture
def farm():
    """Two tunnels: one with a door at its head end, one bare."""
    farm = make_farm()
    make_opening(make_wall(make_tunnel(farm, code="T01")), code="T01-W")
    make_tunnel(farm, code="T02")
    return farm


def in_use(farm):
    return Label.objects.filter(farm=farm, revoked_at=None)


@db
def test_every_place_in_use_gets_one_label(farm):
    made = make_missing(farm=farm, now=NOW)

    assert made == 2 + 4 + 1
    assert in_use(farm).filter(tunnel__isnull=False).count() == 2
    assert in_use(farm).filter(end_wall__isnull=False).count() == 4
    assert in_use(farm).filter(opening__isnull=False).count() == 1
    assert make_missing(farm=farm, now=NOW) == 0


@db
def test_a_retired_place_gets_none(farm):
    Tunnel.objects.filter(code="T02").update(status="retired", retired_on=date(2026, 1, 1))
    Opening.objects.update(retired_on=date(2026, 1, 1))

    assert make_missing(farm=farm, now=NOW) == 1 + 2


@db
def test_another_farms_places_are_left_alone(farm):
    other = make_opening().farm

    make_missing(farm=farm, now=NOW)

    assert not in_use(other).exists()


@db
def test_a_new_door_gets_its_label_and_the_others_keep_theirs(farm):
    make_missing(farm=farm, now=NOW)
    before = set(in_use(farm).values_list("token", flat=True))
    opening = make_opening(EndWall.objects.get(tunnel__code="T02", end="A"))

    assert make_missing(farm=farm, now=NOW) == 1
    assert before < set(in_use(farm).values_list("token", flat=True))
    assert in_use(farm).get(opening=opening)


@db
def test_a_lost_label_is_taken_back_and_its_place_has_another(farm):
    make_missing(farm=farm, now=NOW)
    lost = in_use(farm).get(opening__code="T01-W")

    new = replace(label=lost, now=NOW)

    lost.refresh_from_db()
    assert lost.revoked_at == NOW
    assert (new.opening_id, new.revoked_at) == (lost.opening_id, None)
    assert new.token != lost.token
    with pytest.raises(LabelError):
        replace(label=lost, now=NOW)
    assert in_use(farm).filter(opening=lost.opening_id).count() == 1


@db
def test_a_place_out_of_use_is_none(farm):
    make_missing(farm=farm, now=NOW)
    rows = Label.objects.select_related("tunnel", "end_wall__tunnel", "opening__end_wall__tunnel")

    assert {type(place_in_use(label)) for label in rows} == {Tunnel, EndWall, Opening}
    Tunnel.objects.filter(code="T01").update(status="retired", retired_on=date(2026, 1, 1))
    assert sum(place_in_use(label) is None for label in rows.all()) == 1 + 2 + 1


@db
def test_places_come_wall_by_wall_with_their_labels(farm):
    make_missing(farm=farm, now=NOW)
    Label.objects.filter(opening__code="T01-W").delete()

    groups = places_of(farm)

    assert [[place.code for place in group.places] for group in groups] == [
        ["T01", "T01-E", "T01-W", "T01-W"], ["T02", "T02-E", "T02-W"],
    ]  # fmt: skip
    assert [group.missing for group in groups] == [1, 0]
    assert [place.what for place in groups[0].places] == [
        "tunnel",
        "end wall",
        "end wall",
        "film roll-up, mid-height bar",
    ]


@pytest.mark.django_db(transaction=True)
def test_two_managers_at_once_make_each_label_once(farm):
    if connection.vendor == "sqlite":
        pytest.skip("one writes at a time; .ci/run has a database where two do")
    both, failed = Barrier(2), []

    def make():
        try:
            both.wait(timeout=10)
            make_missing(farm=farm, now=NOW)
        except Exception as error:
            failed.append(error)
        finally:
            connection.close()

    threads = [Thread(target=make) for _manager in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)

    assert failed == []
    assert in_use(farm).count() == 7


def test_a_token_has_nothing_that_looks_like_something_else():
    """Pairs that people mix up when they read codes aloud or from dirt; common practice, no source."""
    mixed_up = ["0OQD", "1IL", "2Z", "5S", "8B", "UV"]

    assert [pair for pair in mixed_up if len(set(pair) & set(ALPHABET)) > 1] == []
    assert len(set(ALPHABET)) == len(ALPHABET)
    assert ALPHABET.isascii()
    assert not set(ALPHABET) & set(ALPHABET.lower()) - set("0123456789")


def test_tokens_use_every_sign_and_do_not_repeat():
    """2,000 tokens of 22^8: that two are alike has a chance of 4 in 100,000; that a sign never comes, of 10^-322."""
    tokens = {new_token() for _place in range(2000)}

    assert len(tokens) == 2000
    assert {len(token) for token in tokens} == {LENGTH}
    assert set("".join(tokens)) == set(ALPHABET)
    assert {tidied(f" {token.lower()} ") for token in tokens} == tokens
