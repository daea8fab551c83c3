"""Forms after a storm: the gust that came, what is broken, what it cost."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from doors.models import Component, FailureMode
from maintenance.models import WindDay
from maintenance.work.faultforms import GustField
from maintenance.work.working import MOST_MINUTES


class InUnits(forms.Form):
    """A form with a gust in the reader's unit."""

    has_lengths = False

    def __init__(self, *args: Any, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        for each in self.fields.values():
            if isinstance(each, GustField):
                each.units = units
                each.help_text = gettext("Such as 52 (mph), 23 m/s or 45 knots.") if units == "us" else gettext(
                    "Such as 23 (m/s), 84 km/h or 45 knots."
                )  # fmt: skip


class ActualForm(InUnits):
    """The highest gust that came."""

    gust_m_s = GustField(label=_("highest gust that came"))
    source = forms.ChoiceField(
        label=_("known from"), choices=[one for one in WindDay.Source.choices if one[0] != WindDay.Source.FORECAST]
    )
    note = forms.CharField(label=_("note"), required=False, max_length=200)


class SoundForm(InUnits):
    """A place that is sound."""

    gust_seen_m_s = GustField(label=_("gust as seen here, if anybody saw it"), required=False)
    note = forms.CharField(label=_("note"), required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))
    photo = forms.FileField(
        label=_("picture"), required=False, widget=forms.FileInput(attrs={"accept": "image/*"}),
        help_text=_("Taken before anybody cleans up."),
    )  # fmt: skip


class DamageForm(SoundForm):
    """What is broken at a place."""

    part = forms.ChoiceField(label=_("part"), choices=[("", _("choose")), *Component.Kind.choices])
    mode = forms.ChoiceField(label=_("how it shows"), choices=[("", _("choose")), *FailureMode.choices])
    spot = forms.CharField(
        label=_("where exactly"), required=False, max_length=80, help_text=_("Such as: third bow from the west end.")
    )
    is_critical = forms.BooleanField(label=_("It cannot wait for the next wind"), required=False)
    minutes = forms.IntegerField(
        label=_("person-minutes to repair it, about"), required=False, min_value=1, max_value=MOST_MINUTES
    )
    cost = forms.DecimalField(
        label=_("cost of parts, about"), required=False, min_value=0, max_digits=10, decimal_places=2
    )
    field_order = ["part", "mode", "spot", "is_critical", "photo", "minutes", "cost", "gust_seen_m_s", "note"]


class CloseForm(forms.Form):
    """What a storm cost and taught."""

    has_lengths = False
    cost = forms.DecimalField(
        label=_("cost of the damage, all told"), required=False, min_value=0, max_digits=10, decimal_places=2
    )
    note = forms.CharField(
        label=_("what we learnt"), max_length=4000, widget=forms.Textarea(attrs={"rows": 4}),
        help_text=_("What to do otherwise next time. It stands first when the next wind comes."),
    )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
