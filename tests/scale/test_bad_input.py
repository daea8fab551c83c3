"""What no form should be given, given to every form: an answer in words each time, and no row changed by a refusal."""

from __future__ import annotations

import io
import os
import random
import struct
import zipfile
import zlib
from collections import Counter
from functools import partial
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection, transaction
from django.test import Client

from farm.backups.contents import digests
from farm.models import Membership
from tests.forms_of_pages import Form, Reader
from tests.web.test_isolation import FARM_ROUTES, Rows, make_rows

pytestmark = pytest.mark.django_db

CASES = 200 if "CI" in os.environ else 5_000  # so many take twenty minutes; CI takes the same few each time
BAD = (
    "", " ", "\0", "a\0b", "-1", "-0", "0", "1e400", "-1e400", "9" * 400, "1e-400", "NaN", "Infinity", "-inf", "0x1F",
    "1" * 5_000, "٣٤", "½", "1,2,3", "1.2.3", "1/0", "8' 6\" 9'", "--", "+", "2147483648", "9223372036854775808",
    "-9223372036854775809", "99999-99-99", "0000-00-00", "2026-02-30", "10000-01-01", "25:61", "2026-11-25T25:00",
    "\u202eright to left", "שלום עולם", "مرحبا", "👩🏽‍🌾" * 40, "\x1b[2J",
    "a\u0301" * 300, "\ufeffmark", "\u2028line", "<script>alert(1)</script>", "'\"><img src=x onerror=alert(1)>",
    "{{ 7 * 7 }}", "{% debug %}", "%s%n%(a)s", "../../../etc/passwd", "..\\..\\x", "C:\\aux", "file:///etc/passwd",
    "http://127.0.0.1/", "http://[::1]:22/", "javascript:alert(1)", "=1+1", "+cmd|' /C calc'!A0", "@SUM(A1)", "-2+3",
    "\t=1", "'; DROP TABLE farm_farm; --", "\" OR 1=1", "null", "None", "true", "[]", "{}", '{"a":' * 500, "x" * 70_000,
    "\r\nSet-Cookie: a=b", "__all__", "999999999", "00000000-0000-0000-0000-000000000000", "on", "delete",
)  # fmt: skip


def _zip_bomb() -> bytes:
    pack = io.BytesIO()
    with zipfile.ZipFile(pack, "w", zipfile.ZIP_DEFLATED) as bomb:
        bomb.writestr("xl/worksheets/sheet1.xml", b"0" * 60_000_000)
        bomb.writestr("[Content_Types].xml", b"<Types/>")
    return pack.getvalue()


def _image_bomb() -> bytes:
    """A PNG of 60,000 by 60,000 pixels in a few bytes: its header alone (PNG, third edition, section 11.2.1)."""
    header = b"IHDR" + struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    body = b"IDAT" + zlib.compress(b"\0" * 1000)
    chunks = [struct.pack(">I", len(part) - 4) + part + struct.pack(">I", zlib.crc32(part)) for part in (header, body)]
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


FILES = {
    "empty.csv": b"",
    "zeros.csv": b"\0" * 4_000,
    "latin.csv": "code,name\nT1,Año".encode("latin-1"),
    "utf16.csv": "code;name\nT1;x".encode("utf-16"),
    "wide.csv": b"," * 50_000,
    "long.csv": b"code\n" + b"x" * 500_000,
    "formula.csv": b"code,name\n=1+1,@SUM(A1)\n",
    "quotes.csv": b'code,"name\nT1',
    "bomb.xlsx": _zip_bomb(),
    "no.xlsx": b"PK\x03\x04 no zip",
    "../../up.jpg": b"\xff\xd8\xff\xe0" + b"\0" * 300,
    "bomb.png": _image_bomb(),
    "page.jpg": b"<html><script>alert(1)</script></html>",
    "picture.svg": b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
    "entities.xml": b'<!DOCTYPE a [<!ENTITY b "bb">]><alert>&b;</alert>',
    "deep.json": b"[" * 20_000,
    "number.json": b'{"gust": 1e999}',
    "x" * 300 + ".csv": b"code\nT1",
}


