"""Forms of the weather page: the source, the hours people work, and a forecast row by row."""

from __future__ import annotations

from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from farm.formbase import Group, RegisterForm
from maintenance.models import WeatherSource, WorkHours
from maintenance.skies.sources import SourceError, check_place
from maintenance.skies.typed import COLUMNS, Row

FEWEST, MOST = 12, 400  # rows offered, and rows taken
LEAST_POLL: Final = 10  # minutes; services count callers
LEAST_FACTOR, MOST_FACTOR = 0.5, 2.0


class SourceForm(RegisterForm):
    """Where the forecast comes from and how it is read; the manager's."""

    groups = (
        Group(_("Where the forecast comes from"), ("kind", "cap_url", "poll_minutes", "oldest_hours")),
        Group(_("How it is read"), ("acts_on_upper", "gust_factor")),
    )
    helps = {
        "kind": _("The US National Weather Service knows the United States, Open-Meteo every place. Both ask for "
                  "the farm's latitude and longitude."),
        "cap_url": _("Where an office publishes warnings as CAP 1.2. May stay empty."),
        "oldest_hours": _("An older forecast is no longer planned by, and every page says so."),
        "acts_on_upper": _("Plan by the gust it may come to, where the source gives one."),
        "gust_factor": _("1 until the farm knows better; 1.2 where gusts are a fifth above the forecast."),
    }  # fmt: skip

    class Meta:
        model = WeatherSource
        fields = ["kind", "cap_url", "poll_minutes", "oldest_hours", "acts_on_upper", "gust_factor"]
        field_classes = {"cap_url": forms.CharField}

    def clean_kind(self) -> str:
        kind = str(self.cleaned_data["kind"])
        try:
            check_place(self.farm, kind)
        except SourceError as error:
            raise ValidationError(str(error)) from error
        return kind

    def clean_poll_minutes(self) -> int:
        minutes = int(self.cleaned_data["poll_minutes"])
        if not LEAST_POLL <= minutes <= 24 * 60:
            raise ValidationError(gettext("Write 10 to 1440 minutes; services turn away who asks more often."))
        return minutes

    def clean_gust_factor(self) -> Any:
        factor = self.cleaned_data["gust_factor"]
        if not LEAST_FACTOR <= factor <= MOST_FACTOR:
            raise ValidationError(gettext("Write a factor from 0.5 to 2."))
        return factor

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        oldest, minutes = cleaned.get("oldest_hours"), cleaned.get("poll_minutes")
        if oldest is not None and not 1 <= oldest <= 72:
            self.add_error("oldest_hours", gettext("Write 1 to 72 hours."))
        elif oldest is not None and minutes is not None and minutes > oldest * 30:
            self.add_error("poll_minutes", gettext("Ask at least twice before a forecast is too old."))
        return cleaned


class HoursForm(RegisterForm):
    """When the crew works, by the farm's clock."""

    groups = (Group(_("Every day"), ("work_from", "work_until")),)

    class Meta:
        model = WorkHours
        fields = ["work_from", "work_until"]
        widgets = {name: forms.TimeInput(attrs={"type": "time"}, format="%H:%M") for name in fields}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        begins, ends = cleaned.get("work_from"), cleaned.get("work_until")
        if begins is not None and ends is not None and ends <= begins:
            self.add_error("work_until", gettext("Work must end after it begins."))
        return cleaned


def posted_rows(data: Any) -> list[Row]:
    """Return the rows that were typed in, as they were typed; at most so many."""
    count = min(max((len(data.getlist(name)) for name in COLUMNS), default=0), MOST)
    lists = {name: data.getlist(name) for name in COLUMNS}
    return [
        {name: values[number] if number < len(values) else "" for name, values in lists.items()}
        for number in range(count)
    ]
