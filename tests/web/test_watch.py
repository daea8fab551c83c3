"""The banner on a farm's pages: loud where something does not work, and nothing at all when all is well."""

from __future__ import annotations

from datetime import timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from django.core.cache import cache
from django.db import connection
from django.template import Context, Template
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from farm.models import Farm, Membership
from maintenance.models import Forecast, Heartbeat
from tests.factories import make_farm, make_member

pytestmark = pytest.mark.django_db
LOCAL = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}


def well(farm: Farm, hours: float = 1) -> None:
    """Let all be well but a forecast so old."""
    now = timezone.now()
    Heartbeat.objects.update_or_create(name="worker", defaults={"beat_at": now})
    then = now - timedelta(hours=hours)
    Forecast.objects.create(farm=farm, source="typed", issued_at=then, fetched_at=then, spells=[])


def banner(member: Membership) -> str:
    request: Any = SimpleNamespace(farm=member.farm, membership=member)
    return Template("{% load watch %}{% watch_banner %}").render(Context({"request": request})).strip()


def test_nothing_at_all_is_printed_when_all_is_well():
    member = make_member()
    well(member.farm)

    assert banner(member) == ""


def test_a_page_outside_a_farm_has_none():
    assert Template("{% load watch %}{% watch_banner %}").render(Context({})).strip() == ""


def test_an_old_forecast_stands_behind_a_signal_word():
    member = make_member(role="viewer")
    well(member.farm, hours=9)

    text = banner(member)

    assert '<p class="signal ">WARNING</p>' in text
    assert "The forecast was typed in 9 hours ago. Do not take quiet for calm" in text


def test_what_is_not_set_up_only_managers_read():
    farm = make_farm()
    Heartbeat.objects.create(name="worker", beat_at=timezone.now())

    assert "There is no forecast" in banner(make_member(farm, "manager"))
    assert banner(make_member(farm, "crew")) == ""


def test_twenty_seconds_of_pages_ask_once(settings):
    settings.CACHES = LOCAL
    cache.clear()
    member, other = make_member(), make_member()
    well(member.farm)

    with CaptureQueriesContext(connection) as first:
        banner(member)
    with CaptureQueriesContext(connection) as second:
        banner(member)
    with CaptureQueriesContext(connection) as others:
        banner(other)
    cache.clear()

    assert (len(first), len(second), len(others)) == (2, 0, 2)
