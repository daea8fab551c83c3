"""A whole farm in one file: all of it and no secret, taken in elsewhere, and the same file again from there."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.contrib.auth.models import User
from django.core.files.storage import default_storage
from django.db import models, transaction
from django.test import override_settings

from farm.models import Farm
from maintenance.models import FieldEntry, Forecast, JobEvent, Photo, Plan, Repair, Storm, StormTask, TunnelFactor
from maintenance.wholefarm.errors import FarmFileError
from maintenance.wholefarm.hidden import HIDDEN
from maintenance.wholefarm.packing import pack_farm
from maintenance.wholefarm.tables import BY_MODEL, COLUMNS_LEFT_OUT, LEFT_OUT, TABLES
from maintenance.wholefarm.unpacking import take_in
from tests.factories import make_farm, make_member, make_opening
from tests.whole_farm import AWKWARD, SECRET, make_whole_farm
from tests.whole_farm_check import contents

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def farm(django_db_setup: None, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Farm]:
    """The demo farm with a row of everything, beside another farm so that no number is the same by chance."""
    with (
        override_settings(MEDIA_ROOT=tmp_path_factory.mktemp("photos")),
        django_db_blocker.unblock(),
        transaction.atomic(),
    ):
        make_opening()
        make_member()
        yield make_whole_farm()
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def file(farm: Farm, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """That farm's file."""
    path = tmp_path_factory.mktemp("files") / "farm.zip"
    pack_farm(farm_id=farm.pk, path=path, now=NOW)
    return path


@pytest.fixture
def elsewhere(farm: Farm, tmp_path: Path) -> Iterator[None]:
    """Another server: an empty database, and an empty folder for pictures."""
    with override_settings(MEDIA_ROOT=tmp_path / "photos"):
        for model in apps.get_models(include_auto_created=True):
            if model._meta.app_label in ("farm", "doors", "maintenance", "auth") and model.__name__ != "Permission":
                rows: Any = model._base_manager.all()
                rows._raw_delete(rows.db)
        yield


def table(file: Path, name: str) -> list[dict[str, str]]:
    """Read a table with Python's own reader of CSV."""
    with zipfile.ZipFile(file) as pack:
        text = pack.read(f"tables/{name}.csv").decode()
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def reaches(model: type[models.Model], seen: frozenset[Any] = frozenset()) -> bool:
    """Whether a model hangs on a farm, straight or by way of others."""
    ways = [field.related_model for field in model._meta.concrete_fields if field.is_relation]
    return model is Farm or any(way not in seen and reaches(way, seen | {model}) for way in ways)


def test_every_model_that_hangs_on_a_farm_goes_along_or_stays_for_a_reason():
    hanging = {model for model in apps.get_models(include_auto_created=True) if reaches(model)}

    assert hanging - set(BY_MODEL) - set(LEFT_OUT) == set(), (
        "Say in maintenance/wholefarm/tables.py what becomes of it."
    )
    assert set(BY_MODEL) & set(LEFT_OUT) == set()
    assert set(BY_MODEL) - hanging == {User}
    assert all(reason.endswith(".") for reason in LEFT_OUT.values())


def test_every_column_goes_along_or_stays_for_a_reason():
    secret = ("hash", "token", "secret", "password", "auth", "endpoint")
    known = {"labels.token"}  # what stands on the label itself
    for entry in TABLES:
        there = {field.name for field in entry.model._meta.concrete_fields if not field.primary_key} - {"farm"}
        behind = there - {field.name for field in entry.fields}
        if entry.model is not User:
            assert {f"{entry.name}.{name}" for name in behind} <= set(COLUMNS_LEFT_OUT)
        names = {f"{entry.name}.{field.name}" for field in entry.fields} - known
        assert [name for name in names if any(word in name.partition(".")[2] for word in secret)] == []


def test_no_column_tells_an_empty_text_from_none():
    """A cell cannot; numbers, days and ids have no empty text."""
    texts = [
        f"{entry.name}.{field.name}"
        for entry in TABLES
        for field in entry.fields
        if field.null and isinstance(field, (models.CharField, models.TextField))
    ]

    assert texts == []


def test_the_farm_has_a_row_of_everything(file):
    with zipfile.ZipFile(file) as pack:
        rows = {
            one["name"]: one["rows"] for one in json.loads(pack.read("datapackage.json"))["resources"] if "rows" in one
        }

    assert [name for name, count in rows.items() if not count] == []
    assert set(rows) == {entry.name for entry in TABLES}


def test_no_secret_goes_along(file):
    with zipfile.ZipFile(file) as pack:
        everything = b"".join(pack.read(name) for name in pack.namelist())

    assert SECRET.encode() not in everything
    assert b"pbkdf2" not in everything
    assert "of another farm" not in {row["source"] for row in table(file, "forecasts")}


def test_no_cell_is_run_by_a_spreadsheet_program(file):
    notes = {row["notes"] for row in table(file, "openings")}
    texts = [
        cell for entry in TABLES if entry.name != "weather" for row in table(file, entry.name) for cell in row.values()
    ]

    assert {f"'{text}" if text[0] in "=+-@\t'" else text for text in AWKWARD} <= notes
    assert [cell for cell in texts if cell[:1] in ("=", "+", "@", "\t", "\r")] == []


