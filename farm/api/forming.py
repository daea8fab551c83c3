"""From a body to a form and back: the rules of what can be stand in the forms, once, for people and programs."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from decimal import Decimal
from typing import Any, Final

from django import forms
from django.db import IntegrityError, transaction
from django.db.models import Model
from django.utils.translation import gettext as _

from farm.api.problems import Problem, Wrong
from farm.formfields import BearingField, KnownField, LengthField, ProfileField, plain

EVERYWHERE: Final = "__all__"


def written(field: forms.Field, value: Any) -> Any:
    """Return a value as somebody would write it into a field: lengths in millimetres, days as ISO has them."""
    if value is None:
        return ""
    if isinstance(field, LengthField):
        return f"{plain(Decimal(str(value)))} mm"
    if isinstance(field, ProfileField):
        return "\n".join("; ".join(f"{plain(Decimal(str(part)))} mm" for part in point) for point in value)
    if isinstance(field, KnownField):
        return "yes" if value else "no"
    if isinstance(field, BearingField):
        return plain(Decimal(str(value)))
    if isinstance(value, bool | list):
        return value
    if isinstance(value, Decimal):
        return plain(value)
    return value.isoformat() if isinstance(value, date) else str(value)


def filled(fields: Mapping[str, forms.Field], values: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a form is filled in with."""
    return {name: written(fields[name], value) for name, value in values.items() if name in fields}


def as_it_stands(fields: Mapping[str, forms.Field], row: Model) -> dict[str, Any]:
    """Return a form's data for a row as it is: what a body does not name stays so."""
    names = {column.name: column.attname for column in row._meta.concrete_fields}
    return filled(fields, {name: getattr(row, names[name]) for name in fields if name in names})


def require_valid(form: forms.BaseForm, names: Mapping[str, str] | None = None) -> None:
    """Refuse what a form refuses, with its sentences; ``names`` maps its fields to those of the body."""
    if form.is_valid():
        return
    wrong = [
        Wrong(str(message), pointer="" if field == EVERYWHERE else f"/{(names or {}).get(field, field)}")
        for field, messages in form.errors.items()
        for message in messages
    ]
    raise refused(wrong)


def refused(wrong: list[Wrong]) -> Problem:
    """Return the problem of a body that was read and cannot be."""
    return Problem("refused", " ".join(each.detail for each in wrong) or _("Some of it cannot be so."), errors=wrong)


def wrong_at(pointer: str, detail: str) -> Problem:
    """Return the problem of one value of a body."""
    return refused([Wrong(detail, pointer=pointer)])


@contextmanager
def saving() -> Iterator[None]:
    """Keep all or nothing; where somebody else was quicker, say so."""
    try:
        with transaction.atomic():
            yield
    except IntegrityError as error:
        said = _("Somebody changed the register at the same moment. Read it again, above all the code.")
        raise Problem("conflict", said) from error


@contextmanager
def told(*kinds: type[Exception], say: Callable[[Exception], str] = str) -> Iterator[None]:
    """Turn a service's refusal, which is a sentence for people, into a problem."""
    try:
        yield
    except kinds as error:
        raise Problem("conflict", say(error)) from error
