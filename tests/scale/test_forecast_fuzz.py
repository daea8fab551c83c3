"""Ten thousand broken documents of every source: no crash, no silent calm, every refusal with its reason.

What a broken document still says plainly is read here a second time, strictly and without the program's code.
"""

from __future__ import annotations

import json
import math
import re
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from random import Random
from typing import Any
from xml.etree import ElementTree

import pytest

from maintenance.weather import MESSAGES, ForecastError
from tests.weather_documents import CAP_NAMESPACE, HOUR
from tests.weather_mutations import CHICAGO, DOCUMENTS, READERS, TEXTS, broken

COUNT = 10_000
MPH = 1609.344 / 3600  # m/s
SLACK = 1e-9  # m/s, of binary arithmetic
NEAR = (datetime(2026, 1, 1, tzinfo=UTC), datetime(2026, 4, 10, tzinfo=UTC))
INTERVAL = re.compile(r"(2026-\d\d-\d\dT\d\d:00:00\+00:00)/P(?:(\d)D)?(?:T(\d{1,2})H)?", re.ASCII)
CSV_ROW = re.compile(r"(2026-03-09 \d\d:00),(\d{1,2}),[\d.]*,\w*,[\d.]*,[\d.]*,[\d.]*", re.ASCII)
Saying = tuple[datetime, datetime, float]  # from, to, gust [m/s]


def plain_json(content: bytes) -> Any:
    try:
        return json.loads(
            content.decode("utf-8-sig"), parse_int=lambda digits: int(digits) if len(digits) < 99 else math.inf
        )
    except (ValueError, RecursionError):
        return None


def is_gust(value: Any, factor: float) -> bool:
    return type(value) in (int, float) and 0 < value < 1e9 and value * factor <= 120


def grid_says(content: bytes) -> list[Saying]:
    document = plain_json(content)
    try:
        layer = document["properties"]["windGust"]
        entries = layer["values"] if layer["uom"] == "wmoUnit:km_h-1" else []
        entries = [entry for entry in entries if isinstance(entry, dict)] if isinstance(entries, list) else []
    except (TypeError, KeyError):
        return []
    said = []
    for entry in entries:
        match = INTERVAL.fullmatch(time) if isinstance(time := entry.get("validTime"), str) else None
        if match and match[0][-1] not in "PT" and is_gust(entry.get("value"), 1 / 3.6):
            start = utc(match[1])
            end = start and start + timedelta(days=int(match[2] or 0), hours=int(match[3] or 0))
            if start and end > start and NEAR[0] < start and end < NEAR[1]:
                said.append((start, end, entry["value"] / 3.6))
    return said


def utc(text: str) -> datetime | None:
    try:
        return datetime.fromisoformat(text).astimezone(UTC)
    except ValueError:
        return None


def open_meteo_says(content: bytes) -> list[Saying]:
    document = plain_json(content)
    try:
        times, gusts = document["hourly"]["time"], document["hourly"]["wind_gusts_10m"]
        sound = document["hourly_units"]["wind_gusts_10m"] == "m/s" and len(times) == len(gusts)
        pairs = list(zip(times, gusts, strict=True)) if sound else []
    except (TypeError, KeyError):
        return []
    said = []
    for time, gust in pairs:
        if type(time) is int and NEAR[0].timestamp() < time < NEAR[1].timestamp() and is_gust(gust, 1):
            end = datetime.fromtimestamp(time, UTC)
            said.append((end - timedelta(seconds=1), end, gust))
    return said


def csv_says(content: bytes) -> list[Saying]:
    lines = content.decode("latin-1").splitlines()
    if not lines or not lines[0].startswith("time,gust mph,mean mph,") or '"' in content.decode("latin-1"):
        return []
    matches = [match for match in map(CSV_ROW.fullmatch, lines[1:]) if match and float(match[2]) > 0]
    return [at_local(match[1], float(match[2]) * MPH) for match in matches]


def rows_say(content: bytes) -> list[Saying]:
    rows = plain_json(content)
    said = []
    for row in rows if isinstance(rows, list) else []:
        if isinstance(row, dict) and is_gust(row.get("gust_m_s"), 1):
            start = utc(row["time"]) if isinstance(row.get("time"), str) and row["time"].endswith("-05:00") else None
            if start:
                said.append((start, start + timedelta(seconds=1), row["gust_m_s"]))
    return said


def at_local(text: str, gust: float) -> Saying:
    start = datetime.fromisoformat(text).replace(tzinfo=CHICAGO).astimezone(UTC)
    return start, start + timedelta(seconds=1), gust


SAYINGS = {"grid": grid_says, "open-meteo": open_meteo_says, "csv": csv_says, "rows": rows_say}


def look_at_forecast(source: str, content: bytes, forecast: Any) -> None:
    """No gust is lower than what the document still says, and what is missing is told."""
    for start, end, gust in SAYINGS[source](content):
        met = [spell for spell in forecast.spells if spell.start < end and spell.end > start]
        assert all(spell.gust is None or spell.gust >= gust - SLACK for spell in met), content
        covered = sum((min(s.end, end) - max(s.start, start) for s in met if s.gust is not None), timedelta())
        assert covered == end - start or forecast.remarks, content
    for spell in forecast.spells:
        assert spell.gust != 0 or spell.wind in (0, None), content  # none of the documents speaks of calm
        assert spell.gust is None or spell.wind is None or spell.gust >= spell.wind
        # Rows of a table hold until the next; the services speak of hours.
        assert spell.gust is None or spell.end - spell.start <= HOUR or source in ("csv", "rows"), content
        assert spell.gust is not None or any(remark.reason == "gust_unknown" for remark in forecast.remarks)
        figures = [spell.wind, spell.gust, spell.bearing_deg, spell.temperature, spell.rain, spell.snow]
        assert all(figure is None or (math.isfinite(figure) and 0 <= figure <= 400) for figure in figures)
    assert all(one.end == other.start for one, other in zip(forecast.spells, forecast.spells[1:], strict=False))
    assert all(spell.start < spell.end and spell.start.tzinfo is UTC for spell in forecast.spells)


