"""The form of what came into the store or left it."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from doors.models import Material, StockMove
from farm.formfields import day_field, passed
from farm.models import Farm

Reason = StockMove.Reason


class MoveForm(forms.Form):
    """What came, went, or was counted."""

    material = forms.ModelChoiceField(Material.objects.none(), label=_("material"), empty_label=_("choose"))
    reason = forms.ChoiceField(label=_("what happened"), choices=[("", _("choose")), *Reason.choices])
    quantity = forms.DecimalField(
        label=_("how many"), max_digits=10, decimal_places=2,
        help_text=_("Pieces, stock lengths, or the unit you count it in. Counted: all that lies there now."),
    )  # fmt: skip
    on = day_field(_("on"))
    note = forms.CharField(label=_("note"), max_length=200, required=False)

    def __init__(self, *args: Any, farm: Farm, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix, self.today = "", today
        material = self.fields["material"]
        assert isinstance(material, forms.ModelChoiceField)  # noqa: S101 - tells the type checker
        moved = StockMove.objects.of(farm).values("material")
        material.queryset = (
            Material.objects.of(farm).filter(Q(is_in_book=True) | Q(pk__in=moved)).order_by("kind", "name", "pk")
        )

    def clean_on(self) -> date:
        return passed(self.cleaned_data["on"], self.today)

    def clean_quantity(self) -> Decimal:
        quantity: Decimal = self.cleaned_data["quantity"]
        if quantity < 0:
            raise ValidationError(gettext("Write 0 or more; what happened says whether it came or went."))
        if quantity == 0 and self.cleaned_data.get("reason") not in ("", None, Reason.COUNTED):
            raise ValidationError(gettext("Write how many, more than 0."))
        return quantity
