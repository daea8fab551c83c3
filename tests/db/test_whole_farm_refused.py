"""What is wrong with a farm's file is said in a sentence, and nothing of it is kept."""

from __future__ import annotations

import hashlib
import io
import json
import struct
import zipfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.contrib.auth.models import User
from django.db import transaction
from django.test import override_settings
from PIL import Image

from farm.models import Farm
from maintenance.hands.photos import keep_photo
from maintenance.wholefarm import looking
from maintenance.wholefarm.errors import FarmFileError
from maintenance.wholefarm.packing import pack_farm
from maintenance.wholefarm.unpacking import take_in
from tests.factories import make_component, make_farm, make_member, make_opening, make_tunnel, make_wall
from tests.hands_rows import picture_file

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
Files = dict[str, bytes]


@pytest.fixture(scope="module")
def whole(django_db_setup: None, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory) -> Files:
    """The files of a small farm with a tunnel, a part and a picture; the farm itself is gone again."""
    folder = tmp_path_factory.mktemp("whole")
    with override_settings(MEDIA_ROOT=folder / "photos"), django_db_blocker.unblock(), transaction.atomic():
        farm = make_farm(slug="small", latitude_deg="42.5", longitude_deg="-76.8")
        member = make_member(farm)
        make_component(make_opening(make_wall(make_tunnel(farm, code="T01"))))
        keep_photo(farm=farm, upload=picture_file(), by=member.user, now=NOW)
        pack_farm(farm_id=farm.pk, path=folder / "farm.zip", now=NOW)
        transaction.set_rollback(True)
    with zipfile.ZipFile(folder / "farm.zip") as pack:
        return {name: pack.read(name) for name in pack.namelist()}


@pytest.fixture(autouse=True)
def _pictures(tmp_path: Path) -> Iterator[None]:
    with override_settings(MEDIA_ROOT=tmp_path / "photos"):
        yield


def listed(files: Files) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(files["datapackage.json"])
    return found


def sealed(files: Files) -> Files:
    """Write sizes, checksums and numbers of rows into the list of contents anew, as somebody who means harm would."""
    contents = listed(files)
    for entry in contents["resources"]:
        if (data := files.get(entry["path"])) is not None:
            entry |= {"bytes": len(data), "hash": f"sha256:{hashlib.sha256(data).hexdigest()}"}
            if "rows" in entry:
                entry["rows"] = data.count(b"\r\n") - 1
    return files | {"datapackage.json": json.dumps(contents).encode()}


def changed(name: str, old: bytes, new: bytes) -> Callable[[Files], Files]:
    """Return a change of one file whose list of contents says nothing of it being one."""

    def change(files: Files) -> Files:
        assert old in files[name]
        return sealed(files | {name: files[name].replace(old, new, 1)})

    return change


def of_contents(**values: Any) -> Callable[[Files], Files]:
    return lambda files: files | {"datapackage.json": json.dumps(listed(files) | values).encode()}


def with_contents(data: bytes) -> Callable[[Files], Files]:
    return lambda files: files | {"datapackage.json": data}


def with_farms(count: int) -> Callable[[Files], Files]:
    def change(files: Files) -> Files:
        head, row = files["tables/farm.csv"].split(b"\r\n", 1)
        rows = b"".join(b"%d%s" % (number, row[1:]) for number in range(1, count + 1))
        return sealed(files | {"tables/farm.csv": head + b"\r\n" + rows})

    return change


def without(name: str) -> Callable[[Files], Files]:
    return lambda files: {one: data for one, data in files.items() if one != name}


def renamed(new: str) -> Callable[[Files], Files]:
    return lambda files: files | {new: b"x"}


def another_picture(files: Files, data: bytes) -> Files:
    """Put other octets in place of the picture, under their own checksum everywhere."""
    old = next(name for name in files if name.startswith("photos/"))
    digest = hashlib.sha256(data).hexdigest()
    table = files["tables/photos.csv"].replace(old.split("/")[1][:64].encode(), digest.encode())
    new = {name: content for name, content in files.items() if name != old}
    new |= {f"photos/{digest}.jpg": data, "tables/photos.csv": table}
    new["datapackage.json"] = new["datapackage.json"].replace(old.encode(), f"photos/{digest}.jpg".encode())
    return sealed(new)


def jpeg(size: tuple[int, int] = (40, 20), **how: Any) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "red").save(out, "JPEG", **how)
    return out.getvalue()


def png() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (40, 20), "red").save(out, "PNG")
    return out.getvalue()


def camera() -> bytes:
    """A picture with a place in its EXIF."""
    exif = Image.Exif()
    exif[0x010E] = "42.51 N"
    return jpeg(exif=exif)


