"""A forecast typed in by the farm: units from the headers, times by the farm's clock, all complaints at once."""

import json
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from maintenance.weather import ForecastError, Place, read_table
from tests.weather_documents import CSV, HOUR, NOW, ROWS, at, dumped

CHICAGO = ZoneInfo("America/Chicago")
MPH = 1609.344 / 3600  # m/s


def read(content, now=NOW):
    return read_table(content, zone=CHICAGO, fetched_at=now)


def refused(content, now=NOW):
    with pytest.raises(ForecastError) as caught:
        read(content, now)
    return caught.value


def problems(content, now=NOW):
    return [(problem.reason, problem.params["row"]) for problem in refused(content, now).problems]


@pytest.mark.parametrize(
    "content",
    [
        CSV,
        CSV.encode(),
        b"\xef\xbb\xbf" + CSV.encode(),
        CSV.encode("utf-16"),
        CSV.replace("\n", "\r\n"),
        CSV.replace(",", ";"),
        CSV.replace(",", "\t"),
        "\n\n" + CSV + "\n,,,\n",
        CSV.replace("time,", "Hora,").replace("direction", "Dirección"),
        CSV.replace("2026-03-09 06:00", "2026-03-09T06:00:00-05:00"),
        CSV.replace("2026-03-09 06:00", "2026-03-09 11:00Z"),
    ],
)
def test_a_csv_file_is_read(content):
    forecast = read(content)

    assert [spell.start for spell in forecast.spells] == [at(hour) for hour in range(4)]
    assert [spell.end for spell in forecast.spells] == [at(hour) for hour in range(1, 5)]
    assert [spell.gust for spell in forecast.spells] == [
        pytest.approx(30 * MPH), pytest.approx(45 * MPH), pytest.approx(58 * MPH), None,
    ]  # fmt: skip
    assert [spell.bearing_deg for spell in forecast.spells] == [225, 240, 270, 270]
    first, third = forecast.spells[0], forecast.spells[2]
    assert (first.temperature, first.rain) == pytest.approx((278.15, 0.00254))
    assert first.snow is None
    assert third.rain is None
    assert third.snow == pytest.approx(0.0127)
    assert [remark.reason for remark in forecast.remarks] == ["gust_unknown"]


@pytest.mark.parametrize("document", [ROWS, {"rows": ROWS}])
def test_json_rows_are_read(document):
    forecast = read_table(dumped(document), zone=CHICAGO, fetched_at=NOW, place=Place(41.0, -96.0))

    assert [(spell.start, spell.gust, spell.bearing_deg) for spell in forecast.spells] == [
        (at(0), 13.4, 225), (at(1), 20.1, None),
    ]  # fmt: skip
    assert forecast.place == Place(41.0, -96.0)


@pytest.mark.parametrize(
    ("header", "speed"),
    [
        ("gust mph", 10 * MPH),
        ("Gust (mph)", 10 * MPH),
        ("GUST_M_S", 10),
        ("gust [m/s]", 10),
        ("gusts km/h", 10 / 3.6),
        ("gust kn", 10 * 1852 / 3600),
        ("gust kt", 10 * 1852 / 3600),
        ("rachas km/h", 10 / 3.6),
    ],
)
def test_a_header_may_be_written_in_many_ways(header, speed):
    assert read(f"time,{header}\n2026-03-09 06:00,10\n").spells[0].gust == pytest.approx(speed)


@pytest.mark.parametrize(("header", "kelvin"), [("temp F", 283.15), ("temperature °F", 283.15), ("Temp C", 323.15)])
def test_temperatures_know_their_unit(header, kelvin):
    assert read(f"time,mean mph,{header}\n2026-03-09 06:00,10,50\n").spells[0].temperature == pytest.approx(kelvin)


@pytest.mark.parametrize(("cell", "speed"), [("12.5", 12.5), ('"12,5"', 12.5), (" 12 ", 12), ("+.5", 0.5), ("7.", 7)])
def test_numbers_may_be_written_in_many_ways(cell, speed):
    assert read(f"time,gust m/s\n2026-03-09 06:00,{cell}\n").spells[0].gust == speed


