"""What the register's views share: the farm's day, a form's page, and the row a page is about."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from django import forms
from django.db import IntegrityError, transaction
from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext as _

from farm.access import FarmRequest
from farm.models import Farm

Text = str | Promise


def today(farm: Farm) -> date:
    """Return the day it is on the farm."""
    return timezone.localdate(timezone=farm.zone)


def posted(request: FarmRequest) -> QueryDict | None:
    """Return what a form was filled in with, or None where the page is only looked at."""
    return request.POST if request.method == "POST" else None


def form_page(
    request: FarmRequest, form: forms.BaseForm, *, template: str = "doors/form.html", **context: Any
) -> HttpResponse:
    """Show a form; one that came back with errors says so in its status.

    The template knows ``what`` (heading), ``where``, ``lead`` (one sentence), ``submit`` (the button's words),
    ``also`` (a second button: name and words) and ``back`` (where to leave to).
    """
    refused = form.is_bound and bool(form.errors)
    return render(request, template, {"form": form, **context}, status=422 if refused else 200)


def kept(form: forms.BaseForm, save: Callable[[], object]) -> bool:
    """Save what a form holds; where somebody else was quicker, say so in the form and keep nothing."""
    try:
        with transaction.atomic():
            save()
    except IntegrityError:
        text = _("Somebody changed the register at the same moment. Look at the fields again, above all the code.")
        form.add_error(None, text)
        return False
    return True


def initial_from(request: FarmRequest, names: Mapping[str, str]) -> dict[str, str]:
    """Return what a link proposes for a form's fields: field name by query parameter."""
    return {field: request.GET[name] for name, field in names.items() if request.GET.get(name)}
