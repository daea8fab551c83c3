"""Working out the storms of all farms."""

from datetime import UTC, datetime

import pytest

from maintenance.blow.assess import assess_farms
from tests.factories import make_farm


@pytest.mark.django_db
def test_a_farm_without_forecast_or_storm_costs_nothing(django_assert_max_num_queries):
    make_farm()

    with django_assert_max_num_queries(1):
        assert assess_farms(now=datetime(2026, 11, 17, 12, tzinfo=UTC)) == 0
