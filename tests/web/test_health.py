"""The answer to a monitor."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from maintenance.services import record_heartbeat

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("age", "status", "worker"), [(timedelta(seconds=30), 200, "working"), (timedelta(hours=1), 503, "silent")]
)
def test_a_stranger_is_told_whether_the_worker_works(client, age, status, worker):
    record_heartbeat(name="worker", now=timezone.now() - age)

    answer = client.get(reverse("health"))

    assert (answer.status_code, answer.json()) == (status, {"worker": worker})


def test_a_worker_that_never_ran_is_silent(client):
    assert client.get(reverse("health")).status_code == 503
