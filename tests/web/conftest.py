"""A farm, and who reads and changes it.

What needs the settings is imported inside: pytest reads this file before the settings are loaded.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from datetime import date

    from django.test import Client

    from farm.models import Farm


@pytest.fixture
def bare_farm(client: Client) -> Farm:
    """A farm in feet and inches whose storm wind comes from the west, and its manager logged in."""
    from tests.factories import make_farm, make_member

    farm = make_farm(storm_bearing_deg=Decimal(270))
    client.force_login(make_member(farm).user)
    return farm


@pytest.fixture
def farm(bare_farm: Farm) -> Farm:
    """The same with a book of materials."""
    from doors.book import start_book

    start_book(farm=bare_farm)
    return bare_farm


@pytest.fixture
def reader(client: Client, farm: Farm) -> Client:
    """The manager of the farm, logged in."""
    return client


@pytest.fixture
def today(farm: Farm) -> date:
    """The day it is on the farm."""
    from django.utils import timezone

    return timezone.localdate(timezone=farm.zone)
