"""Near misses: told with a name or without, so that nothing leads to the person; listed, dealt with, kept as a file."""

from __future__ import annotations

import csv
import io
import logging
import re
from datetime import timedelta
from typing import Any

import pytest
from django.apps import apps
from django.contrib.sessions.models import Session
from django.core import serializers
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from farm.models import Farm, Opening
from maintenance.models import NearMiss
from tests.factories import make_member, make_opening, make_tunnel, make_wall
from tests.forms import errors_of, filled_in, post

pytestmark = pytest.mark.django_db


@pytest.fixture
def opening(farm: Farm) -> Opening:
    return make_opening(make_wall(make_tunnel(farm, code="T09")), code="T09-W")


def everything() -> dict[str, str]:
    """Return every row of the database but the near misses, as text by model."""
    models = [model for model in apps.get_models() if model is not NearMiss and model is not Session]
    return {model._meta.label: serializers.serialize("json", model._default_manager.order_by("pk")) for model in models}


def test_the_crew_tells_of_a_near_miss_with_a_name(client, farm, opening, today):
    crew = make_member(farm, "crew").user
    client.force_login(crew)

    post(
        client, farm, "near-miss-new", what="The rope slipped.", on=today.isoformat(), with_name="on",
        place=f"opening-{opening.pk}",
    )  # fmt: skip

    kept = NearMiss.objects.get()
    assert (kept.what, kept.on, kept.by, kept.opening, kept.tunnel) == (
        "The rope slipped.", today, crew, opening, opening.end_wall.tunnel
    )  # fmt: skip


def test_without_a_name_nothing_is_stored_or_logged_that_leads_to_the_person(client, farm, opening, today, caplog):
    user = make_member(farm, "crew").user
    client.force_login(user)
    url = reverse("near-miss-new", args=[farm.slug])
    form = filled_in(client, url)
    before = everything()

    with caplog.at_level(logging.DEBUG):
        answer = client.post(url, {**form, "what": "The bar came down.", "place": f"opening-{opening.pk}"})

    assert answer.status_code == 302
    assert NearMiss.objects.get().by is None
    assert everything() == before
    told = [record.getMessage() for record in caplog.records if not record.name.startswith("django.db")]
    assert not [text for text in told if user.username in text or "The bar came down" in text]


def test_the_name_is_left_out_unless_it_is_asked_for(client, farm):
    text = client.get(reverse("near-miss-new", args=[farm.slug])).content.decode()

    box = re.search(r"<input[^>]*with_name[^>]*>", text)
    assert box is not None
    assert "checked" not in box[0]


def test_the_page_of_one_told_without_a_name_names_nobody(client, farm, today):
    named = NearMiss.objects.create(farm=farm, on=today, what="a", by=make_member(farm, "crew").user)
    unnamed = NearMiss.objects.create(farm=farm, on=today, what="b")

    texts = {each.what: client.get(reverse("near-miss", args=[farm.slug, each.pk])).content.decode()
             for each in (named, unnamed)}  # fmt: skip

    assert f"Told by {named.by.username}." in texts["a"]
    assert "Told without a name." in texts["b"]
    assert "Told by" not in texts["b"]


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"what": ""}, "what", "required"),
        ({"on": "2999-01-01"}, "on", "has not come yet"),
        ({"place": "opening-999999"}, "place", "valid choice"),
    ],
)
def test_what_cannot_be_comes_back_as_it_was_written(client, farm, today, data, field, words):
    answer = post(client, farm, "near-miss-new", **{"what": "A near thing.", "on": today.isoformat(), **data})

    assert words in errors_of(answer, field)
    assert data.get("what", "A near thing.") in answer.content.decode()
    assert not NearMiss.objects.exists()


def test_another_farms_place_is_refused(client, farm, today):
    answer = post(client, farm, "near-miss-new", what="x", on=today.isoformat(), place=f"opening-{make_opening().pk}")

    assert "valid choice" in errors_of(answer, "place")


def test_a_manager_deals_with_it_and_can_open_it_again(client, farm, today):
    near = NearMiss.objects.create(farm=farm, on=today, what="The rope slipped.")

    undone = post(client, farm, "near-miss", near.pk, done="", closed_on=today.isoformat())
    post(client, farm, "near-miss", near.pk, done="New rope on all doors.", closed_on=today.isoformat())
    near.refresh_from_db()
    dealt = (near.done, near.closed_on)
    post(client, farm, "near-miss", near.pk, done="New rope on all doors.", closed_on="")
    near.refresh_from_db()

    assert "Write what was done" in errors_of(undone, "done")
    assert dealt == ("New rope on all doors.", today)
    assert (near.done, near.closed_on) == ("New rope on all doors.", None)


def test_the_list_narrows_by_state_day_and_words(client, farm, opening, today):
    yesterday = today - timedelta(days=1)
    NearMiss.objects.create(farm=farm, on=today, what="rope", tunnel=opening.end_wall.tunnel, opening=opening)
    NearMiss.objects.create(farm=farm, on=yesterday, what="ladder", done="tied", closed_on=today)

    def listed(**query: Any) -> list[str]:
        table = client.get(reverse("near-misses", args=[farm.slug]), query).context["table"]
        return [row.record.what for row in table.paginated_rows]

    assert listed() == ["rope", "ladder"]
    assert listed(state="open") == ["rope"] == listed(since=today.isoformat()) == listed(q="t09")
    assert listed(state="closed") == ["ladder"] == listed(until=yesterday.isoformat())


def test_near_misses_are_kept_as_a_file_without_formulas(client, farm, opening, today):
    tunnel = opening.end_wall.tunnel
    NearMiss.objects.create(farm=farm, on=today, what="=HYPERLINK(1)", tunnel=tunnel, opening=opening)

    text = client.get(reverse("near-misses", args=[farm.slug]), {"export": "csv"}).content.decode("utf-8-sig")

    assert next(csv.DictReader(io.StringIO(text))) == {
        "day": today.isoformat(), "tunnel": "T09", "place": "T09-W", "what_happened": "'=HYPERLINK(1)", "told_by": "",
        "what_was_done": "", "dealt_with_on": "",
    }  # fmt: skip


def test_three_rows_cost_the_queries_of_one(client, farm, opening, today):
    def count() -> int:
        with CaptureQueriesContext(connection) as queries:
            client.get(reverse("near-misses", args=[farm.slug]))
        return len(queries)

    counts = []
    for number in (1, 2):
        for _each in range(number):
            NearMiss.objects.create(farm=farm, on=today, what="rope", tunnel=opening.end_wall.tunnel, opening=opening,
                                    by=make_member(farm, "crew").user)  # fmt: skip
        counts.append(count())

    assert counts[0] == counts[1]
