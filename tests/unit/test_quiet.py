"""Quiet hours by a farm's clock. When clocks change is of the IANA time zone database, version 2024a and later."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.messages.quiet import after_quiet, moment

NEW_YORK, MADRID, LORD_HOWE, SANTIAGO = (
    ZoneInfo(name) for name in ("America/New_York", "Europe/Madrid", "Australia/Lord_Howe", "America/Santiago")
)
ZONES = [NEW_YORK, MADRID, LORD_HOWE, SANTIAGO, ZoneInfo("UTC"), ZoneInfo("Asia/Kolkata")]


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("zone", "day", "wall", "instant"),
    [
        # Forward: 2026-03-08 2:00 EST to 3:00 EDT; 2026-03-29 2:00 CET to 3:00 CEST.
        (NEW_YORK, "2026-03-08", "02:30", "2026-03-08T07:00"),
        (NEW_YORK, "2026-03-08", "03:00", "2026-03-08T07:00"),
        (NEW_YORK, "2026-03-08", "01:59", "2026-03-08T06:59"),
        (MADRID, "2026-03-29", "02:15", "2026-03-29T01:00"),
        # By half an hour: 2026-10-04 2:00 +10:30 to 2:30 +11.
        (LORD_HOWE, "2026-10-04", "02:10", "2026-10-03T15:30"),
        # At midnight: 2026-09-06 0:00 -04 to 1:00 -03.
        (SANTIAGO, "2026-09-06", "00:00", "2026-09-06T04:00"),
        (SANTIAGO, "2026-09-06", "00:59", "2026-09-06T04:00"),
        (MADRID, "2026-07-01", "05:00", "2026-07-01T03:00"),
    ],
)
def test_a_time_the_clock_skips_is_the_moment_it_jumps(zone, day, wall, instant):
    assert moment(date.fromisoformat(day), time.fromisoformat(wall), zone) == utc(instant)


@pytest.mark.parametrize(
    ("zone", "day", "wall", "first", "last"),
    [
        (NEW_YORK, "2026-11-01", "01:30", "2026-11-01T05:30", "2026-11-01T06:30"),
        (MADRID, "2026-10-25", "02:00", "2026-10-25T00:00", "2026-10-25T01:00"),
        (LORD_HOWE, "2026-04-05", "01:45", "2026-04-04T14:45", "2026-04-04T15:15"),
        (MADRID, "2026-10-25", "03:00", "2026-10-25T02:00", "2026-10-25T02:00"),
    ],
)
def test_a_time_the_clock_shows_twice_is_told_apart(zone, day, wall, first, last):
    on, at = date.fromisoformat(day), time.fromisoformat(wall)

    assert (moment(on, at, zone), moment(on, at, zone, last=True)) == (utc(first), utc(last))


@pytest.mark.parametrize(
    ("zone", "hours", "now", "then"),
    [
        # Over midnight, before and after it, and at both ends.
        (MADRID, "21:00 05:00", "2026-07-01T18:59", "2026-07-01T18:59"),
        (MADRID, "21:00 05:00", "2026-07-01T19:00", "2026-07-02T03:00"),
        (MADRID, "21:00 05:00", "2026-07-02T02:59", "2026-07-02T03:00"),
        (MADRID, "21:00 05:00", "2026-07-02T03:00", "2026-07-02T03:00"),
        # Within a day; and none at all.
        (MADRID, "12:00 15:00", "2026-07-01T12:30", "2026-07-01T13:00"),
        (MADRID, "12:00 15:00", "2026-07-01T09:59", "2026-07-01T09:59"),
        (MADRID, "05:00 05:00", "2026-07-01T12:30", "2026-07-01T12:30"),
        # The night is an hour shorter, and an hour longer.
        (NEW_YORK, "21:00 05:00", "2026-03-08T04:00", "2026-03-08T09:00"),
        (NEW_YORK, "21:00 05:00", "2026-11-01T04:00", "2026-11-01T10:00"),
        (LORD_HOWE, "21:00 05:00", "2026-10-03T12:00", "2026-10-03T18:00"),
        # An end that is skipped: at the jump. One that comes twice: the second.
        (NEW_YORK, "21:00 02:30", "2026-03-08T06:30", "2026-03-08T07:00"),
        (NEW_YORK, "21:00 01:30", "2026-11-01T05:45", "2026-11-01T06:30"),
        (MADRID, "22:00 02:30", "2026-10-25T00:45", "2026-10-25T01:30"),
        (LORD_HOWE, "21:00 01:45", "2026-04-04T14:50", "2026-04-04T15:15"),
        # A beginning that is skipped, and one that comes twice: the first.
        (SANTIAGO, "00:30 05:00", "2026-09-06T04:00", "2026-09-06T08:00"),
        (NEW_YORK, "01:30 05:00", "2026-11-01T05:30", "2026-11-01T10:00"),
        (NEW_YORK, "01:30 05:00", "2026-11-01T06:10", "2026-11-01T10:00"),
    ],
)
def test_a_message_waits_for_the_end_of_quiet(zone, hours, now, then):
    start, end = (time.fromisoformat(part) for part in hours.split())

    assert after_quiet(utc(now), start, end, zone) == utc(then)


@given(
    now=st.datetimes(datetime(2024, 1, 1), datetime(2030, 1, 1), timezones=st.just(UTC)),
    start=st.times(), end=st.times(), zone=st.sampled_from(ZONES),
)  # fmt: skip
def test_nobody_waits_twice_or_longer_than_a_day(now, start, end, zone):
    then = after_quiet(now, start, end, zone)

    assert now <= then <= now + timedelta(hours=25)
    assert after_quiet(then, start, end, zone) == then


@given(
    day=st.dates(date(2024, 1, 1), date(2030, 1, 1)), wall=st.times(), zone=st.sampled_from(ZONES), last=st.booleans()
)
def test_the_clock_shows_the_time_or_jumps_over_it(day, wall, zone, last):
    instant = moment(day, wall, zone, last=last)

    shown, wanted = instant.astimezone(zone).replace(tzinfo=None), datetime.combine(day, wall)
    before = (instant - timedelta(seconds=1)).astimezone(zone).replace(tzinfo=None)
    assert shown == wanted or before < wanted < shown
