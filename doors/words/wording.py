"""The core's keys in words: parts, checks, steps and gaps, with their figures in the reader's units."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils import formats
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from doors.codec import from_plain
from doors.sizing import Check, Facts, Missing, Step
from doors.words.names import BLOCKED, CHECKS, FIELDS, ITEMS, MARKS, PARTS, PLACES, SIDES, Words
from doors.words.sentences import REASONS, STEPS
from farm.units import format_length

BLANK = "____"  # to be filled in by hand


def part_name(key: str) -> str:
    """Return a part's name."""
    return _said(PARTS, key)


def mark_name(key: str) -> str:
    """Return what a row of marks stands for."""
    return _said(MARKS, key)


def item_name(key: str) -> str:
    """Return a hardware item's name."""
    return _said(ITEMS, key)


def place_name(key: str) -> str:
    """Return where hardware goes."""
    return _said(PLACES, key)


def field_name(key: str) -> str:
    """Return an input's name."""
    return _said(FIELDS, key)


def blocked_name(key: str) -> str:
    """Return the name of a result that a missing input blocks."""
    return _said(BLOCKED, key)


def check_name(key: str) -> str:
    """Return a check's name."""
    return _said(CHECKS, key)


def check_text(check: Check, units: str) -> str:
    """Return the outcome of a check as one sentence."""
    return _filled(REASONS, check.reason, check.figures, units)


def step_text(step: Step, units: str) -> str:
    """Return a step of the work as a sentence with its dimensions."""
    return _filled(STEPS, step.step, step.figures, units)


def missing_text(gap: Missing) -> str:
    """Return which input is missing and what it blocks."""
    blocks = ", ".join(blocked_name(key) for key in gap.blocks)
    return gettext("%(field)s is missing; it blocks: %(blocks)s.") % {
        "field": capitalised(field_name(gap.field)),
        "blocks": blocks,
    }


def reason_text(reason: Mapping[str, Any], units: str) -> str:
    """Return what a sizing keeps as the reason of its verdict in one sentence; empty where it simply fits."""
    if "check" in reason:
        check: Check = from_plain(Check, reason["check"])
        return check_text(check, units)
    if "missing" in reason:
        gap: Missing = from_plain(Missing, reason["missing"])
        return missing_text(gap)
    return refusal_text(reason["refusal"], units) if "refusal" in reason else ""


def refusal_text(refusal: Mapping[str, Any], units: str) -> str:
    """Return why the core could not take an opening; ``refusal`` is what a sizing's reason keeps."""
    is_length = bool(refusal.get("is_length", True))

    def shown(value: float | None) -> str:
        if value is None:
            return ""
        if is_length:
            return format_length(value, units)
        return formats.number_format(int(value) if float(value).is_integer() else value)

    sentences = {
        "above": _("%(field)s is %(value)s but must be more than %(limit)s."),
        "at least": _("%(field)s is %(value)s but must be at least %(limit)s."),
        "below": _("%(field)s is %(value)s but must be less than %(limit)s."),
        "at most": _("%(field)s is %(value)s but must be at most %(limit)s."),
        "exactly": _("%(field)s is %(value)s but must be %(limit)s."),
        "finite": _("%(field)s must be a number."),
    }
    return str(sentences[refusal["relation"]]) % {
        "field": capitalised(field_name(refusal["field"])),
        "value": shown(refusal.get("value")),
        "limit": shown(refusal.get("limit")),
    }


def capitalised(text: str) -> str:
    """Return a text with its first letter large, the rest as it is."""
    return text[:1].upper() + text[1:]


def _said(words: Words, key: str) -> str:
    return str(words.get(key, key.replace("_", " ")))


def _filled(words: Words, key: str, figures: Facts, units: str) -> str:
    """Return a sentence with lengths in the reader's units, numbers by the locale and names in words."""
    shown = {name: format_length(value, units, short=True) for name, value in figures.lengths.items()}
    shown |= {name: _number(value) for name, value in figures.numbers.items()}
    shown |= {name: _name(name, value) for name, value in figures.names.items()}
    shown["joint_words"] = gettext(", joined %s from its left end") % shown["joint"] if "joint" in shown else ""
    shown["crank_words"] = gettext(", %s of the crank") % shown["crank"] if "crank" in shown else ""
    return capitalised(_said(words, key).format_map(_Blank(shown)))


def _name(name: str, value: str) -> str:
    if name == "field":
        return field_name(value)
    if name == "part":
        return part_name(value)
    if name == "side":
        return str(SIDES.get(value, value)) or BLANK
    if name == "other":
        return str(SIDES.get(value, value)) or gettext("another opening")
    return value or gettext("What must pass")


def _number(value: float) -> str:
    whole = round(value)
    return formats.number_format(whole if abs(value - whole) < 0.05 else round(value, 1))


class _Blank(dict[str, str]):
    """Prints a figure that could not be worked out as a blank to fill in by hand."""

    def __missing__(self, key: str) -> str:
        return BLANK
