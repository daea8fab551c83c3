"""Forms of the work: what is due, finishing a job and its answers, skipping, putting off, giving it to somebody."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any, Final

from django import forms
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from doors.models import Component, FailureCause, FailureMode, Material
from farm.formfields import day_field, passed
from maintenance.models import Job, Routine, ScrewCheck
from maintenance.stores.fitting import NewPart, Removal
from maintenance.words.said import person
from maintenance.work.working import MOST_MINUTES, Replacement

MOST_SPOTS: Final = 200
FREE_SPOTS: Final = 2  # rows for screws that neither the sheet nor an earlier check knows
BLANK_PARTS: Final = 1  # a row for a part that the routine does not name


class DueFilter(forms.Form):
    """What the list of work is narrowed to."""

    rhythm = forms.ChoiceField(label=_("list"), required=False, choices=[("", _("all three")), *Routine.Rhythm.choices])
    tunnel = forms.TypedChoiceField(label=_("tunnel"), required=False, coerce=int, empty_value=None)
    who = forms.ChoiceField(label=_("whose"), required=False)

    def __init__(self, *args: Any, tunnels: Iterable[tuple[int, str]], people: Iterable[User], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        tunnel, who = self.fields["tunnel"], self.fields["who"]
        assert isinstance(tunnel, forms.ChoiceField) and isinstance(who, forms.ChoiceField)  # noqa: S101, PT018
        tunnel.choices = [("", gettext("all")), *tunnels]
        members = [(str(user.pk), person(user)) for user in people]
        who.choices = [("", gettext("everybody's")), ("me", gettext("mine")), ("nobody", gettext("nobody's")), *members]


class AssignForm(forms.Form):
    """Who is to do a job."""

    to = forms.TypedChoiceField(label=_("give it to"), required=False, coerce=int, empty_value=None)

    def __init__(self, *args: Any, people: Iterable[User], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.people = {user.pk: user for user in people}
        to = self.fields["to"]
        assert isinstance(to, forms.ChoiceField)  # noqa: S101 - tells the type checker
        to.choices = [("", gettext("nobody")), *((pk, person(user)) for pk, user in self.people.items())]

    @property
    def chosen(self) -> User | None:
        """The person, or nobody."""
        return self.people.get(self.cleaned_data["to"])


class SkipForm(forms.Form):
    """Why a job is left undone."""

    prefix = "skip"
    reason = forms.CharField(label=_("why it is skipped"), max_length=500)


class PutOffForm(forms.Form):
    """Until when a job may wait."""

    prefix = "later"
    until = day_field(_("to be done by"))
    reason = forms.CharField(label=_("why"), max_length=500, required=False)


class PartRowsForm(forms.Form):
    """A form with rows of parts that were used: which, and how many."""

    def __init__(self, *args: Any, materials: Sequence[Material], named: Sequence[Mapping[str, Any]], **kwargs: Any):
        """Add a row for each part that is ``named``; what is named by its kind, or not at all, is chosen by hand."""
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.materials = {material.pk: material for material in materials}
        self.part_rows = len(named)
        for row, line in enumerate(named):
            self._add_row(row, str(line.get("material", "")), line.get("quantity", ""))

    @property
    def parts(self) -> list[tuple[BoundField, BoundField]]:
        """Each row: the material, and how many."""
        return [(self[f"material_{row}"], self[f"quantity_{row}"]) for row in range(self.part_rows)]

    @property
    def parts_used(self) -> list[tuple[Material, Decimal]]:
        """The materials that were used, with how much of each."""
        answers = ((self.cleaned_data[f"material_{row}"], self.cleaned_data[f"quantity_{row}"])
                   for row in range(self.part_rows))  # fmt: skip
        return [(self.materials[pk], quantity) for pk, quantity in answers if pk and quantity]

    def clean(self) -> dict[str, Any]:
        super().clean()
        for row in range(self.part_rows):
            quantity, material = self.cleaned_data.get(f"quantity_{row}"), self.cleaned_data.get(f"material_{row}")
            if quantity and not material and f"material_{row}" not in self.errors:
                self.add_error(f"material_{row}", ValidationError(gettext("Choose which part was used.")))
        return self.cleaned_data

    def _add_row(self, row: int, wanted: str, planned: Any) -> None:
        fitting = [each for each in self.materials.values() if not wanted or wanted in (each.code, each.kind)]
        is_one = len(fitting) == 1 and bool(wanted)
        self.fields[f"material_{row}"] = forms.TypedChoiceField(
            label=_("part"), required=False, coerce=int, empty_value=None, initial=fitting[0].pk if is_one else None,
            choices=[("", gettext("choose")), *((each.pk, each.name) for each in fitting)],
        )  # fmt: skip
        self.fields[f"quantity_{row}"] = forms.DecimalField(
            label=_("how many"), required=False, min_value=Decimal(0), max_digits=10, decimal_places=2,
            widget=forms.NumberInput(attrs={"inputmode": "decimal", "placeholder": planned}),
        )  # fmt: skip


class DoneForm(PartRowsForm):
    """A job that is done: when, how long it took, what was ticked and used, and what the routine asks."""

    on = day_field(_("done on"))
    minutes = forms.IntegerField(
        label=_("person-minutes it took"), required=False, min_value=0, max_value=MOST_MINUTES,
        help_text=_("Of all who helped, together."), widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )  # fmt: skip
    note = forms.CharField(
        label=_("note for the next person"), required=False, max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
    )  # fmt: skip

    def __init__(
        self, *args: Any, job: Job, today: date, lines: Sequence[str], materials: Sequence[Material],
        spots: Sequence[str] = (), **kwargs: Any,
    ) -> None:  # fmt: skip
        named = [*job.plan.routine.parts, *({} for _row in range(BLANK_PARTS))]
        super().__init__(*args, materials=materials, named=named, **kwargs)
        self.job, self.today = job, today
        self.answer = job.plan.routine.answer
        self.fields["on"].initial = today
        self.fields["ticks"] = forms.TypedMultipleChoiceField(
            label=_("checklist"), required=False, coerce=int, choices=list(enumerate(lines)),
            widget=forms.CheckboxSelectMultiple,
        )  # fmt: skip
        self._add_spots(spots)
        if self.answer == Routine.Answer.REPLACED:
            self._add_replacement()

    # What the template prints, one group after the other.

    @property
    def ticks(self) -> BoundField:
        """The checklist."""
        return self["ticks"]

    @property
    def plain(self) -> list[BoundField]:
        """What every job is asked."""
        return [self["on"], self["minutes"], self["note"]]

    @property
    def spots(self) -> list[tuple[BoundField, BoundField, str]]:
        """Each screw: the field of its spot, that of its outcome, and the spot's name; empty where it is typed."""
        rows = range(self.spot_rows)
        return [(self[f"spot_{row}"], self[f"outcome_{row}"], self.known_spots.get(row, "")) for row in rows]

    @property
    def replacement_fields(self) -> list[BoundField]:
        """What is asked of a part that was replaced."""
        return [self[name] for name in self.fields if name.startswith("new_")]

    # What was answered.

    @property
    def outcomes(self) -> list[tuple[str, str]]:
        """What each screw did."""
        pairs = ((self.cleaned_data[f"spot_{row}"], self.cleaned_data[f"outcome_{row}"])
                 for row in range(self.spot_rows))  # fmt: skip
        return [(spot, outcome) for spot, outcome in pairs if spot and outcome]

    @property
    def replacement(self) -> Replacement | None:
        """Why the old part came out and what came in, where the routine asks for it."""
        if self.answer != Routine.Answer.REPLACED:
            return None
        given = {name.removeprefix("new_"): value for name, value in self.cleaned_data.items() if name[:4] == "new_"}
        material = self.materials.get(given["material"])
        return (
            Removal(reason=given["reason"], mode=given["mode"], cause=given["cause"]),
            NewPart(material=material, quantity=given["quantity"], lot=given["lot"], from_store=given["from_store"]),
        )

    def clean_on(self) -> date:
        return passed(self.cleaned_data["on"], self.today)

    def clean(self) -> dict[str, Any]:
        super().clean()
        if self.answer == Routine.Answer.SCREWS:
            self._clean_spots()
        return self.cleaned_data

    def _add_spots(self, spots: Sequence[str]) -> None:
        """Add a row for each screw; a form that comes back keeps the rows it was sent with."""
        if self.answer != Routine.Answer.SCREWS:
            self.spot_rows, self.known_spots = 0, {}
            return
        known = self._sent_spots() if self.is_bound else list(spots)[:MOST_SPOTS]
        self.known_spots = dict(enumerate(known))
        self.spot_rows = len(known) + FREE_SPOTS
        for row in range(self.spot_rows):
            widget = forms.HiddenInput() if row in self.known_spots else forms.TextInput(attrs={"autocomplete": "off"})
            self.fields[f"spot_{row}"] = forms.CharField(
                label=_("another screw"), required=False, max_length=80, initial=self.known_spots.get(row, ""),
                widget=widget,
            )  # fmt: skip
            self.fields[f"outcome_{row}"] = forms.ChoiceField(
                label=_("outcome"), required=False, choices=ScrewCheck.Outcome.choices, widget=forms.RadioSelect
            )
        self.fields["known_spots"] = forms.IntegerField(
            required=False, widget=forms.HiddenInput, initial=len(known), min_value=0, max_value=MOST_SPOTS
        )

    def _sent_spots(self) -> list[str]:
        sent = str(self.data.get("known_spots", ""))
        count = min(int(sent), MOST_SPOTS) if sent.isascii() and sent.isdecimal() and len(sent) < 6 else 0
        return [" ".join(str(self.data.get(f"spot_{row}", "")).split()) for row in range(count)]

    def _add_replacement(self) -> None:
        part = self.job.plan.component
        materials = [("", gettext("not recorded")), *((pk, each.name) for pk, each in self.materials.items())]
        fields: dict[str, forms.Field] = {
            "reason": forms.ChoiceField(label=_("why the old one came out"), choices=Component.Reason.choices),
            "mode": forms.ChoiceField(
                label=_("how it failed"), required=False, choices=[("", _("it did not")), *FailureMode.choices]
            ),
            "cause": forms.ChoiceField(
                label=_("cause"), required=False, choices=[("", _("not known")), *FailureCause.choices]
            ),
            "material": forms.TypedChoiceField(
                label=_("material of the new one"), required=False, coerce=int, empty_value=None, choices=materials,
                initial=part.material_id if part else None,
            ),
            "quantity": forms.DecimalField(
                label=_("quantity"), min_value=Decimal("0.01"), max_digits=9, decimal_places=2,
                initial=part.quantity.normalize() if part else 1,
            ),
            "lot": forms.CharField(label=_("roll or lot number"), required=False, max_length=60),
            "from_store": forms.DecimalField(
                label=_("taken out of the store"), required=False, min_value=Decimal("0.01"), max_digits=10,
                decimal_places=2, help_text=_("Empty where it was bought for this."),
            ),
        }  # fmt: skip
        self.fields |= {f"new_{name}": field for name, field in fields.items()}

    def _clean_spots(self) -> None:
        """Take what was not answered as tight where the reader said so, else ask for it."""
        are_others_tight = "others_tight" in self.data
        lacking = []
        for row in range(self.spot_rows):
            spot, outcome = self.cleaned_data.get(f"spot_{row}"), self.cleaned_data.get(f"outcome_{row}")
            if spot and not outcome and are_others_tight:
                self.cleaned_data[f"outcome_{row}"] = ScrewCheck.Outcome.TIGHT
            elif spot and not outcome:
                lacking.append(spot)
            elif outcome and not spot:
                self.add_error(f"spot_{row}", ValidationError(gettext("Write which screw this is.")))
        if lacking:
            text = gettext("Not answered: %(spots)s. Choose what each did, or press “All others tight”.")
            self.add_error(None, ValidationError(text, params={"spots": "; ".join(lacking[:8])}))
