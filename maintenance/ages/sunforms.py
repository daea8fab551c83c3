"""The form of a farm's sunshine."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.dates import MONTHS
from django.utils.translation import gettext_lazy as _

from farm.formbase import Section


class SunshineForm(forms.Form):
    """Twelve months' shares of the daylight in which the sun shines, in percent, and where they come from."""

    source = forms.CharField(
        label=_("where the figures come from"), max_length=200, required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("Such as the weather station and the years its means are of."),
    )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        for month, name in MONTHS.items():
            self.fields[f"month_{month}"] = forms.DecimalField(
                label=name, min_value=Decimal(0), max_value=Decimal(100), max_digits=4, decimal_places=1
            )

    def sections(self) -> Iterator[Section]:
        """Yield the months, then their source."""
        help_text = _(
            "Percent of the daylight in which the sun shines (n/N), the mean of many years. A weather office prints it"
            " as relative sunshine, or as hours of sunshine: divide these by the hours of daylight in the table."
        )
        yield Section(_("Sunshine by month"), help_text, [self[f"month_{month}"] for month in MONTHS], False)
        yield Section(_("Source"), "", [self["source"]], False)

    @property
    def sunshine(self) -> list[float]:
        """The shares, January first. [-]"""
        return [float(self.cleaned_data[f"month_{month}"] / 100) for month in MONTHS]


def shown(sunshine: list[float], source: str) -> dict[str, Any]:
    """Return what the form shows of stored shares."""
    percents = {f"month_{month}": round(Decimal(str(share)) * 100, 1) for month, share in enumerate(sunshine, 1)}
    return {**percents, "source": source}