def test_the_same_farm_gives_the_same_octets(farm, file, tmp_path):
    pack_farm(farm_id=farm.pk, path=tmp_path / "again.zip", now=NOW)

    assert (tmp_path / "again.zip").read_bytes() == file.read_bytes()


def test_it_comes_back_equal_on_an_empty_server(file, elsewhere, tmp_path):
    taken = take_in(path=file)
    pack_farm(farm_id=taken.farm.pk, path=tmp_path / "again.zip", now=datetime.now(UTC))

    before, after = contents(file), contents(tmp_path / "again.zip")
    assert [name for name in before if before[name] != after.get(name)] == []
    assert set(after) == set(before)
    assert (taken.renamed, taken.new_labels, taken.new_keys, taken.missing) == ({}, 0, 0, 0)


def test_it_means_the_same_beside_other_farms(farm, file, tmp_path):
    """Taken in on its own server every number is another one, and still names the row it named."""
    with transaction.atomic():
        taken = take_in(path=file)
        copy = taken.farm

        assert copy.slug == f"{farm.slug}-2"
        assert taken.renamed["ines"] == "ines2"
        assert taken.new_labels > 0
        assert taken.new_keys > 0
        for key, where in Plan.objects.filter(farm=copy, opening__isnull=False, key__startswith="opening-").values_list(
            "key", "opening"
        ):
            assert key == f"opening-{where}"
        assert not Plan.objects.filter(
            farm=copy, key__in=Plan.objects.filter(farm=farm).exclude(key="farm").values("key")
        )
        for repair in Repair.objects.filter(farm=copy, job__isnull=False).select_related("job__plan"):
            assert repair.job.plan.key == f"repair-{repair.pk}"
        ours = {task.key for task in StormTask.objects.filter(storm__farm=copy)}
        assert set(Storm.objects.get(farm=copy).facts["windward"]) & ours
        assert {one["pk"] for one in Storm.objects.get(farm=copy).facts["tunnels"]} <= set(
            copy.tunnels.values_list("pk", flat=True)
        )
        moves = [pk for event in JobEvent.objects.filter(job__farm=copy) for pk in event.facts.get("moves", ())]
        assert moves
        assert set(moves) <= set(copy.stock_moves.values_list("pk", flat=True))
        factor = TunnelFactor.objects.get(tunnel__farm=copy)
        assert StormTask.objects.filter(storm__farm=copy, state="done", done_by__username="teo2").exists()
        assert factor.observations[0]["finding"] in copy.storms.get().findings.values_list("pk", flat=True)
        assert not Forecast.objects.filter(farm=copy, cell__isnull=False).exists()
        detail = FieldEntry.objects.get(farm=copy, kind="details")
        assert detail.parent.farm == copy
        assert detail.payload["job"] is None
        assert detail.parent.payload["repair"] == str(detail.parent.repair_id)
        assert detail.parent.payload["door"] == detail.parent.opening_id
        assert {photo.file.size for photo in Photo.objects.filter(farm=copy)}
        transaction.set_rollback(True)


def test_people_come_without_a_password_and_nobody_is_taken_for_another(file, elsewhere):
    here = User.objects.create_user("ines", password="pw-of-somebody-else")

    taken = take_in(path=file)

    assert not here.memberships.exists()
    theirs = {member.user.username: member.user for member in taken.farm.memberships.select_related("user")}
    assert taken.renamed == {"ines": "ines2"}
    assert "ines2" in theirs
    assert not any(user.has_usable_password() or user.is_staff or user.is_superuser for user in theirs.values())


def test_nothing_is_looked_for_in_json_that_is_no_column():
    columns = {f"{entry.name}.{field.name}" for entry in TABLES for field in entry.fields}

    assert set(HIDDEN) <= columns


def test_a_picture_that_was_gone_stays_gone(farm, elsewhere, tmp_path):
    """Its row goes along, and says so; it is no reason to refuse the farm."""
    other = make_farm(slug="other")
    Photo.objects.create(farm=other, file="photos/none.jpg", width=1, height=1, sha256="0" * 64, taken_at=NOW)
    pack_farm(farm_id=other.pk, path=tmp_path / "a.zip", now=NOW)

    taken = take_in(path=tmp_path / "a.zip")

    assert taken.missing == 1
    assert not default_storage.exists(Photo.objects.get(farm=taken.farm).file.name)
    pack_farm(farm_id=taken.farm.pk, path=tmp_path / "b.zip", now=NOW)
    assert contents(tmp_path / "b.zip")["tables/photos.csv"] == contents(tmp_path / "a.zip")["tables/photos.csv"]


def test_a_farm_that_is_gone_is_said_so(tmp_path):
    with pytest.raises(FarmFileError, match="no such farm"):
        pack_farm(farm_id=10**9, path=tmp_path / "a.zip", now=NOW)