@pytest.fixture
def farm() -> Rows:
    return make_rows("OURS")


@pytest.fixture
def manager(farm) -> Client:
    member = Membership.objects.get(pk=farm.ids["membership"])
    member.role = Membership.Role.MANAGER
    member.save()
    client = Client()
    client.force_login(member.user)
    return client


def forms(client: Client, farm: Rows) -> list[tuple[str, Form]]:
    """Return every form of every page of the farm, once."""
    found: dict[tuple[str, str, tuple[str, ...]], Form] = {}
    for name, route in FARM_ROUTES.items():
        if not route.opens:
            continue
        answer = client.get(farm.url(name))
        assert answer.status_code in (200, 302), (name, answer.status_code)
        if answer.status_code == 200 and "html" in answer["Content-Type"]:
            for form in Reader(answer.content.decode(), answer.request["PATH_INFO"]).forms:
                found.setdefault((name, form.action, tuple(sorted(form.values))), form)
    return [(key[0], form) for key, form in found.items() if "/logout/" not in form.action]


def cases(listed: list[tuple[str, Form]]) -> list[tuple[str, Form, dict[str, Any]]]:
    """Return what is sent: each field with each bad value and a button, and each file field with each bad file."""
    found: list[tuple[str, Form, dict[str, Any]]] = []
    for name, form in listed:
        buttons: list[Any] = form.buttons or [None]
        for place, field in enumerate(form.values):
            for number, bad in enumerate(BAD):
                pressed = buttons[(place + number) % len(buttons)]
                found.append((name, form, form.sent(pressed, **{field: [bad]})))
        for field in form.files:
            for file, content in FILES.items():
                upload = SimpleUploadedFile("x", content)
                upload._name = file  # as a browser could send it, path and all
                found.append((name, form, form.sent(buttons[0], **{field: upload})))
    return found


def note_writes(writes: list[str], execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
    """Note each statement that may change a row."""
    if sql.lstrip().upper().startswith(("INSERT", "UPDATE", "DELETE")):
        writes.append(sql)
    return execute(sql, params, many, context)


def test_no_bad_value_breaks_a_page_or_changes_a_row_when_it_is_refused(manager, farm):
    listed = cases(forms(manager, farm))
    kinds: dict[bool, list[Any]] = {True: [], False: []}
    for case in listed:
        kinds[any(isinstance(value, SimpleUploadedFile) for value in case[2].values())].append(case)
    files, values = kinds[True], kinds[False]
    assert len(listed) >= 5_000
    chosen = random.Random(7)  # noqa: S311 - the same ones each time
    taken = chosen.sample(files, min(len(files), CASES // 4)) + chosen.sample(values, CASES * 3 // 4)
    before, statuses, wrong = digests(connection), Counter[int](), []

    for name, form, sent in taken:
        writes: list[str] = []
        with transaction.atomic(), connection.execute_wrapper(partial(note_writes, writes)):
            try:
                answer = manager.post(form.action, sent)
                status, is_refusal = answer.status_code, not 300 <= answer.status_code < 400
                is_silent = is_refusal and b'class="success"' not in answer.content
                if is_silent and writes and digests(connection) != before:
                    wrong.append((name, "a refusal changed a row", sent))
            except Exception as error:  # every one of them is a page that broke
                status = 500
                wrong.append((name, repr(error)[:200], {key: str(value)[:60] for key, value in sent.items()}))
            transaction.set_rollback(True)
        statuses[status] += 1

    assert wrong[:10] == [], f"{len(wrong)} of {len(taken)}: {Counter(one[0] for one in wrong)}"
    assert statuses[200] + statuses[400] + statuses[422] > CASES // 3, statuses  # most of it is refused, in words
    assert max(statuses) < 500, statuses
