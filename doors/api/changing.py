"""A change of a row of the register: what a body names, the rest as it stands, through the form that people use."""

from __future__ import annotations

from typing import Any, TypeVar

from django.db.models import Model
from django.utils.translation import gettext as _
from pydantic import BaseModel

from farm.api.forming import as_it_stands, filled, refused, require_valid
from farm.api.problems import Wrong
from farm.formbase import RegisterForm

Form = TypeVar("Form", bound=RegisterForm)


def changed_form(kind: type[Form], row: Model, body: BaseModel, **how: Any) -> tuple[Form, list[str]]:
    """Return the valid form of a row with the changes of a body, and the columns to save.

    Raises
    ------
    Problem
        If the form refuses the whole, or the body names what this row cannot change.
    """
    fields = kind(instance=row, **how).fields
    values = body.model_dump(exclude_unset=True)
    if fixed := [name for name in values if name not in fields]:
        raise refused([Wrong(_("This cannot be changed here as things stand."), pointer=f"/{name}") for name in fixed])
    form = kind({**as_it_stands(fields, row), **filled(fields, values)}, instance=row, **how)
    require_valid(form)
    return form, [name for name in form.changed_data if name in values]
