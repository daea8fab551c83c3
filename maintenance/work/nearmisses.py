"""What nearly hurt somebody: told with a name or without, looked at by a manager, and dealt with."""

from __future__ import annotations

from datetime import date
from typing import Any, Final

import django_filters as filters
import django_tables2 as tables
from django import forms
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db.models import F, Q, QuerySet
from django.db.models.functions import Coalesce
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.text import Truncator
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from doors.exchange.columns import Column
from doors.exchange.kinds import Kind
from doors.filters import RegisterFilter
from doors.models import Component
from doors.places import place_choices
from doors.tables import DayColumn, RegisterTable
from farm.formfields import day_field, passed
from farm.models import Farm, Opening, Tunnel
from farm.units import MISSING
from maintenance.models import NearMiss
from maintenance.words.said import person

FARM: Final = "farm"
LONGEST: Final = 4000
SHOWN: Final = 140  # characters of what happened, in the list


class NearMissForm(forms.Form):
    """What happened, where and when; the person only where the person wants it."""

    what = forms.CharField(
        label=_("what happened"), max_length=LONGEST, widget=forms.Textarea(attrs={"rows": 5}),
        help_text=_("What nobody was hurt by this time. Such as: the bar came down when the rope slipped."),
    )  # fmt: skip
    place = forms.ChoiceField(label=_("where"), required=False)
    on = day_field(_("on"))
    with_name = forms.BooleanField(
        label=_("Keep my name with it"), required=False,
        help_text=_("Unticked, nothing that is kept leads to you. Then write no names above either."),
    )  # fmt: skip

    def __init__(self, *args: Any, farm: Farm, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.farm, self.today = farm, today
        self.initial.setdefault("on", today)
        place = self.fields["place"]
        assert isinstance(place, forms.ChoiceField)  # noqa: S101 - tells the type checker
        choices = [_without_walls(choice) for choice in place_choices(farm, Component(farm=farm))[1:]]
        place.choices = [("", gettext("the farm as a whole, or somewhere else")), *choices]

    def clean_on(self) -> date:
        return passed(self.cleaned_data["on"], self.today)

    @property
    def chosen_place(self) -> Tunnel | Opening | None:
        """The tunnel or the opening, or nothing."""
        kind, _dash, pk = self.cleaned_data["place"].partition("-")
        if kind == "tunnel":
            return Tunnel.objects.of(self.farm).get(pk=pk)
        return Opening.objects.of(self.farm).with_place().get(pk=pk) if kind == "opening" else None


class DealForm(forms.Form):
    """What was done so that it does not happen again, and since when."""

    done = forms.CharField(
        label=_("what was done about it"), required=False, max_length=LONGEST, widget=forms.Textarea(attrs={"rows": 4})
    )  # fmt: skip
    closed_on = day_field(_("dealt with on"), _("Empty while it is still open."))

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.today = today
        self.fields["closed_on"].required = False

    def clean_closed_on(self) -> date | None:
        day = self.cleaned_data["closed_on"]
        return passed(day, self.today) if day else None

    def clean(self) -> dict[str, Any]:
        super().clean()
        if self.cleaned_data.get("closed_on") and not self.cleaned_data.get("done"):
            self.add_error("done", ValidationError(gettext("Write what was done: the next person will ask.")))
        return self.cleaned_data


class NearMissFilter(RegisterFilter):
    """Near misses by whether they are dealt with, and when they were."""

    searched = ("what", "done", "tunnel__code", "opening__code")
    state = filters.ChoiceFilter(
        label=_("state"), method="by_state", empty_label=_("all"),
        choices=[("open", _("open")), ("closed", _("dealt with"))],
    )  # fmt: skip
    since = filters.DateFilter(
        label=_("from"), field_name="on", lookup_expr="gte",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )  # fmt: skip
    until = filters.DateFilter(
        label=_("until"), field_name="on", lookup_expr="lte",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )  # fmt: skip

    def by_state(self, rows: QuerySet[NearMiss], _name: str, value: str) -> QuerySet[NearMiss]:
        return rows.filter(closed_on__isnull=value == "open")


class NearMissTable(RegisterTable):
    """What nearly hurt somebody, what is open first."""

    on = DayColumn(verbose_name=_("day"), order_by=("on", "pk"))
    where = tables.Column(verbose_name=_("where"), accessor="pk", order_by=("place_code", "pk"))
    what = tables.Column(verbose_name=_("what happened"), orderable=False, attrs={"td": {"class": "wide"}})
    told_by = tables.Column(verbose_name=_("told by"), accessor="pk", orderable=False)
    closed_on = tables.Column(verbose_name=_("dealt with"), order_by=("closed_on", "pk"), empty_values=())

    class Meta:
        template_name = "farm/table.html"
        empty_text = _("No near miss fits. Clear the filter, or tell of one.")
        order_by = "-on"
        per_page = 25
        sequence = ("what", "on", "where", "told_by", "closed_on")

    def render_where(self, record: NearMiss) -> str:
        return place_of_miss(record)

    def render_what(self, record: NearMiss) -> SafeString:
        return self.link("near-miss", record.pk, Truncator(record.what).chars(SHOWN))

    def render_told_by(self, record: NearMiss) -> str:
        return person(record.by) if record.by else MISSING

    def render_closed_on(self, record: NearMiss) -> SafeString:
        if record.closed_on:
            return format_html('<span class="verdict verdict-pass">{}</span>', record.closed_on.isoformat())
        return format_html('<span class="verdict verdict-warn">{}</span>', gettext("open"))


NEAR_MISSES: Final = Kind(
    "near-misses",
    _("Near misses"),
    (
        Column("day", "on"),
        Column("tunnel", "tunnel", read=lambda row: row.tunnel.code if row.tunnel else ""),
        Column("place", "place", read=lambda row: place_of_miss(row)),
        Column("what_happened", "what"),
        Column("told_by", "by", read=lambda row: person(row.by) if row.by else ""),
        Column("what_was_done", "done"),
        Column("dealt_with_on", "closed_on"),
    ),
    lambda _farm: {},
)


def near_misses_of(farm: Farm) -> QuerySet[NearMiss]:
    """Return a farm's near misses with all that a row prints."""
    rows = NearMiss.objects.filter(farm=farm).select_related("tunnel", "opening", "by")
    return rows.annotate(place_code=Coalesce(F("opening__code"), F("tunnel__code")))


def place_of_miss(row: NearMiss) -> str:
    """Return where it was; the place must be loaded."""
    place = row.opening or row.tunnel
    return place.code if place else gettext("the farm")


def log_near_miss(
    *, farm: Farm, place: Tunnel | Opening | None, on: date, what: str, by: User | None = None
) -> NearMiss:
    """Keep what nearly happened; without ``by`` nothing of it leads to the person who told it."""
    where = {"tunnel": place} if isinstance(place, Tunnel) else {}
    if isinstance(place, Opening):
        where = {"tunnel": place.end_wall.tunnel, "opening": place}  # type: ignore[dict-item]
    return NearMiss.objects.create(farm=farm, on=on, what=what, by=by, **where)


def deal_with(*, near_miss: NearMiss, done: str, closed_on: date | None) -> None:
    """Write down what was done about a near miss, and that it is dealt with or open again."""
    near_miss.done, near_miss.closed_on = done, closed_on
    near_miss.save(update_fields=["done", "closed_on"])


def open_count(farm: Farm) -> int:
    """Return how many near misses nobody has dealt with."""
    return NearMiss.objects.filter(Q(farm=farm), closed_on=None).count()


def _without_walls(choice: tuple[str, Any]) -> tuple[str, Any]:
    """Leave end walls out of a group of places: a near miss is at a tunnel or at an opening."""
    heading, places = choice
    if not isinstance(places, list):
        return choice
    return heading, [place for place in places if not place[0].startswith("wall-")]