REFUSED: dict[str, tuple[Callable[[Files], Files], str]] = {
    "a newer form": (of_contents(form=2), "form 2"),
    "no form": (of_contents(form=None), "form None"),
    "another kind of file": (of_contents(kind="recipes"), "not that of a farm"),
    "contents that are no list": (of_contents(resources=7), "list of contents cannot be read"),
    "contents that are no JSON": (with_contents(b"{"), "list of contents cannot be read"),
    "contents too deep": (with_contents(b"[" * 200_000), "list of contents cannot be read"),
    "no contents": (without("datapackage.json"), "list of contents is missing"),
    "a missing table": (without("tables/tunnels.csv"), "tables/tunnels.csv is missing"),
    "a damaged table": (
        lambda files: files | {"tables/tunnels.csv": files["tables/tunnels.csv"].replace(b"gothic", b"round")},
        "tables/tunnels.csv is not as it was written",
    ),
    "a file nobody listed": (renamed(f"photos/{'0' * 64}.jpg"), "not in the list"),
    "a way out of the folder": (renamed("../../etc/passwd"), "no place"),
    "a way from the root": (renamed("/etc/passwd"), "no place"),
    "a way by backslashes": (renamed("..\\..\\boot.ini"), "no place"),
    "a way in the middle": (renamed(f"photos/../{'0' * 64}.jpg"), "no place"),
    "an unknown column": (changed("tables/tunnels.csv", b"row,code", b"row,owner"), "not known here: owner"),
    "a column twice": (changed("tables/tunnels.csv", b"row,code,name", b"row,code,code"), "columns"),
    "no column of rows": (changed("tables/tunnels.csv", b"row,code", b"nr,code"), "columns"),
    "a column too few": (changed("tables/tunnels.csv", b"row,code,", b"row,"), "lacks the columns code"),
    "a cell too many": (changed("tables/memberships.csv", b"1,1,manager", b"1,1,1,manager"), "row 1"),
    "rows out of order": (changed("tables/end_walls.csv", b"\r\n2,", b"\r\n3,"), "row 2"),
    "a reference to nothing": (changed("tables/end_walls.csv", b"1,1,A", b"1,9,A"), "row 9 of tunnels, which is not"),
    "a reference below one": (changed("tables/end_walls.csv", b"1,1,A", b"1,0,A"), "row 0 of tunnels"),
    "a reference in words": (changed("tables/end_walls.csv", b"1,1,A", b"1,one,A"), "no number of a row"),
    "a choice that is none": (changed("tables/tunnels.csv", b"gothic", b"pagoda"), "not one of the choices"),
    "a text too long": (changed("tables/tunnels.csv", b"T01,T01", b"T01," + b"T" * 121), "120 char"),
    "a number that is none": (changed("tables/tunnels.csv", b"29260.800000", b"NaN"), "tunnels: row 1, length_mm"),
    "a number too large": (changed("tables/tunnels.csv", b"29260.800000", b"1e30"), "tunnels: row 1, length_mm"),
    "a size below nothing": (changed("tables/tunnels.csv", b"29260.800000", b"-1"), "contradict"),
    "a moment without a zone": (changed("tables/farm.csv", b"Z\r\n", b"\r\n"), "end in Z"),
    "JSON that is none": (changed("tables/tunnels.csv", b"[]", b"[1"), "no JSON"),
    "half a character": (changed("tables/tunnels.csv", b"[]", b'"[""\\ud800""]"'), "no JSON"),
    "a NUL in JSON": (changed("tables/tunnels.csv", b"[]", b'"[""\\u0000""]"'), "no database keeps"),
    "a NUL": (changed("tables/tunnels.csv", b"gothic", b"go\x00thic"), "line 2 is no record"),
    "no UTF-8": (changed("tables/tunnels.csv", b"gothic", b"g\xf6thic"), "line 2 is no record"),
    "an open quote": (changed("tables/tunnels.csv", b"gothic", b'"gothic'), "is no record"),
    "a quote in the middle": (changed("tables/tunnels.csv", b"gothic", b'go""thic'), "is no record"),
    "the same row twice": (
        changed("tables/end_walls.csv", b"2,1,B", b"2,1,A"),
        "contradict",
    ),
    "two farms": (with_farms(2), "holds 2 farms"),
    "no farm": (with_farms(0), "holds 0 farms"),
    "no name of a person": (changed("tables/people.csv", b"1,person", b"1,per son"), "people: row 1, username"),
    "a PNG": (lambda files: another_picture(files, png()), "is no picture"),
    "a page": (lambda files: another_picture(files, b"<script>alert(1)</script>"), "is no picture"),
    "a picture of another size": (lambda files: another_picture(files, jpeg((41, 20))), "is no picture"),
    "what a camera wrote": (lambda files: another_picture(files, camera()), "is no picture"),
    "a picture with a tail": (lambda files: another_picture(files, jpeg() + b"PK\x03\x04"), "is no picture"),
    "half a picture": (lambda files: another_picture(files, jpeg()[:-200] + b"\xff\xd9"), "is no picture"),
    "a picture from elsewhere": (changed("tables/photos.csv", b"photos/", b"/etc/"), "is no name of a picture"),
}  # fmt: skip


