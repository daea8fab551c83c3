"""What the list of faults can be narrowed to, and what the faults it shows add up to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

import django_filters as filters
from django import forms
from django.db.models import Count, Q, QuerySet, Sum
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from doors.filters import RegisterFilter
from doors.models import Component, FailureMode
from doors.places import PLACES, place_choices
from farm.models import Farm
from maintenance.models import Repair
from maintenance.querysets import RepairQuerySet

State = Repair.State
FARM: Final = "farm"
OPEN: Final = Q(state=State.OPEN)
UNMENDED: Final = ~Q(state=State.DONE)


def _day(label: Any, lookup: str) -> filters.DateFilter:
    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    return filters.DateFilter(label=label, field_name="found_on", lookup_expr=lookup, widget=widget)


class RepairFilter(RegisterFilter):
    """Faults by how they stand, how sharp they are, where, what, when and who; those repaired only when asked for."""

    searched = ("tunnel__code", "opening__code", "spot", "note", "found_by", "mended_by")
    state = filters.ChoiceFilter(
        label=_("state"), method="whole", empty_label=_("not repaired"),
        choices=[("critical", _("cannot wait")), *State.choices, ("all", _("all"))],
    )  # fmt: skip
    sharp = filters.ChoiceFilter(
        label=_("how urgent"), method="by_sharpness", empty_label=_("any"),
        choices=[("danger", _("danger: keep out")), ("critical", _("cannot wait for the next wind")),
                 ("plain", _("can wait"))],
    )  # fmt: skip
    place = filters.ChoiceFilter(label=_("place"), method="by_place", empty_label=_("any"))
    part = filters.ChoiceFilter(label=_("part"), choices=Component.Kind.choices, empty_label=_("any"))
    mode = filters.ChoiceFilter(label=_("how it shows"), choices=FailureMode.choices, empty_label=_("any"))
    since = _day(_("found from"), "gte")
    until = _day(_("found until"), "lte")
    who = filters.CharFilter(label=_("by whom"), method="by_person", max_length=100)
    again = filters.ChoiceFilter(
        label=_("comes back"), method="by_repeat", empty_label=_("any"),
        choices=[("yes", _("failed three times in 24 months")), ("no", _("no"))],
    )  # fmt: skip

    def __init__(self, *args: Any, farm: Farm, repeats: Mapping[int, int], **kwargs: Any) -> None:
        self.repeats = repeats
        super().__init__(*args, **kwargs)
        places = place_choices(farm, Component(farm=farm))[1:]  # without the first, which asks to choose one
        place = self.form.fields["place"]
        place.choices = [("", gettext("any")), (FARM, gettext("the farm as a whole")), *places]

    def filter_queryset(self, queryset: RepairQuerySet) -> Any:
        """Return the faults asked for; ``in_every_state`` keeps those that only the state would leave out."""
        self.in_every_state = super().filter_queryset(queryset)
        return self.in_every_state.filter(self.in_state)

    @property
    def in_state(self) -> Q:
        """What the state asked for leaves."""
        wanted = self.form.cleaned_data.get("state") if self.form.is_valid() else ""
        return {"": UNMENDED, "all": Q(), "critical": OPEN & Q(is_critical=True)}.get(wanted or "", Q(state=wanted))

    def whole(self, rows: QuerySet[Repair], _name: str, _value: str) -> QuerySet[Repair]:
        return rows  # the state is narrowed last

    def by_sharpness(self, rows: QuerySet[Repair], _name: str, value: str) -> QuerySet[Repair]:
        if value == "danger":
            return rows.filter(is_danger=True)
        return rows.filter(is_critical=value == "critical", **({} if value == "critical" else {"is_danger": False}))

    def by_place(self, rows: QuerySet[Repair], _name: str, value: str) -> QuerySet[Repair]:
        """Keep the faults of one place, named as a form names it; those of a tunnel include its walls and openings."""
        kind, _dash, pk = value.partition("-")
        return rows.filter(tunnel=None) if kind == FARM else rows.filter(**{PLACES[kind]: int(pk)})

    def by_person(self, rows: QuerySet[Repair], _name: str, value: str) -> QuerySet[Repair]:
        return rows.filter(Q(found_by__icontains=value) | Q(mended_by__icontains=value))

    def by_repeat(self, rows: QuerySet[Repair], _name: str, value: str) -> QuerySet[Repair]:
        return rows.filter(pk__in=self.repeats) if value == "yes" else rows.exclude(pk__in=self.repeats)


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """How many faults stand in which state, whatever state is shown; and what the shown ones took and cost."""

    open: int
    critical: int
    danger: int
    temporary: int
    done: int
    minutes_to_come: int
    minutes_spent: int
    parts_cost: Decimal | int
    without_cost: int  # repaired, at a cost that nobody knows


def totals_of(chosen: RepairFilter) -> Totals:
    """Add up the faults of a list, in one query."""
    shown, done = chosen.qs, Q(state=State.DONE)
    everything: Any = getattr(chosen, "in_every_state", shown)  # a choice that is none of ours narrows nothing
    sums = everything.order_by().aggregate(
        open=Count("pk", filter=OPEN), critical=Count("pk", filter=OPEN & Q(is_critical=True)),
        danger=Count("pk", filter=UNMENDED & Q(is_danger=True)),
        temporary=Count("pk", filter=Q(state=State.TEMPORARY)), done=Count("pk", filter=done),
        minutes_to_come=Sum("minutes", filter=chosen.in_state & UNMENDED),
        minutes_spent=Sum("minutes", filter=chosen.in_state & done),
        parts_cost=Sum("cost", filter=chosen.in_state),
        without_cost=Count("pk", filter=chosen.in_state & done & Q(cost=None)),
    )  # fmt: skip
    return Totals(**{name: value or 0 for name, value in sums.items()})
