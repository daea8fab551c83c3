"""The environment is read by typed readers that fail loudly."""

import pytest
from django.core.exceptions import ImproperlyConfigured

from farm import settings


@pytest.mark.parametrize(("text", "value"), [("1", True), ("yes", True), ("OFF", False), ("", False)])
def test_a_switch_is_read(monkeypatch, text, value):
    monkeypatch.setenv("GABLEKEEP_DEBUG", text)

    assert settings.read_bool("GABLEKEEP_DEBUG", default=False) is value