def packed(files: Files, path: Path) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as pack:
        for name, data in files.items():
            pack.writestr(name, data)
    return path


def everything() -> dict[str, int]:
    return {
        model._meta.label: model._base_manager.count()
        for model in apps.get_models(include_auto_created=True)
        if model._meta.app_label in ("farm", "doors", "maintenance", "auth")
    }


def refuse(path: Path, tmp_path: Path) -> str:
    """Take a file in that must be refused; return why, having proved that nothing is left of it."""
    before = everything()
    with pytest.raises(FarmFileError) as refusal:
        take_in(path=path)
    assert everything() == before
    assert [one for one in (tmp_path / "photos").rglob("*") if one.is_file()] == []
    return str(refusal.value)


def test_the_file_as_it_was_made_is_taken_in(whole, tmp_path):
    """So that each refusal below is for its own reason; also after the list of contents was written anew."""
    taken = take_in(path=packed(sealed(whole), tmp_path / "farm.zip"))

    assert taken.farm.slug == "small"
    assert taken.farm.tunnels.get().code == "T01"
    assert User.objects.filter(memberships__farm=taken.farm).count() == 1


@pytest.mark.parametrize("name", REFUSED)
def test_it_is_refused(whole, tmp_path, name):
    change, reason = REFUSED[name]

    said = refuse(packed(change(dict(whole)), tmp_path / "farm.zip"), tmp_path)

    assert reason in said


def test_no_zip_at_all_is_refused(tmp_path):
    path = tmp_path / "farm.zip"
    for data in (b"", b"PK", b"%PDF-1.7", b"PK\x05\x06" + bytes(18)):
        path.write_bytes(data)
        refuse(path, tmp_path)
    assert "cannot be read" in refuse(tmp_path / "none.zip", tmp_path)


def test_a_file_cut_off_or_with_an_octet_changed_is_refused(whole, tmp_path):
    path = packed(whole, tmp_path / "farm.zip")
    good = path.read_bytes()
    for number in range(0, len(good), max(1, len(good) // 60)):
        path.write_bytes(good[:number])
        refuse(path, tmp_path)
    start = good.index(b"tables/tunnels.csv") + 40
    for number in range(start, start + 200, 20):
        path.write_bytes(good[:number] + bytes([good[number] ^ 0xFF]) + good[number + 1 :])
        refuse(path, tmp_path)


def test_a_file_in_it_twice_is_refused(whole, tmp_path):
    path = packed(whole, tmp_path / "farm.zip")
    with zipfile.ZipFile(path, "a") as pack, pytest.warns(UserWarning, match="Duplicate"):
        pack.writestr("README.txt", b"again")

    assert "twice" in refuse(path, tmp_path)


def test_what_unpacks_to_more_than_a_farm_is_not_opened(whole, tmp_path):
    bomb = sealed(whole | {"tables/storms.csv": b"\x20" * (64 * 1024**2)})

    assert "more than a farm" in refuse(packed(bomb, tmp_path / "farm.zip"), tmp_path)


@pytest.mark.parametrize("limit", ["MOST_UNPACKED", "MOST_TABLE", "MOST_PICTURE", "MOST_FILES"])
def test_every_limit_holds(whole, tmp_path, monkeypatch, limit):
    monkeypatch.setattr(looking, limit, 10)

    assert "farm" in refuse(packed(whole, tmp_path / "farm.zip"), tmp_path)


def test_a_size_that_lies_is_refused(whole, tmp_path):
    """A small size in the directory, and more than that behind it."""
    path = packed(sealed(whole), tmp_path / "farm.zip")
    data = bytearray(path.read_bytes())
    at = data.rindex(b"PK\x01\x02", 0, data.rindex(b"tables/tunnels.csv"))
    (size,) = struct.unpack_from("<I", data, at + 24)
    struct.pack_into("<I", data, at + 24, size // 2)
    path.write_bytes(bytes(data))

    refuse(path, tmp_path)


def test_a_locked_file_is_refused(whole, tmp_path):
    path = packed(whole, tmp_path / "farm.zip")
    data = bytearray(path.read_bytes())
    at = data.index(b"PK\x01\x02")
    data[at + 8] |= 1
    path.write_bytes(bytes(data))

    assert "packed in a way" in refuse(path, tmp_path)


def test_a_farm_refused_late_leaves_no_picture(whole, tmp_path):
    """The pictures come before the labels: they were on the disk already."""
    bad = sealed(whole | {"tables/contacts.csv": whole["tables/contacts.csv"] + b"1,9\r\n"})

    refuse(packed(bad, tmp_path / "farm.zip"), tmp_path)
    assert not Farm.objects.filter(slug="small").exists()
