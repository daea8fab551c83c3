"""The desk's form for paper sheets: which sheet, and one narrow row of fields for each line on it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any, Final

from django import forms
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from farm.formfields import day_field, passed
from farm.models import Farm
from maintenance.hands.ticking import MOST_MINUTES as MOST_TASK_MINUTES
from maintenance.models import Routine, ScrewCheck
from maintenance.words.said import person
from maintenance.work.paperrows import PaperRow
from maintenance.work.sheetnumbers import SheetNumber, SheetNumberError, read_number
from maintenance.work.typingin import CANNOT, DONE, Written
from maintenance.work.working import MOST_MINUTES

TIME: Final = re.compile(r"(\d{1,2})(?:[:.h ]?(\d{2}))?\s*([ap])?\.?m?\.?", re.ASCII)
SCREW: Final = re.compile(r"(\d{1,3})\s*([usm])", re.ASCII)
OUTCOMES: Final = {"u": ScrewCheck.Outcome.TURNED, "s": ScrewCheck.Outcome.SPUN, "m": ScrewCheck.Outcome.MISSING}


class SheetField(forms.CharField):
    """The number of a printed sheet."""

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        try:
            return read_number(text[:40])
        except SheetNumberError as error:
            raise ValidationError(
                gettext("“%(text)s” is no sheet's number. Look at the top right corner again: such as P7-1125-J."),
                params={"text": text[:40]},
            ) from error


class TimeField(forms.CharField):
    """A time of day as people write it: 14:30, 1430, 2:30 pm, 7."""

    def to_python(self, value: Any) -> Any:
        text = str(super().to_python(value) or "").casefold()
        if not text:
            return None
        found = TIME.fullmatch(text) if len(text) < 12 else None
        hour, minute = (int(found[1]), int(found[2] or 0)) if found else (99, 0)
        if found and found[3] and 1 <= hour <= 12:
            hour = hour % 12 + (12 if found[3] == "p" else 0)
        elif found and found[3]:
            hour = 99
        if hour > 23 or minute > 59:
            raise ValidationError(gettext("“%(text)s” is no time. Write 14:30 or 2:30 pm."), params={"text": text[:12]})
        return time(hour, minute)


class WhichForm(forms.Form):
    """Which sheet: by its number, else by day and person."""

    sheet = SheetField(label=_("number of the sheet"), required=False)
    day = day_field(_("or the day"))
    person = forms.TypedChoiceField(label=_("and the person"), required=False, coerce=int, empty_value=None)

    def __init__(self, *args: Any, people: Sequence[tuple[int, str]], today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.today = today
        self.fields["day"].required = False
        self.fields["sheet"].widget.attrs |= {"autocomplete": "off", "placeholder": "P7-1125-J"}
        who = self.fields["person"]
        assert isinstance(who, forms.ChoiceField)  # noqa: S101 - tells the type checker
        who.choices = [("", gettext("everybody")), *people]

    def clean_day(self) -> date | None:
        day = self.cleaned_data["day"]
        return passed(day, self.today) if day else None

    def clean_sheet(self) -> SheetNumber | None:
        number: SheetNumber | None = self.cleaned_data["sheet"]
        if number is not None and number.kind != "S":
            try:
                number.day(self.today)
            except SheetNumberError as error:
                raise ValidationError(gettext("No year has such a day. Look at the number again.")) from error
        return number


class HeadForm(forms.Form):
    """What holds for the whole sheet: its day, who worked by it where a row names nobody else."""

    prefix = "head"
    on = day_field(_("day of the work"))
    by = forms.TypedChoiceField(label=_("by whom, unless a row says"), coerce=int)
    nonce = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, people: Sequence[User], today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.today = today
        by = self.fields["by"]
        assert isinstance(by, forms.ChoiceField)  # noqa: S101 - tells the type checker
        by.choices = [("", gettext("choose")), *((user.pk, person(user)) for user in people)]

    def clean_on(self) -> date:
        return passed(self.cleaned_data["on"], self.today)


class RowForm(forms.Form):
    """One line of a sheet: done, cannot, or left; when, who, how long, and what was written beside it."""

    outcome = forms.ChoiceField(
        label=_("outcome"), required=False, choices=[("", _("left")), (DONE, _("done")), (CANNOT, _("cannot"))]
    )
    at = TimeField(label=_("time"), required=False)
    by = forms.TypedChoiceField(label=_("by whom"), required=False, coerce=int, empty_value=None)
    minutes = forms.IntegerField(label=_("minutes"), required=False, min_value=0)
    note = forms.CharField(label=_("note"), required=False, max_length=500)
    screws = forms.CharField(label=_("screws not tight"), required=False, max_length=300)

    def __init__(self, *args: Any, row: PaperRow, people: Sequence[User], **kwargs: Any) -> None:
        super().__init__(*args, **{**kwargs, "prefix": row.key})
        self.label_suffix = ""
        self.row, self.people = row, {user.pk: user for user in people}
        by, minutes = self.fields["by"], self.fields["minutes"]
        assert isinstance(by, forms.ChoiceField) and isinstance(minutes, forms.IntegerField)  # noqa: S101, PT018
        by.choices = [("", "…"), *((pk, person(user)) for pk, user in self.people.items())]
        self.most_minutes = MOST_TASK_MINUTES if row.task else MOST_MINUTES
        for name, field in self.fields.items():
            field.widget.attrs |= {
                "autocomplete": "off",
                "aria-label": f"{row.where}: {field.label}",
                "data-cell": name,
            }
        if row.asks != Routine.Answer.SCREWS:
            del self.fields["screws"]
        self.part_names = []
        for number, box in enumerate(row.parts):
            if box.material is not None:
                self.part_names.append(f"part_{number}")
                self.fields[f"part_{number}"] = forms.DecimalField(
                    label=box.name, required=False, min_value=Decimal(0), max_digits=10, decimal_places=2,
                    widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "size": 4}),
                )  # fmt: skip

    @property
    def cells(self) -> list[Any]:
        """What every row has a column for."""
        return [self[name] for name in ("outcome", "at", "by", "minutes", "note")]

    @property
    def part_fields(self) -> list[Any]:
        """How many of each part were used."""
        return [self[name] for name in self.part_names]

    @property
    def outcome_is_asked(self) -> bool:
        """Whether the row can be typed in here: a new part has more to say than a row has room for."""
        return self.row.asks != Routine.Answer.REPLACED

    def clean_minutes(self) -> int | None:
        minutes: int | None = self.cleaned_data["minutes"]
        if minutes is not None and minutes > self.most_minutes:
            text = gettext("Minutes are a number from 0 to %(most)s.")
            raise ValidationError(text, params={"most": self.most_minutes})
        return minutes

    def clean_screws(self) -> tuple[tuple[str, str], ...]:
        """Return what each screw did; those that are not named were tight."""
        text = self.cleaned_data["screws"].casefold()
        rest = SCREW.sub("", text).strip(" ,;.")
        named = {int(number): OUTCOMES[letter] for number, letter in SCREW.findall(text)}
        if rest.strip(" ,;.") or any(not 1 <= number <= len(self.row.spots) for number in named):
            said = gettext(
                "Write the numbers of the screws on the card, up to %(most)s, each with u (turned), s (spun) or m "
                "(missing): 4s 7m. Those you leave out were tight."
            )
            raise ValidationError(said, params={"most": len(self.row.spots)})
        return tuple(
            (spot, named.get(number, ScrewCheck.Outcome.TIGHT)) for number, spot in enumerate(self.row.spots, start=1)
        )

    def clean(self) -> dict[str, Any]:
        super().clean()
        outcome = self.cleaned_data.get("outcome")
        if not outcome and "outcome" not in self.errors and self.has_words:
            self.add_error("outcome", ValidationError(gettext("Say whether it was done, or clear the row.")))
        if outcome == CANNOT and not self.cleaned_data.get("note") and "note" not in self.errors:
            self.add_error("note", ValidationError(gettext("Write why it cannot be done.")))
        if outcome == DONE and not self.outcome_is_asked:
            text = gettext("A new part has more to say: finish this one on its own page, and leave the row empty.")
            self.add_error("outcome", ValidationError(text))
        return self.cleaned_data

    @property
    def has_words(self) -> bool:
        """Whether anything was typed beside the outcome."""
        names = ["at", "minutes", "note", *self.part_names]
        return any(self.cleaned_data.get(name) not in (None, "") for name in names) or (
            "screws" in self.fields and bool(str(self.data.get(self.add_prefix("screws"), "")).strip())
        )

    def written(self, *, farm: Farm, on: date, by: User) -> Written:
        """Return what the row says."""
        given = self.cleaned_data
        at = datetime.combine(on, given["at"], tzinfo=farm.zone) if given["at"] else None
        parts = [(self.row.parts[int(name[5:])].material, given[name]) for name in self.part_names]
        return Written(
            outcome=given["outcome"], by=self.people.get(given["by"], by), at=at, minutes=given["minutes"],
            note=given["note"], screws=given.get("screws", ()),
            parts=tuple((material, quantity) for material, quantity in parts if material and quantity),
        )  # fmt: skip
