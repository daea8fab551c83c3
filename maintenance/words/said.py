"""The farm's own words, kept by language, and what people are called."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from maintenance.practice.texts import fill

if TYPE_CHECKING:
    from maintenance.models import Plan, Routine

FALLBACK = "en"


def said(texts: Mapping[str, Any], language: str | None = None) -> Any:
    """Return the text, or the lines, in a language: the reader's by default, else English, else any there is."""
    wanted = (language or get_language() or FALLBACK).partition("-")[0]
    return texts.get(wanted) or texts.get(FALLBACK) or next((text for text in texts.values() if text), "")


def said_in_units(texts: Mapping[str, Any], units: str, language: str | None = None) -> str:
    """Return a text in the reader's language with its quantities in the reader's units."""
    return fill(str(said(texts, language)), units)


def lines_in_units(texts: Mapping[str, Sequence[str]], units: str, language: str | None = None) -> list[str]:
    """Return the lines of a list in the reader's language and units."""
    return [fill(line, units) for line in said(texts, language) or ()]


def routine_name(routine: Routine, units: str) -> str:
    """Return what a routine is called."""
    return said_in_units(routine.name, units) or routine.code


def plan_name(plan: Plan, units: str) -> str:
    """Return what is to be done: the plan's own words, else its routine's name; the routine must be loaded."""
    return plan.what or routine_name(plan.routine, units)


def person(user: Any) -> str:
    """Return what a person is called, also one whose account is gone."""
    return (user.get_full_name() or user.get_username()) if user else _("somebody")
