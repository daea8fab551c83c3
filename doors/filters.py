"""What the lists can be narrowed to: words, and choices that query nothing."""

from __future__ import annotations

from datetime import date
from typing import Any

import django_filters as filters
from django import forms
from django.db.models import Q, QuerySet
from django.utils.translation import gettext_lazy as _

from doors.models import Component, Material, Sizing
from doors.places import PLACES
from doors.querysets import ComponentQuerySet
from farm.models import Opening, Tunnel


class RegisterFilter(filters.FilterSet):  # type: ignore[misc]  # the library is untyped
    """A filter whose search box looks in the named columns, every word somewhere in them."""

    searched: tuple[str, ...] = ()

    q = filters.CharFilter(label=_("search"), method="search", max_length=100)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.form.label_suffix = ""
        self.form.fields["q"].widget.input_type = "search"

    def search(self, rows: QuerySet[Any], _name: str, text: str) -> QuerySet[Any]:
        for word in text.split()[:6]:
            found = Q()
            for column in self.searched:
                found |= Q(**{f"{column}__icontains": word})
            rows = rows.filter(found)
        return rows


class TunnelFilter(RegisterFilter):
    """Tunnels; the retired ones only when asked for."""

    searched = ("code", "name")
    shape = filters.ChoiceFilter(label=_("shape"), choices=Tunnel.Shape.choices, empty_label=_("any"))
    status = filters.ChoiceFilter(
        label=_("status"), method="by_status", empty_label=_("standing"),
        choices=[*Tunnel.Status.choices, ("all", _("all"))],
    )  # fmt: skip

    @property
    def qs(self) -> Any:
        rows = super().qs
        return rows if self.form.cleaned_data.get("status") else rows.standing()

    def by_status(self, rows: QuerySet[Tunnel], _name: str, value: str) -> QuerySet[Tunnel]:
        return rows if value == "all" else rows.filter(status=value)


class ScheduleFilter(RegisterFilter):
    """Doors by kind, by the outcome of the checks, hung or not."""

    searched = ("code", "end_wall__tunnel__code", "end_wall__tunnel__name")
    kind = filters.ChoiceFilter(label=_("kind"), choices=Opening.Kind.choices, empty_label=_("any"))
    verdict = filters.ChoiceFilter(label=_("check"), choices=Sizing.Verdict.choices, empty_label=_("any"))
    hung = filters.ChoiceFilter(
        label=_("hung"), method="by_hung", empty_label=_("any"),
        choices=[("yes", _("hung")), ("no", _("not hung yet"))],
    )  # fmt: skip

    def by_hung(self, rows: QuerySet[Opening], _name: str, value: str) -> QuerySet[Opening]:
        return rows.filter(door__hung_on__isnull=value == "no")


class ComponentFilter(RegisterFilter):
    """Parts in service; the removed ones only when asked for."""

    searched = ("place_code", "spot", "material__name")
    kind = filters.ChoiceFilter(label=_("part"), choices=Component.Kind.choices, empty_label=_("any"))
    state = filters.ChoiceFilter(
        label=_("state"), method="by_state", empty_label=_("in service"),
        choices=[("removed", _("removed")), ("all", _("all"))],
    )  # fmt: skip
    place = filters.CharFilter(method="by_place", widget=forms.HiddenInput, max_length=40)

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        self.today = today
        super().__init__(*args, **kwargs)

    @property
    def qs(self) -> Any:
        rows = super().qs
        return rows if self.form.cleaned_data.get("state") else rows.in_service(self.today)

    def by_state(self, rows: QuerySet[Component], _name: str, value: str) -> QuerySet[Component]:
        return rows if value == "all" else rows.filter(removed_on__lte=self.today)

    def by_place(self, rows: ComponentQuerySet, _name: str, value: str) -> ComponentQuerySet:
        """Keep the parts of one place, named as a form names it; those of a tunnel include its walls and openings."""
        kind, _dash, pk = value.partition("-")
        if kind not in PLACES or not pk.isdecimal():
            return rows.none()
        return rows.at_tunnel(int(pk)) if kind == "tunnel" else rows.filter(**{PLACES[kind]: int(pk)})


class MaterialFilter(RegisterFilter):
    """Materials; those no longer bought only when asked for."""

    searched = ("code", "name", "trade_name")
    kind = filters.ChoiceFilter(label=_("kind"), choices=Material.Kind.choices, empty_label=_("any"))
    state = filters.ChoiceFilter(
        label=_("state"), method="by_state", empty_label=_("in use"),
        choices=[("old", _("no longer in use")), ("all", _("all"))],
    )  # fmt: skip

    @property
    def qs(self) -> Any:
        rows = super().qs
        return rows if self.form.cleaned_data.get("state") else rows.filter(is_in_book=True)

    def by_state(self, rows: QuerySet[Material], _name: str, value: str) -> QuerySet[Material]:
        return rows if value == "all" else rows.filter(is_in_book=False)
