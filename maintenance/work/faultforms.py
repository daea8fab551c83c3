"""Forms of faults, of what was done about them, and of gusts."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from doors.models import Component, FailureCause, FailureMode, Material
from doors.places import place_choices
from farm.formbase import Group, Section
from farm.formfields import day_field, passed
from farm.models import EndWall, Farm, Opening, Tunnel
from maintenance.models import WindDay
from maintenance.plans.winds import HIGHEST
from maintenance.work.faults import Place
from maintenance.work.workforms import PartRowsForm
from maintenance.work.working import MOST_MINUTES

SPEEDS: Final[Mapping[str, Decimal]] = {  # m/s of one: exact by definition
    "mph": Decimal("0.44704"), "m/s": Decimal(1), "ms": Decimal(1), "km/h": 1 / Decimal("3.6"),
    "kmh": 1 / Decimal("3.6"), "kph": 1 / Decimal("3.6"), "kn": Decimal(1852) / 3600, "kt": Decimal(1852) / 3600,
    "knots": Decimal(1852) / 3600, "knot": Decimal(1852) / 3600,
}  # fmt: skip
SPEED: Final = re.compile(r"(\d+(?:[.,]\d+)?)\s*([a-z/]*)", re.ASCII)
LONGEST: Final = 20  # characters of a speed
FARM: Final = "farm"


class GustField(forms.CharField):
    """A gust in mph, m/s, km/h or knots; a bare number is in the reader's unit. Cleans to metres per second."""

    def __init__(self, *, units: str = "us", **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.units = units

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        found = SPEED.fullmatch(text.casefold()) if len(text) <= LONGEST else None
        factor = SPEEDS.get(found[2] or ("mph" if self.units == "us" else "m/s")) if found else None
        if found is None or factor is None:
            raise ValidationError(
                gettext("“%(text)s” is not a speed. Write a number, or one with mph, m/s, km/h or knots."),
                params={"text": text[:60]},
            )
        speed = Decimal(found[1].replace(",", ".")) * factor
        if not 0 < speed <= HIGHEST:
            raise ValidationError(gettext("A gust is above 0 and at most 268 mph (120 m/s). Look at the number again."))
        return speed.quantize(Decimal("0.01"), ROUND_HALF_UP)


class GustForm(forms.Form):
    """The highest gust of a day."""

    on = day_field(_("day"))
    gust_m_s = GustField(label=_("highest gust"))
    source = forms.ChoiceField(label=_("known from"), choices=WindDay.Source.choices, initial=WindDay.Source.SEEN)
    note = forms.CharField(label=_("note"), required=False, max_length=200)

    def __init__(self, *args: Any, today: date, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.today = today
        self.fields["on"].initial = today
        gust = self.fields["gust_m_s"]
        assert isinstance(gust, GustField)  # noqa: S101 - tells the type checker
        gust.units = units
        gust.help_text = gettext("Such as 52 (mph), 23 m/s or 45 knots.") if units == "us" else gettext(
            "Such as 23 (m/s), 84 km/h or 45 knots."
        )  # fmt: skip

    def clean_on(self) -> date:
        return passed(self.cleaned_data["on"], self.today)


class FaultForm(forms.Form):
    """A fault: where, what, how it shows. The few fields that are needed come first."""

    groups = (
        Group(_("What is wrong"), ("place", "part", "spot", "mode", "is_critical")),
        Group(_("More, if you know it"), ("found_on", "found_by", "minutes", "note"), folded=True),
    )
    place = forms.ChoiceField(label=_("where"))
    part = forms.ChoiceField(label=_("part"), choices=[("", _("choose")), *Component.Kind.choices])
    spot = forms.CharField(
        label=_("where exactly"), required=False, max_length=80, help_text=_("Such as: right jamb, clamp 4.")
    )
    mode = forms.ChoiceField(label=_("how it shows"), choices=[("", _("choose")), *FailureMode.choices])
    is_critical = forms.BooleanField(
        label=_("It cannot wait for the next wind"), required=False,
        help_text=_("Such as a screw that holds no more, a torn sheet, a bar that drops."),
    )  # fmt: skip
    found_on = day_field(_("found on"))
    found_by = forms.CharField(label=_("found by"), required=False, max_length=120)
    minutes = forms.IntegerField(
        label=_("person-minutes to repair it, about"), required=False, min_value=1, max_value=MOST_MINUTES
    )
    note = forms.CharField(
        label=_("note"), required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )  # fmt: skip

    def __init__(self, *args: Any, farm: Farm, today: date, part_in_service: Component | None = None, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.farm, self.today, self.part_in_service = farm, today, part_in_service
        self.initial.setdefault("found_on", today)
        place = self.fields["place"]
        assert isinstance(place, forms.ChoiceField)  # noqa: S101 - tells the type checker
        choices = place_choices(farm, part_in_service or Component(farm=farm))
        place.choices = [*choices, (FARM, gettext("the farm as a whole, or somewhere else"))]

    has_lengths = False

    def sections(self) -> list[Section]:
        """Return the groups with their fields, for the template."""
        return [
            Section(group.heading, group.help, bound, group.folded and not any(field.errors for field in bound))
            for group in self.groups
            for bound in [[self[name] for name in group.fields]]
        ]

    @property
    def chosen_place(self) -> Place | None:
        """The place; the part in service where it sits there, and nothing for the farm as a whole."""
        kind, _dash, pk = self.cleaned_data["place"].partition("-")
        if kind == FARM:
            return None
        part = self.part_in_service
        if part is not None and "place" not in self.changed_data and part.kind == self.cleaned_data["part"]:
            return part
        if kind == "tunnel":
            return Tunnel.objects.of(self.farm).get(pk=pk)
        if kind == "wall":
            return EndWall.objects.of(self.farm).select_related("tunnel").get(pk=pk)
        return Opening.objects.of(self.farm).with_place().get(pk=pk)

    def clean_found_on(self) -> date:
        return passed(self.cleaned_data["found_on"], self.today)


class MendForm(PartRowsForm):
    """What was done about a fault: for good or for now, when, how long it took, what was used."""

    on = day_field(_("repaired on"))
    minutes = forms.IntegerField(label=_("person-minutes it took"), required=False, min_value=0, max_value=MOST_MINUTES)
    cause = forms.ChoiceField(
        label=_("what caused it"), required=False, choices=[("", _("not known")), *FailureCause.choices]
    )
    mended_by = forms.CharField(label=_("repaired by"), required=False, max_length=120)
    note = forms.CharField(
        label=_("what was done"), required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )  # fmt: skip

    def __init__(self, *args: Any, today: date, materials: Sequence[Material], **kwargs: Any) -> None:
        super().__init__(*args, materials=materials, named=[{}, {}], **kwargs)
        self.today = today
        self.fields["on"].initial = today

    @property
    def plain(self) -> list[Any]:
        """What every repair is asked."""
        return [self[name] for name in ("on", "minutes", "cause", "mended_by", "note")]

    def clean_on(self) -> date:
        return passed(self.cleaned_data["on"], self.today)
