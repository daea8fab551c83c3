"""Ways to break a document, and every reader with a document that it can read."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterator
from random import Random
from typing import Any
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

from maintenance.weather import (
    read_alerts,
    read_cap,
    read_gridpoint,
    read_open_meteo,
    read_points,
    read_reading,
    read_table,
)
from tests.weather_documents import (
    CSV,
    NOW,
    READING,
    ROWS,
    alert,
    alerts,
    cap,
    cap_info,
    gridpoint,
    open_meteo,
    points,
)

CHICAGO = ZoneInfo("America/Chicago")
RING = [[-96, 41], [-95, 41], [-95, 42], [-96, 41]]
MANY_ALERTS = alerts(
    alert(),
    alert(id="two", ends=None, references=[{"identifier": "urn:oid:2.49.0.1.840.0.1"}], messageType="Update"),
    alert(id="three", parameters={}) | {"geometry": {"type": "Polygon", "coordinates": [RING]}},
    pagination={"next": "https://api.example/alerts?cursor=2"},
)
READERS: dict[str, Callable[[bytes], Any]] = {
    "grid": lambda content: read_gridpoint(content, fetched_at=NOW),
    "points": read_points,
    "alerts": lambda content: read_alerts(content, fetched_at=NOW),
    "open-meteo": lambda content: read_open_meteo(content, fetched_at=NOW),
    "cap": lambda content: read_cap(content, fetched_at=NOW),
    "csv": lambda content: read_table(content, zone=CHICAGO, fetched_at=NOW),
    "rows": lambda content: read_table(content, zone=CHICAGO, fetched_at=NOW),
    "reading": lambda content: read_reading(content, fetched_at=NOW),
}
DOCUMENTS: dict[str, Any] = {
    "grid": gridpoint(),
    "points": points(),
    "alerts": MANY_ALERTS,
    "open-meteo": open_meteo(12),
    "rows": ROWS,
    "reading": READING,
}
TEXTS = {"cap": cap(cap_info() + cap_info(language="es-US")), "csv": CSV}

STRANGE: list[Any] = [
    None, True, False, 0, -1, 1e308, -1e308, 10**30, 10**4000, 1e-320, float("nan"), float("inf"), -float("inf"), "",
    "null", "NaN", "1e400", "0", "92.6", "NOW", "PT1H", "2026-03-09T12:00:00+00:00", "2026-03-09T12:00", "\0", "\ud800",
    "x" * 3000, [], {}, [[]], [None], {"value": 5}, [1, 2, 3], "wmoUnit:m_s-1", "undefined", "Test",
    "9999-12-31T23:59Z",
]  # fmt: skip
WEDGES = [
    b"\0",
    b"\xff",
    b"\xfe\xff",
    b'"',
    b"}",
    b"]",
    b"<",
    b"&a;",
    b",",
    b"-",
    b"1e999",
    b"\n",
    b"[" * 2000,
    b"9" * 400,
]
ENTITY = b'<!DOCTYPE alert [<!ENTITY a "ha">]>'


def broken(source: str, random: Random) -> bytes:
    """Return a document of a source, broken in one to three ways."""
    if source == "cap" and random.random() < 0.6:
        return mutated_xml(TEXTS["cap"], random)
    if source in TEXTS:
        return spoiled(TEXTS[source].encode(), random)
    document = copy.deepcopy(DOCUMENTS[source])
    for _ in range(random.randint(0, 2)):
        document = mutated(document, random)
    content = json.dumps(document).encode()
    return spoiled(content, random) if random.random() < 0.4 else content


def mutated(document: Any, random: Random) -> Any:
    """Return a document with one value changed, taken away, doubled or moved."""
    holders = list(_holders(document))
    if not holders:
        return copy.deepcopy(random.choice(STRANGE))
    holder, key = random.choice(holders)
    way = random.randrange(6)
    if way == 0:
        del holder[key]
    elif way == 1 and isinstance(holder, list):
        holder.insert(random.randint(0, len(holder)), copy.deepcopy(holder[key]))
    elif way == 2:
        other, place = random.choice(holders)
        holder[key] = copy.deepcopy(other[place])
    elif way == 3 and isinstance(holder[key], str) and holder[key]:
        cut = random.randrange(len(holder[key]))
        holder[key] = holder[key][:cut] + random.choice(["", "9", "-", "Z", " ", "é"]) + holder[key][cut + 1 :]
    else:
        holder[key] = copy.deepcopy(random.choice(STRANGE))
    return document


def mutated_xml(text: str, random: Random) -> bytes:
    """Return a message with one or two of its elements emptied, rewritten, taken away, doubled or moved."""
    root = ElementTree.fromstring(text)  # noqa: S314  # our own text
    for _ in range(random.randint(1, 2)):
        holders = [(parent, child) for parent in root.iter() for child in parent]
        if not holders:
            break
        parent, child = random.choice(holders)
        way = random.randrange(5)
        if way == 0:
            parent.remove(child)
        elif way == 1:
            parent.append(copy.deepcopy(child))
        elif way == 2:
            child.text = random.choice([value for value in STRANGE if isinstance(value, str) and value.isprintable()])
        elif way == 3:
            child.tag = random.choice(holders)[1].tag
        else:
            random.choice(holders)[1].append(copy.deepcopy(child))
    return bytes(ElementTree.tostring(root))


def spoiled(content: bytes, random: Random) -> bytes:
    """Return bytes cut off, flipped, taken out or wedged in."""
    for _ in range(random.randint(1, 2)):
        place = random.randrange(len(content) + 1)
        way = random.randrange(7)
        if way == 0:
            content = content[:place]
        elif way == 1 and place < len(content):
            content = content[:place] + bytes([content[place] ^ 1 << random.randrange(8)]) + content[place + 1 :]
        elif way == 2:
            content = content[:place] + random.choice(WEDGES) + content[place:]
        elif way == 3:
            content = content[:place] + content[place + random.randint(1, 30) :]
        elif way == 4:
            content = content[:place] + content[place : place + random.randint(1, 80)] + content[place:]
        elif way == 5 and content.startswith(b"<?xml"):
            end = content.find(b">") + 1
            content = content[:end] + ENTITY + content[end:]
        elif random.random() < 0.1:
            content = content.decode("latin-1").encode(random.choice(["utf-16", "utf-8-sig", "utf-32"]))
    return content


def _holders(document: Any) -> Iterator[tuple[Any, Any]]:
    """Yield every dict or list within a document, with each of its keys."""
    if isinstance(document, dict | list):
        for key in list(document if isinstance(document, dict) else range(len(document))):
            yield document, key
            yield from _holders(document[key])
