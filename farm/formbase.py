"""What every form of the register shares: the farm's units, headed groups, errors beside their fields."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, cast

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Model
from django.db.models.fields import BLANK_CHOICE_DASH
from django.forms.boundfield import BoundField
from django.utils.translation import gettext

from farm import fields
from farm.formfields import BearingField, KnownField, LengthField, set_units
from farm.models import Farm

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise as Text


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that stand under one heading; a folded group opens when it holds a value or an error."""

    heading: Text
    fields: tuple[str, ...]
    help: Text = ""
    folded: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """A group ready to print."""

    heading: Text
    help: Text
    fields: list[BoundField]
    is_folded: bool


def register_field(field: models.Field[Any, Any], **options: Any) -> forms.Field | None:
    """Return the form field of a column: lengths, bearings and unknown answers as people write them."""
    common = {"label": field.verbose_name, "required": not field.blank, "help_text": field.help_text}
    if isinstance(field, fields.MillimetreField):
        return LengthField(**{**common, **options})
    if isinstance(field, fields.BearingField):
        return BearingField(**{**common, **options})
    if isinstance(field, models.BooleanField) and field.null:
        return KnownField(**{**common, **options})
    return field.formfield(**options)


class RegisterForm(forms.ModelForm):  # type: ignore[type-arg]  # not generic at run time
    """A form of one row of a farm; an unchanged edit changes nothing."""

    groups: ClassVar[tuple[Group, ...]] = ()
    helps: ClassVar[Mapping[str, Text]] = {}
    least_zero: ClassVar[frozenset[str]] = frozenset()
    least_any: ClassVar[frozenset[str]] = frozenset()

    def __init__(self, *args: Any, farm: Farm, **kwargs: Any) -> None:
        self.farm = farm
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        set_units(self.fields.values(), farm.units)
        for name, field in self.fields.items():
            field.help_text = self.helps.get(name, field.help_text)
            if isinstance(field, forms.TypedChoiceField):
                _name_the_blank(field)
            if isinstance(field, LengthField):
                field.least = "zero" if name in self.least_zero else "any" if name in self.least_any else field.least

    def sections(self) -> Iterator[Section]:
        """Yield the groups with their fields, for the template."""
        for group in self.groups:
            bound = [self[name] for name in group.fields if name in self.fields]
            if bound:
                filled = any(field.errors or self._says_something(field) for field in bound)
                yield Section(group.heading, group.help, bound, group.folded and not filled)

    def _says_something(self, field: BoundField) -> bool:
        """Whether a field holds more than what every new row starts with."""
        value = field.value()
        if value in (None, "", [], False):
            return False
        columns = {column.name: column for column in self._meta.model._meta.concrete_fields}
        return field.name not in columns or str(value) != str(columns[field.name].get_default())

    @property
    def has_lengths(self) -> bool:
        """Whether the reader needs to know how lengths are written."""
        return any(isinstance(field, LengthField) for field in self.fields.values())

    def propose(self, values: Mapping[str, Any]) -> None:
        """Fill empty fields of a fresh form with proposals, and say beside each that it is one.

        A form that was filled in shows what was typed, so a proposal somebody cleared stays cleared.
        """
        for name, value in values.items():
            field = self.fields[name]
            field.help_text = f"{field.help_text} {gettext('Proposed; measure yours.')}".strip()
            if not self.is_bound:
                self.initial[name] = value

    def refuse(self, errors: Mapping[str, ValidationError]) -> None:
        """Add errors beside their fields, or at the top where this form has no such field."""
        for name, error in errors.items():
            self.add_error(name if name in self.fields else None, error)

    def clean_code(self) -> str:
        """Refuse a code another row of the farm bears."""
        code = str(self.cleaned_data.get("code", "")).strip()
        manager: models.Manager[Model] = self._meta.model._default_manager
        if code and manager.filter(farm=self.farm, code=code).exclude(pk=self.instance.pk).exists():
            raise ValidationError(
                gettext("The code “%(code)s” is taken. Write another, or leave the proposed one."),
                code="taken",
                params={"code": code},
            )
        return code


def _name_the_blank(field: forms.TypedChoiceField) -> None:
    """Say in words what the dashes of an empty choice mean."""
    choices: list[Any] = list(cast("Any", field.choices))
    if choices and choices[0] == BLANK_CHOICE_DASH[0]:
        field.choices = [("", gettext("choose") if field.required else gettext("not known")), *choices[1:]]