def test_an_upper_gust_is_kept_and_never_below_the_gust():
    forecast = read("time,gust m/s,upper gust m/s\n2026-03-09 06:00,20,26\n2026-03-09 07:00,20,15\n")

    assert [spell.upper_gust for spell in forecast.spells] == [26, 20]


def test_rows_hold_until_the_next_and_a_longer_hole_is_told():
    rows = "".join(f"2026-03-09 {hour:02}:00,20\n" for hour in (6, 9, 12, 21))

    forecast = read(f"time,gust m/s\n{rows}")

    assert [(spell.start, spell.end, spell.gust) for spell in forecast.spells] == [
        (at(0), at(3), 20), (at(3), at(6), 20), (at(6), at(9), 20), (at(9), at(15), None), (at(15), at(18), 20),
    ]  # fmt: skip
    assert [remark.reason for remark in forecast.remarks] == ["gap", "gust_unknown"]


def test_where_no_step_is_usual_the_shorter_counts():
    forecast = read("time,gust m/s\n2026-03-09 06:00,20\n2026-03-09 07:00,20\n2026-03-09 09:00,20\n")

    assert [spell.gust for spell in forecast.spells] == [20, 20, None, 20]


def test_rows_need_not_be_in_order():
    forecast = read("time,gust m/s\n2026-03-09 07:00,2\n2026-03-09 06:00,1\n")

    assert [spell.gust for spell in forecast.spells] == [1, 2]


# The nights the clocks change in Chicago: 8 March 2026, 02:00 to 03:00; 1 November 2026, 02:00 back to 01:00.


def test_a_time_no_clock_shows_is_told_with_what_to_write():
    error = refused("time,gust mph\n2026-03-08 01:30,10\n2026-03-08 02:30,20\n2026-03-08 03:30,20\n")

    assert [problem.reason for problem in error.problems] == ["row_skipped"]
    assert str(error) == (
        "Rows that need a change: 1. Row 3: 2026-03-08 02:30 does not exist, the clocks go forward then. "
        "Write 2026-03-08 01:30-06:00 or 2026-03-08 03:30-05:00."
    )


def test_a_time_that_comes_twice_is_told_with_what_to_write():
    november = datetime(2026, 10, 31, 12, tzinfo=UTC)
    table = "time,gust mph\n2026-11-01 00:30,10\n2026-11-01 01:30,20\n2026-11-01 02:30,30\n"

    error = refused(table, november)

    assert [problem.reason for problem in error.problems] == ["row_repeated"]
    assert "Write 2026-11-01 01:30-05:00 or 2026-11-01 01:30-06:00." in str(error)
    clear = table.replace("01:30,20", "01:30-05:00,20\n2026-11-01 01:30-06:00,25")
    assert [spell.end - spell.start for spell in read(clear, november).spells] == [HOUR] * 4


def test_every_row_that_needs_a_change_is_told_at_once():
    table = """time,gust mph,direction
2026-03-09 06:00,fast,W
tomorrow,20,W
2026-03-09 08:00,"1,200",W
2026-03-09 09:00,20,up
2026-03-09 10:00,-5,W
2026-03-09 11:00,900,W
2026-03-09 12:00,20,361
2026-03-09 13:00,20,W,more
2026-03-09 14:00,20,W
2026-03-09 14:00,25,W
2062-03-09 14:00,20,W
,20,W
2026-03-09 16:00,20
"""

    error = refused(table)

    assert [(problem.reason, problem.params["row"]) for problem in error.problems] == [
        ("row_number", 2), ("row_time", 3), ("row_comma", 4), ("row_number", 5), ("row_absurd", 6), ("row_absurd", 7),
        ("row_absurd", 8), ("row_cells", 9), ("row_time_twice", 11), ("row_far", 12), ("row_time", 13),
    ]  # fmt: skip
    assert error.params["count"] == 11
    assert "Row 2: “fast” is not a number for the gust." in str(error)


def test_a_row_that_ends_before_its_time_is_told():
    assert problems("gust mph,time\n20\n") == [("row_time", 2)]


