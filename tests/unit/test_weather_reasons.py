"""Every reason is a sentence whose places somebody fills, and foreign words cannot break it."""

import re

import pytest

from maintenance.weather import FIGURES, MESSAGES, ForecastError, Remark
from maintenance.weather.reasons import Notes, clean, shown


@pytest.mark.parametrize("reason", MESSAGES)
def test_every_reason_is_a_sentence(reason):
    text = MESSAGES[reason]

    assert text[-1] == "."
    assert text[0].isupper() or text[0] in "%“"
    assert re.sub(r"%\(\w+\)s", "", text).count("%") == 0


def test_a_remark_names_its_figure_and_counts():
    notes = Notes()

    notes.add("absurd", "noon", "gust")
    notes.add("absurd", "one o'clock", "gust")
    notes.add("absurd", "noon", "wind")

    assert notes.remarks() == (
        Remark("absurd", {"count": 2, "first": "noon", "figure": "gust"}),
        Remark("absurd", {"count": 1, "first": "noon", "figure": "wind"}),
    )
    assert str(notes.remarks()[1]) == (
        "Entries for the mean wind that cannot be true are left out: 1, the first at noon."
    )


def test_an_error_can_be_put_into_other_words():
    error = ForecastError("too_large", limit=5)

    assert error.template % error.params == str(error)
    assert error.template == MESSAGES["too_large"]


@pytest.mark.parametrize(
    ("text", "cleaned"),
    [("a\0b\nc\t d", "a b c d"), ("\ud800", "?"), ("x" * 300, "x" * 199 + "…"), ("\u202egnp.exe", "gnp.exe")],
)
def test_foreign_words_are_made_harmless(text, cleaned):
    assert clean(text) == cleaned


@pytest.mark.parametrize(("value", "text"), [(None, ""), ([1], "list"), ({}, "dict"), (1.5, "1.5"), (True, "True")])
def test_other_values_are_shown_briefly(value, text):
    assert shown(value) == text


def test_every_figure_has_a_name():
    assert set(FIGURES) == {
        "wind", "gust", "upper_gust", "bearing_deg", "temperature", "rain", "snow", "thunder", "time",
    }  # fmt: skip
