"""The worker's sign of life."""

from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone

from maintenance import tasks
from maintenance.models import Heartbeat
from maintenance.services import LONGEST_SILENCE, is_beating, record_heartbeat

NOON = datetime(2026, 3, 29, 12, tzinfo=UTC)

pytestmark = pytest.mark.django_db


def test_the_task_notes_the_present():
    before = timezone.now()

    tasks.record_heartbeat()

    assert before <= Heartbeat.objects.get(name="worker").beat_at <= timezone.now()


def test_a_second_beat_moves_the_first():
    record_heartbeat(name="worker", now=NOON)
    record_heartbeat(name="worker", now=NOON + timedelta(minutes=1))

    assert [(beat.name, beat.beat_at) for beat in Heartbeat.objects.all()] == [("worker", NOON + timedelta(minutes=1))]


@pytest.mark.parametrize(
    ("silence", "beating"),
    [(timedelta(0), True), (LONGEST_SILENCE - timedelta(seconds=1), True), (LONGEST_SILENCE, False)],
)
def test_a_long_silence_is_noticed(silence, beating):
    record_heartbeat(name="worker", now=NOON)

    assert is_beating(name="worker", now=NOON + silence) is beating


def test_what_never_lived_does_not_beat():
    record_heartbeat(name="worker", now=NOON)

    assert not is_beating(name="clock", now=NOON)
