"""Whatever comes in, readers give what they read or their own error; what they read does not depend on its dress."""

import json
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.weather import ForecastError, read_gridpoint, read_open_meteo, read_table
from tests.weather_documents import HOUR, NOW, at, dumped, gridpoint, layer, open_meteo, stamp
from tests.weather_mutations import CHICAGO, DOCUMENTS, READERS, broken

KM_H = "wmoUnit:km_h-1"
SOURCES = sorted(READERS)
numbers = st.floats() | st.integers() | st.sampled_from([1e308, -0.0, 10**300])
words = st.text(max_size=20) | st.sampled_from(["PT1H", "NOW/PT1H", stamp(0), f"{stamp(0)}/PT1H", KM_H, "m/s", "mph"])
keys = st.text(max_size=5) | st.sampled_from(
    ["properties", "windGust", "values", "uom", "validTime", "value", "hourly", "hourly_units", "time", "features",
     "wind_gusts_10m", "gridId", "at", "gust", "unit", "rows", "gust mph", "geometry", "coordinates", "error", "title"]
)  # fmt: skip
anything = st.recursive(
    st.none() | st.booleans() | numbers | words,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(keys, inner, max_size=4),
    max_leaves=20,
)


def outcome(source, content):
    """Return what was read, or the sentence of the refusal; any other error is the test's failure."""
    try:
        return READERS[source](content)
    except ForecastError as error:
        return str(error)


def is_sound(found):
    """Tell whether something was read, or a sentence said why not."""
    if isinstance(found, str):
        return len(found) > 10 and found.isprintable()
    return all(str(remark).isprintable() for remark in getattr(found, "remarks", ()))


@given(st.sampled_from(SOURCES), st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(source, content):
    assert is_sound(outcome(source, content))


@given(st.sampled_from(SOURCES), st.text(max_size=300))
def test_any_text_is_read_or_refused(source, text):
    assert is_sound(outcome(source, text))


@given(st.sampled_from(SOURCES), anything)
def test_any_json_is_read_or_refused(source, document):
    assert is_sound(outcome(source, json.dumps(document).encode()))


@given(st.sampled_from(sorted(DOCUMENTS)), st.data())
def test_any_value_anywhere_is_read_or_refused(source, data):
    document = json.loads(json.dumps(DOCUMENTS[source]))
    holder, depth = document, data.draw(st.integers(0, 5))
    while True:
        key = data.draw(st.sampled_from(list(holder) if isinstance(holder, dict) else range(len(holder))))
        if depth == 0 or not isinstance(holder[key], dict | list) or not holder[key]:
            break
        holder, depth = holder[key], depth - 1
    holder[key] = data.draw(anything)

    assert is_sound(outcome(source, json.dumps(document).encode()))


@given(st.sampled_from(SOURCES), st.integers())
def test_any_broken_document_is_read_or_refused(source, seed):
    assert is_sound(outcome(source, broken(source, Random(seed))))  # noqa: S311  # Hypothesis picks the seed


minutes = st.integers(0, 600).map(lambda count: count / 60)
rains = st.lists(st.tuples(st.integers(1, 72 * 60), st.floats(0, 100)), min_size=1, max_size=10)


@given(minutes, rains)
def test_no_rain_is_lost_or_made_when_it_is_shared_out(first, falls):
    entries, begin = [], first * 60
    for length, fall in falls:
        entries.append((begin / 60, f"PT{length}M", fall))
        begin += length

    forecast = read_gridpoint(
        dumped(gridpoint(quantitativePrecipitation=layer("wmoUnit:mm", *entries))), fetched_at=NOW
    )

    total = sum(spell.rain for spell in forecast.spells if spell.rain is not None)
    assert total == pytest.approx(sum(fall for _, fall in falls) / 1000, abs=1e-12)
    assert all(spell.rain is None or spell.rain >= 0 for spell in forecast.spells)


runs = st.lists(st.tuples(st.integers(1, 12), st.floats(60, 200)), min_size=1, max_size=8)


def laid(runs, merged):
    """Return a layer of runs of hours, each run as one interval or hour by hour."""
    entries, begin = [], 0
    for count, gust in runs:
        hours = [(begin, f"PT{count}H", gust)] if merged else [(begin + n, "PT1H", gust) for n in range(count)]
        entries += hours
        begin += count
    return layer(KM_H, *entries)


@given(runs)
def test_merged_hours_and_single_hours_agree(runs):
    one, other = (
        read_gridpoint(dumped(gridpoint(windGust=laid(runs, merged))), fetched_at=NOW) for merged in (True, False)
    )

    assert one == other
    assert [spell.gust for spell in one.spells][: sum(count for count, _ in runs)] == [
        pytest.approx(gust / 3.6) for count, gust in runs for _ in range(count)
    ]


@given(st.integers(0, 1000), st.integers(1, 44_000))
def test_the_three_ways_to_write_an_interval_agree(begin, length):
    start, end = at(begin / 60), at((begin + length) / 60)
    ways = [
        f"{start.isoformat()}/{end.isoformat()}",
        f"{start.isoformat()}/PT{length}M",
        f"PT{length}M/{end.isoformat()}",
    ]

    one, *others = (
        read_gridpoint(
            dumped(gridpoint(windGust={"uom": KM_H, "values": [{"validTime": way, "value": 92.6}]})), fetched_at=NOW
        )
        for way in ways
    )

    assert all(other == one for other in others)


@given(st.lists(st.floats(0.1, 110), min_size=1, max_size=30), st.randoms())
def test_the_order_of_entries_does_not_matter(gusts, random):
    entries = [(hour, "PT1H", gust * 3.6) for hour, gust in enumerate(gusts)]
    shuffled = random.sample(entries, len(entries))

    one, other = (
        read_gridpoint(dumped(gridpoint(windGust=layer(KM_H, *order))), fetched_at=NOW) for order in (entries, shuffled)
    )

    assert one.spells == other.spells


# Exact factors from m/s: 3600/1000, 3600/1609.344, 3600/1852.
@given(
    st.lists(st.floats(0.1, 110), min_size=1, max_size=24),
    st.sampled_from([("km/h", 3.6), ("mp/h", 3600 / 1609.344), ("kn", 3600 / 1852)]),
)
def test_a_gust_does_not_depend_on_its_unit(gusts, unit):
    label, factor = unit
    converted = [gust * factor for gust in gusts]
    calm = [0.0] * len(gusts)

    forecast = read_open_meteo(
        dumped(open_meteo(len(gusts), wind_gusts_10m=converted, wind_speed_10m=calm, weather_code=calm,
                          units={"wind_gusts_10m": label})),
        fetched_at=NOW,
    )  # fmt: skip

    assert [spell.gust for spell in forecast.spells] == pytest.approx(gusts)


@given(st.lists(st.integers(0, 400), min_size=1, max_size=20, unique=True), st.floats(1, 100))
def test_a_row_means_the_same_by_the_farms_clock_and_with_its_offset(hours, gust):
    local = "".join(f"{at(hour).astimezone(CHICAGO):%Y-%m-%d %H:%M},{gust:.3f}\n" for hour in hours)
    exact = "".join(f"{at(hour).isoformat()},{gust:.3f}\n" for hour in hours)

    one, other = (read_table(f"time,gust m/s\n{rows}", zone=CHICAGO, fetched_at=NOW) for rows in (local, exact))

    assert one == other
    assert {spell.start for spell in one.spells if spell.gust} == {at(hour) for hour in hours}
    assert all(spell.end - spell.start >= HOUR for spell in one.spells)
