"""The page on which a manager has the farm's file made, and the plan for other programs' maps."""

from __future__ import annotations

import io
import json
import os
import zipfile
from collections.abc import Iterator
from datetime import timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from django.test import override_settings
from django.urls import reverse
from django.utils import timezone
from kombu.exceptions import OperationalError

from maintenance.tasks import make_farm_file
from maintenance.wholefarm import asked
from maintenance.wholefarm.tables import LEFT_OUT
from tests.factories import inches, make_farm, make_member, make_opening, make_tunnel, make_wall

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path) -> Iterator[None]:
    with override_settings(DATA_DIR=tmp_path):
        yield


@pytest.fixture
def queue(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """What the worker was asked for."""
    messages: list[dict[str, Any]] = []
    monkeypatch.setattr(make_farm_file, "delay", lambda **said: messages.append(said))
    return messages


def url(farm: Any, name: str = "farm-file") -> str:
    return reverse(name, args=[farm.slug])


def test_a_file_is_asked_for_made_fetched_and_removed(reader, farm, queue):
    make_tunnel(farm, code="T01")
    assert b"Make the file" in reader.get(url(farm)).content

    asked_for = reader.post(url(farm), {"do": "make"}, follow=True)
    again = reader.post(url(farm), {"do": "make"}, follow=True)
    assert queue == [{"farm_id": farm.pk}]
    assert b"is being made" in asked_for.content
    assert b"hx-trigger" in again.content

    make_farm_file(**queue[0])
    ready = reader.get(url(farm))
    fetched = reader.get(url(farm, "farm-file-fetch"))
    content = b"".join(fetched.streaming_content)
    fetched.close()
    assert b"is ready" in ready.content
    assert b"hx-trigger" not in ready.content
    assert fetched["Content-Type"] == "application/zip"
    assert f'filename="{farm.slug}-' in fetched["Content-Disposition"]
    with zipfile.ZipFile(io.BytesIO(content)) as pack:
        assert pack.testzip() is None
        assert b"T01" in pack.read("tables/tunnels.csv")
        assert json.loads(pack.read("datapackage.json"))["name"] == farm.slug

    reader.post(url(farm), {"do": "drop"})
    assert list(asked.folder_of(farm.pk).parent.rglob("*.zip")) == []
    assert b"Make the file" in reader.get(url(farm, "farm-file-fetch")).content


def test_the_page_says_what_stays_behind(reader, farm):
    page = reader.get(url(farm)).content.decode()

    for word in ("passwords", "codes and cards", "known phones", "calendars", "anemometer", "Messages"):
        assert word in page


def test_the_file_says_what_stays_behind_and_why(reader, farm):
    asked.make(farm_id=farm.pk, now=timezone.now())

    with zipfile.ZipFile(asked.folder_of(farm.pk) / "farm.zip") as pack:
        listed = json.loads(pack.read("datapackage.json"))

    assert listed["left_out"] == {model._meta.model_name: reason for model, reason in LEFT_OUT.items()}
    assert "Passwords stay" in listed["columns_left_out"]["people.password"]


def test_htmx_gets_the_part_alone(reader, farm, queue):
    reader.post(url(farm), {"do": "make"})

    part = reader.get(url(farm), headers={"hx-request": "true"}).content.decode()

    assert part.lstrip().startswith('<div id="farm-file"')
    assert "<html" not in part


def test_a_worker_that_does_not_answer_is_said_so(reader, farm, monkeypatch):
    def fail(**_said: Any) -> None:
        raise OperationalError("no broker")

    monkeypatch.setattr(make_farm_file, "delay", fail)
    page = reader.post(url(farm), {"do": "make"}, follow=True).content

    assert b"the worker does not answer" in page
    assert b"is being made" not in page


def test_a_file_that_could_not_be_made_says_why(reader, farm, queue, tmp_path):
    reader.post(url(farm), {"do": "make"})
    asked.folder_of(farm.pk).joinpath("farm.zip").mkdir()  # something lies in the way

    make_farm_file(**queue[0])

    page = reader.get(url(farm)).content
    assert b"The file was not made" in page
    assert b"could not be written" in page
    assert [one.name for one in asked.folder_of(farm.pk).iterdir() if one.name.startswith(".making")] == []


def test_what_nobody_ended_is_given_up_and_what_nobody_fetched_goes(farm):
    asked.note_asked(farm_id=farm.pk)
    asked.make(farm_id=farm.pk, now=timezone.now())
    asked.note_asked(farm_id=farm.pk)
    soon, later = timezone.now() + timedelta(minutes=14), timezone.now() + timedelta(minutes=16)

    assert asked.standing_of(farm_id=farm.pk, now=soon).is_being_made
    assert not asked.standing_of(farm_id=farm.pk, now=later).is_being_made
    old = timezone.now().timestamp() - 3 * 24 * 3600 - 1
    os.utime(asked.folder_of(farm.pk) / "farm.zip", (old, old))
    assert asked.standing_of(farm_id=farm.pk, now=timezone.now()).file is None
    other = make_farm()
    asked.make(farm_id=other.pk, now=timezone.now())
    assert not (asked.folder_of(farm.pk) / "farm.zip").exists()
    assert asked.standing_of(farm_id=other.pk, now=timezone.now()).file


def test_only_the_farms_own_file_is_given(client, farm):
    other = make_farm()
    asked.make(farm_id=farm.pk, now=timezone.now())
    client.force_login(make_member(other).user)

    assert client.get(url(farm, "farm-file-fetch")).status_code == 404
    assert client.get(url(other, "farm-file-fetch"))["Content-Type"].startswith("text/html")


def test_the_plan_is_geojson_where_the_farms_place_is_known(reader, farm):
    """A tunnel of 30 x 96 ft whose head end faces west; positions by the numbers of RFC 7946, 3.1.6 and 4."""
    farm.latitude_deg, farm.longitude_deg = "42.51", "-76.79"
    farm.save()
    tunnel = make_tunnel(farm, code="T01", east_mm=0, north_mm=0)
    make_tunnel(farm, code="T02")  # nobody said where it stands
    make_opening(make_wall(tunnel), code="T01-W", offset_mm=inches(0))
    make_opening(make_wall(tunnel, "A"), code="T01-E", offset_mm=None)

    answer = reader.get(url(farm, "plan-geojson"))

    found = json.loads(answer.content)
    assert answer["Content-Type"] == "application/geo+json"
    assert (found["type"], set(found)) == ("FeatureCollection", {"type", "features"})
    kinds = [(one["geometry"]["type"], one["properties"]["kind"]) for one in found["features"]]
    assert kinds == [
        ("Polygon", "tunnel"), ("LineString", "end_wall"), ("Point", "opening"), ("LineString", "end_wall"),
        ("Point", "opening"),
    ]  # fmt: skip
    ring = found["features"][0]["geometry"]["coordinates"][0]
    doubled_area = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(ring))
    assert ring[0] == ring[-1]
    assert len(ring) == 5
    assert doubled_area > 0  # counterclockwise
    assert all(round(part, 7) == part for point in ring for part in point)
    assert min(point[0] for point in ring) < -76.79 < max(point[0] for point in ring)
    points = {
        one["properties"]["code"]: (one["geometry"]["coordinates"], one["properties"]["is_offset_known"])
        for one in found["features"]
        if one["properties"]["kind"] == "opening"
    }
    west, east = points["T01-W"], points["T01-E"]
    assert west[0][0] == min(point[0] for point in ring)
    assert west[0][1] > 42.51  # whoever stands before it looks east: the wall begins on the left, in the north
    assert east == ([max(point[0] for point in ring), 42.51], False)


@pytest.mark.parametrize("place", [(None, None), ("42.5", None), ("89.9", "10")])
def test_a_farm_without_a_place_gets_a_sentence(reader, farm, place):
    farm.latitude_deg, farm.longitude_deg = place
    farm.save()

    page = reader.get(url(farm, "plan-geojson"))

    assert page["Content-Type"].startswith("text/html")
    assert b"latitude" in page.content
    assert reverse("farm-change", args=[farm.slug]) in page.content.decode()