def test_of_very_many_problems_the_first_are_spelled_out_and_all_are_kept():
    error = refused("time,gust mph\n" + "never,1\n" * 5000)

    assert len(error.problems) == 5000
    assert str(error).count(" Row ") == 20


@pytest.mark.parametrize(
    "time",
    [
        "2026-03-09", "9 March", "3/9/2026 14:00", "2026-02-30 14:00", "2026-03-09 25:00", "2026-03-09T14", "14:00",
        "٢٠٢٦-03-09 14:00",
    ],
)  # fmt: skip
def test_times_written_otherwise_are_told(time):
    assert problems(f"time,gust mph\n{time},10\n") == [("row_time", 2)]


@pytest.mark.parametrize("time", ["0001-01-01 00:00", "9999-12-31 23:59", "1926-03-09 12:00", "2126-03-09 12:00Z"])
def test_times_centuries_away_are_told(time):
    assert problems(f"time,gust mph\n{time},10\n") == [("row_far", 2)]


@pytest.mark.parametrize("cell", ["nan", "inf", "1e400", "1_0", "٥", "0x10", "9" * 300, "--1", "1.2.3", "true"])
def test_what_is_no_number_is_told(cell):
    assert problems(f"time,gust mph\n2026-03-09 06:00,{cell}\n") == [("row_number", 2)]


@pytest.mark.parametrize("value", [True, [1], {"a": 1}, "x" * 5000, float("nan"), float("inf"), 10**300])
def test_what_is_no_number_in_json_is_told(value):
    rows = [{"time": "2026-03-09 06:00", "gust mph": value}]

    assert [row for _, row in problems(json.dumps(rows))] == [1]


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        ("", "empty"),
        (b"\x81\x8d", "not_text"),
        (b"a\0b", "not_text"),
        (b"\xff\xfea", "not_text"),
        (b" " * (5 * 1024 * 1024 + 1), "too_large"),
        ("<html></html>", "html"),
        (",,,\n,,", "no_rows"),
        ("time,gust mph\n", "no_rows"),
        ("[]", "no_rows"),
        ("[{}, {}]", "no_rows"),
        ("[[]]", "wrong_shape"),
        ('{"table": []}', "wrong_shape"),
        ("[{]", "not_json"),
        ("gust mph,mean mph\n1,2\n", "no_time"),
        ("time,rain in\n2026-03-09 06:00,1\n", "no_gust_column"),
        ("time,gust\n2026-03-09 06:00,1\n", "column_unit"),
        ("time,gust furlongs\n2026-03-09 06:00,1\n", "column_unit"),
        ("time,gust mph,direction radians\n2026-03-09 06:00,1,1\n", "column_unit"),
        ("time,gust mph,humidity\n2026-03-09 06:00,1,1\n", "unknown_column"),
        ("time,gust mph,\n2026-03-09 06:00,1,\n", "unknown_column"),
        ("time utc,gust mph\n2026-03-09 06:00,1\n", "unknown_column"),
        ("time,gust mph,gusts km/h\n2026-03-09 06:00,1,1\n", "column_twice"),
        ("time,gust mph\n" + "2026-03-09 06:00,1\n" * 5001, "too_many"),
        ("time,gust mph\n2026-03-09 06:00,\"1\n", "not_text"),
        (",".join(["time"] * 40) + "\n", "too_many"),
        (json.dumps([{str(number): 1} for number in range(40)]), "too_many"),
        (json.dumps([{"time": 1}] * 5001), "too_many"),
        ("time,gust mph\n2026-03-09 06:00,\n", "no_wind"),
    ],
)  # fmt: skip
def test_what_is_no_table_is_refused(content, reason):
    error = refused(content)

    assert error.reason == reason
    assert str(error)[-1] == "."


def test_a_time_of_this_minute_is_the_time_of_issue():
    forecast = read(CSV)

    assert (forecast.source, forecast.issued_at) == ("table", NOW)
    assert forecast.spells[0].start - NOW == timedelta(minutes=-20)