def look_at_alerts(content: bytes, found: Any) -> None:
    """Every alert that the document still has whole is there, and ends when it says."""
    document = plain_json(content)
    for feature in document["features"]:
        said = feature.get("properties") if isinstance(feature, dict) else None
        if not isinstance(said, dict):
            continue
        needed = [said.get(name) for name in ("id", "event", "status", "messageType")]
        if not all(isinstance(word, str) and word.isascii() and len(word) < 99 for word in needed):
            continue
        if said["status"] == "Actual" and said["messageType"] in ("Alert", "Update") and said["id"] and said["event"]:
            same = [alert for alert in found.alerts if alert.id == " ".join(said["id"].split())]
            assert same or found.remarks, content
    ends = {utc(text) for text in _spoken(document, {"ends", "eventEndingTime"})}
    look_at_ends(found, ends)


def _spoken(document: Any, keys: set[str], within: bool = False) -> Iterator[str]:
    """Yield every text under one of the keys, however deep."""
    if isinstance(document, dict):
        for key, value in document.items():
            yield from _spoken(value, keys, within or key in keys)
    elif isinstance(document, list):
        for value in document:
            yield from _spoken(value, keys, within)
    elif within and isinstance(document, str):
        yield document


def look_at_ends(found: Any, ends: set[datetime | None]) -> None:
    """No event ends at a time that the document gives only as the end of its message."""
    for alert in found.alerts:
        assert alert.status == "Actual"
        assert alert.id
        assert alert.event
        assert alert.ends is None or alert.ends in ends


def look_at_cap(content: bytes, found: Any) -> None:
    root = ElementTree.fromstring(content)  # noqa: S314  # the program has refused document types
    look_at_ends(found, {utc(value.text or "") for value in root.iter(f"{{{CAP_NAMESPACE}}}value")})


def look_at_reading(content: bytes, reading: Any) -> None:
    factors = {"mph": MPH, "m/s": 1.0}
    said = plain_json(content)
    assert 0 <= reading.gust <= 120
    assert said["unit"] not in factors or reading.gust >= said["gust"] * factors[said["unit"]] - SLACK


def look_at(source: str, content: bytes, found: Any) -> None:
    if source in SAYINGS:
        look_at_forecast(source, content, found)
    elif source == "points":
        assert re.fullmatch("[A-Z]{3}/[0-9]+,[0-9]+", found.cell)
    else:
        {"alerts": look_at_alerts, "cap": look_at_cap, "reading": look_at_reading}[source](content, found)
    for remark in getattr(found, "remarks", ()):
        assert str(remark).isprintable(), content


def look_at_refusal(content: bytes, error: ForecastError) -> None:
    assert MESSAGES[error.reason], content
    assert len(str(error)) > 20, content
    assert str(error).isprintable(), content


def answer(source: str, content: bytes) -> Any:
    """Return what a reader made of a document; anything but its own error is a crash."""
    try:
        return READERS[source](content)
    except ForecastError as error:
        return error


@pytest.mark.parametrize("source", READERS)
def test_broken_documents_are_read_in_part_or_refused_with_a_reason(source):
    random, outcomes = Random(f"gablekeep {source}"), Counter()  # noqa: S311  # the same documents each time

    for _ in range(COUNT):
        content = broken(source, random)
        found = answer(source, content)
        if isinstance(found, ForecastError):
            look_at_refusal(content, found)
            outcomes[found.reason] += 1
        else:
            look_at(source, content, found)
            outcomes["read", bool(getattr(found, "remarks", ()))] += 1

    assert sum(outcomes.values()) == COUNT
    whole, in_part = outcomes["read", False], outcomes["read", True]
    assert whole + in_part > COUNT / 20, outcomes  # the fuzz reaches what lies behind the first look
    assert COUNT - whole - in_part > COUNT / 20, outcomes
    assert len(outcomes) >= 6, outcomes


def test_the_second_reading_sees_what_is_there():
    """Without harm done to them, the documents say what their authors wrote."""
    documents = {source: content for source, content in intact().items() if source in SAYINGS}

    said = {source: SAYINGS[source](content) for source, content in documents.items()}

    assert max(gust for _, _, gust in said["grid"]) == pytest.approx(50 * 1852 / 3600)
    assert sum((end - start for start, end, _ in said["grid"]), timedelta()) == 30 * HOUR
    assert len(said["open-meteo"]) == 12
    assert [gust for _, _, gust in said["csv"]] == pytest.approx([30 * MPH, 45 * MPH, 58 * MPH])
    assert [gust for _, _, gust in said["rows"]] == [13.4, 20.1]


def intact() -> dict[str, bytes]:
    plain = {source: json.dumps(document).encode() for source, document in DOCUMENTS.items()}
    return plain | {source: text.encode() for source, text in TEXTS.items()}
