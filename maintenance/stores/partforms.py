"""Forms of a part's life: replaced, taken out, taken down for the season and put back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from doors.forms import at_least
from doors.models import Component, FailureCause, FailureMode, Material
from farm.formbase import Group, RegisterForm, register_field
from farm.formfields import day_field, passed
from maintenance.stores.fitting import NewPart, Removal

REASON = [("", _("choose")), *Component.Reason.choices]
MODE = [("", _("it did not fail")), *FailureMode.choices]
CAUSE = [("", _("none")), *FailureCause.choices]


class RemovalForm(forms.Form):
    """When a part was taken out, why, and how it failed if it did."""

    removed_on = day_field(_("removed on"))
    reason = forms.ChoiceField(label=_("why removed"), choices=REASON)
    failure_mode = forms.ChoiceField(label=_("how it failed"), choices=MODE, required=False)
    failure_cause = forms.ChoiceField(label=_("cause of the failure"), choices=CAUSE, required=False)

    def __init__(self, *args: Any, component: Component, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.component, self.today = component, today

    def clean_removed_on(self) -> date:
        return after_fitting(self.component, passed(self.cleaned_data["removed_on"], self.today))

    @property
    def removal(self) -> Removal:
        """What was filled in."""
        return removal_of(self.cleaned_data)


class ReplacementForm(RegisterForm):
    """One part out, another in its place on the same day."""

    groups = (
        Group(_("The old part"), ("replaced_on", "reason", "failure_mode", "failure_cause")),
        Group(_("The new part"), ("material", "quantity", "from_store", "lot", "printed_side", "notes")),
        Group(_("Faults that went out with it"), ("closes",)),
    )
    helps = {
        "closes": _("What stays ticked is repaired on the same day, and its job ends."),
        "quantity": _("Pieces, layers of film, or the measured amount of cord, wire or channel in feet or metres."),
        "from_store": _("As the store counts it. Empty where it did not lie there."),
        "lot": _("As printed on the roll or the box; it finds the sheets of a bad batch."),
        "printed_side": _("Of film: on which side its print faces."),
    }

    replaced_on = day_field(_("replaced on"))
    reason = forms.ChoiceField(label=_("why removed"), choices=REASON)
    failure_mode = forms.ChoiceField(label=_("how it failed"), choices=MODE, required=False)
    failure_cause = forms.ChoiceField(label=_("cause of the failure"), choices=CAUSE, required=False)
    from_store = forms.DecimalField(label=_("taken out of the store"), max_digits=10, decimal_places=2, required=False)
    closes = forms.TypedMultipleChoiceField(
        label=_("close these"), coerce=int, required=False, widget=forms.CheckboxSelectMultiple
    )

    class Meta:
        model = Component
        formfield_callback = register_field
        fields = ("material", "quantity", "lot", "printed_side", "notes")

    def __init__(
        self, *args: Any, component: Component, today: date, faults: Sequence[tuple[int, str, bool]] = (), **kwargs: Any
    ) -> None:
        """Ask of a part's successor; ``faults`` that it may close are an id, words, and whether it likely does."""
        super().__init__(*args, **kwargs)
        self.component, self.today = component, today
        closes = self.fields["closes"]
        assert isinstance(closes, forms.MultipleChoiceField)  # noqa: S101 - tells the type checker
        closes.choices = [(pk, text) for pk, text, _is_likely in faults]
        self.initial["closes"] = [pk for pk, _text, is_likely in faults if is_likely]
        if not faults:
            del self.fields["closes"]
        material = self.fields["material"]
        assert isinstance(material, forms.ModelChoiceField)  # noqa: S101 - tells the type checker
        material.queryset = (
            Material.objects.of(self.farm)
            .filter(Q(is_in_book=True) | Q(pk=component.material_id))
            .order_by("kind", "name", "pk")
        )
        material.empty_label = gettext("not recorded")

    def clean_replaced_on(self) -> date:
        return after_fitting(self.component, passed(self.cleaned_data["replaced_on"], self.today))

    def clean_quantity(self) -> Decimal | None:
        return at_least(self.cleaned_data, "quantity", "0.01")

    def clean_from_store(self) -> Decimal | None:
        return at_least(self.cleaned_data, "from_store", "0.01")

    def clean(self) -> dict[str, Any]:
        super().clean()
        if self.cleaned_data.get("from_store") and not self.cleaned_data.get("material"):
            text = gettext("Choose the material that came out of the store.")
            self.add_error("material", ValidationError(text, code="required"))
        return self.cleaned_data

    @property
    def removal(self) -> Removal:
        """Why the old part went."""
        return removal_of(self.cleaned_data)

    @property
    def new(self) -> NewPart:
        """What came in its place."""
        names = ("material", "quantity", "lot", "printed_side", "notes", "from_store")
        return NewPart(**{name: self.cleaned_data[name] for name in names})


class LayUpForm(forms.Form):
    """The day on which a part was taken down or put back."""

    on = day_field(_("on"))

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.today = today

    def clean_on(self) -> date:
        return passed(self.cleaned_data["on"], self.today)


def after_fitting(component: Component, removed: date) -> date:
    """Return a day of removal, or refuse one before the fitting."""
    if removed < component.fitted_on:
        text = gettext("Removed on %(removed)s is before it was fitted, on %(fitted)s.")
        params = {"removed": removed.isoformat(), "fitted": component.fitted_on.isoformat()}
        raise ValidationError(text, params=params)
    return removed


def removal_of(cleaned: dict[str, Any]) -> Removal:
    """Return why a part went as the services take it."""
    return Removal(reason=cleaned["reason"], mode=cleaned["failure_mode"], cause=cleaned["failure_cause"])
