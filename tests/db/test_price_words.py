"""Prices kept per any word before become prices per one of six measures, and no word is lost."""

from __future__ import annotations

from importlib import import_module
from types import SimpleNamespace

import pytest
from django.apps import apps
from django.db import connection

from tests.factories import make_farm, make_material

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("word", "measure", "notes"),
    [
        ("length", "stock", "Ask for galvanised."),
        ("Piece", "each", "Ask for galvanised."),
        (" sq ft ", "ft2", "Ask for galvanised."),
        ("foot", "ft", "Ask for galvanised."),
        ("", "", "Ask for galvanised."),
        ("roll", "", "Ask for galvanised.\nPrice is per: roll"),
    ],
)
def test_words_become_measures(word, measure, notes):
    kept = make_material(make_farm(), price="3.00", price_per=word, notes="Ask for galvanised.")
    step = import_module("doors.migrations.0005_price_words")

    step.choose_measures(apps, SimpleNamespace(connection=connection))

    kept.refresh_from_db()
    assert (kept.price_per, kept.notes) == (measure, notes)
