"""The form of a routine: every field of the rule, its words in both languages, lists as lines."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from doors.models import Component
from farm.formbase import Group, RegisterForm, register_field
from farm.models import Opening
from maintenance.models import Routine
from maintenance.plans.cadence import EPOCH
from maintenance.recurrence import next_after, read_rrule
from maintenance.routines.fields import LinesField, PartsField, SpeedField, UnitField, WarmthField
from maintenance.routines.keeping import RESERVED, waits_in_a_ring
from maintenance.words.routines import NEEDS
from maintenance.words.said import routine_name

Target, Trigger, Answer = Routine.Target, Routine.Trigger, Routine.Answer
WORDS: Final = ("name", "why", "tools", "checklist")
LANGUAGES: Final = ("en", "es")
BRINGS_ON: Final[Mapping[str, str]] = {  # the field that says when
    Trigger.SEASON: "season", Trigger.CALENDAR: "rule", Trigger.FITTED: "after_days", Trigger.DONE: "after_days",
    Trigger.GUST: "gust_m_s", Trigger.STORMS: "after_count", Trigger.CYCLES: "after_count",
}  # fmt: skip
OF_PARTS: Final = frozenset({Trigger.AGE, Trigger.DOSE, Trigger.FITTED})
KINDS: Final[Mapping[str, tuple[str, ...]]] = {
    Target.COMPONENT: tuple(Component.Kind.values), Target.OPENING: tuple(Opening.Kind.values)
}  # fmt: skip
MOST_MINUTES: Final = 10_080  # a week


def _text(label: Any, *, rows: int = 0) -> forms.CharField:
    widget = forms.Textarea(attrs={"rows": rows}) if rows else forms.TextInput()
    return forms.CharField(label=label, required=False, max_length=2000 if rows else 200, widget=widget)


class RoutineForm(RegisterForm):
    """A rule of upkeep."""

    groups = (
        Group(
            _("What is done"), ("name_en", "name_es", "why_en", "why_es", "rhythm"),
            _("A quantity in braces, such as {gust:13.4} for metres per second, prints in each reader's unit."),
        ),
        Group(_("Where"), ("target", "kinds", "needs")),
        Group(
            _("When"),
            ("trigger", "season", "offset_days", "every_years", "rule", "after_days", "gust_m_s", "after_count",
             "window_days"),
            _("Only the fields that go with what brings it on count."),
        ),
        Group(_("What it takes"), ("minutes", "crew", "tools_en", "tools_es", "parts")),
        Group(_("How it is done"), ("checklist_en", "checklist_es", "answer", "waits_for", "is_urgent")),
        Group(_("Under which weather"), ("needs_dry", "needs_daylight", "most_gust_m_s", "least_temperature_k")),
        Group(_("Source"), ("source",)),
    )  # fmt: skip
    helps = {
        "offset_days": _("Below 0 for days before it. Seasons begin on the first of March, June, September, December."),
        "rule": _("As in calendars (RFC 5545): FREQ=WEEKLY;BYDAY=MO or FREQ=MONTHLY;BYDAY=1MO."),
        "after_days": _("After fitting, after it was last done, or the longest life where none is rated."),
        "after_count": _("Storms, or openings and closings."),
        "window_days": _("From the day it is due to the day it is late."),
        "is_urgent": _("Whoever it concerns is told at once."),
        "waits_for": _("Jobs at the same place that come first."),
    }

    name_en = _text(_("name, English"))
    name_es = _text(_("name, Spanish"))
    why_en = _text(_("why, English"), rows=2)
    why_es = _text(_("why, Spanish"), rows=2)
    tools_en = LinesField(label=_("tools, English"), required=False, help_text=_("One a line."))
    tools_es = LinesField(label=_("tools, Spanish"), required=False, help_text=_("One a line."))
    checklist_en = LinesField(label=_("checklist, English"), required=False, help_text=_("One step a line."))
    checklist_es = LinesField(label=_("checklist, Spanish"), required=False, help_text=_("The same steps."))
    kinds = forms.MultipleChoiceField(
        label=_("only these kinds"), required=False,
        choices=[(_("parts"), Component.Kind.choices), (_("openings"), Opening.Kind.choices)],
        widget=forms.SelectMultiple(attrs={"size": 6}), help_text=_("None chosen: all."),
    )  # fmt: skip
    needs = forms.MultipleChoiceField(
        label=_("only places that have"), required=False, choices=list(NEEDS.items()),
        widget=forms.SelectMultiple(attrs={"size": 6}), help_text=_("None chosen: all."),
    )  # fmt: skip
    parts = PartsField(label=_("parts"), required=False, help_text=_("A part a line: its code, and how many: CLAMP; 4"))
    gust_m_s = SpeedField(label=_("gust above"), required=False, max_digits=6, decimal_places=2)
    most_gust_m_s = SpeedField(label=_("only in gusts below"), required=False, max_digits=6, decimal_places=2)
    least_temperature_k = WarmthField(label=_("only when warmer than"), required=False, max_digits=6, decimal_places=2)

    class Meta:
        model = Routine
        formfield_callback = register_field
        fields = (
            "rhythm", "target", "kinds", "needs", "trigger", "season", "offset_days", "every_years", "rule",
            "after_days", "gust_m_s", "after_count", "window_days", "minutes", "crew", "parts", "answer", "waits_for",
            "is_urgent", "needs_dry", "needs_daylight", "most_gust_m_s", "least_temperature_k", "source",
        )  # fmt: skip

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        for name in WORDS:
            for language in LANGUAGES:
                self.initial.setdefault(f"{name}_{language}", getattr(self.instance, name).get(language, ""))
        for field in self.fields.values():
            if isinstance(field, UnitField):
                field.units = self.farm.units
                field.help_text = self._unit_of(field)
        waits = self.fields["waits_for"]
        assert isinstance(waits, forms.ModelMultipleChoiceField)  # noqa: S101 - tells the type checker
        others = Routine.objects.of(self.farm).exclude(pk=self.instance.pk).exclude(code=RESERVED)
        waits.queryset = others.for_list()
        waits.label_from_instance = lambda obj: routine_name(obj, self.farm.units)  # type: ignore[method-assign]

    def _unit_of(self, field: UnitField) -> str:
        us = self.farm.units == "us"
        if isinstance(field, WarmthField):
            return "°F" if us else "°C"
        return "mph" if us else "m/s"

    def clean_rule(self) -> str:
        text: str = self.cleaned_data["rule"].strip().upper().removeprefix("RRULE:")
        if not text:
            return text
        try:
            rule = read_rrule(text, EPOCH)
        except ValueError as error:
            raise ValidationError(gettext("Not a rule: %(why)s."), params={"why": str(error)}) from error
        if next_after(rule, self.today) is None:
            raise ValidationError(gettext("No day fits this rule. Look at its days and months."))
        return text

    def clean_minutes(self) -> int:
        minutes: int = self.cleaned_data["minutes"]
        if minutes > MOST_MINUTES:
            raise ValidationError(gettext("Longer than a week. Write the minutes one visit takes."))
        return minutes

    def clean_every_years(self) -> int:
        years: int = self.cleaned_data["every_years"]
        if not 1 <= years <= 50:
            raise ValidationError(gettext("Write 1 for each year, up to 50."))
        return years

    def clean_offset_days(self) -> int:
        days: int = self.cleaned_data["offset_days"]
        if abs(days) > 92:
            raise ValidationError(gettext("At most a season, 92 days, before or after it begins."))
        return days

    def clean(self) -> dict[str, Any]:
        super().clean()
        given = self.cleaned_data
        if not given.get("name_en") and not given.get("name_es"):
            self._refuse("name_en", gettext("Write what it is called, in one language at least."))
        self._check_trigger(given.get("trigger", ""), given.get("target", ""))
        self._check_kinds(given.get("target", ""), given.get("kinds") or [])
        if given.get("answer") == Answer.REPLACED and given.get("target") != Target.COMPONENT:
            self._refuse("answer", gettext("Only a part can be replaced. Choose “each part” above."))
        if given.get("answer") == Answer.SCREWS and given.get("target") not in (Target.OPENING, Target.COMPONENT):
            self._refuse("answer", gettext("Screws are checked at an opening. Choose “each opening” above."))
        ring = waits_in_a_ring(routine=self.instance, first=given.get("waits_for") or []) if self.instance.pk else None
        if ring is not None:
            text = gettext("“%(name)s” waits for this one already: neither could begin.")
            self._refuse("waits_for", text % {"name": routine_name(ring, self.farm.units)})
        if "gust_m_s" in given and given["gust_m_s"] is not None and not 0 < given["gust_m_s"] <= 120:
            self._refuse("gust_m_s", gettext("A gust is above 0 and at most 268 mph (120 m/s)."))
        return given

    def _check_trigger(self, trigger: str, target: str) -> None:
        name = BRINGS_ON.get(trigger)
        value = self.cleaned_data.get(name or "")
        is_lacking = value in (None, "") or (value == 0 and name != "after_days")
        if name and is_lacking and name not in self.errors:
            self._refuse(name, gettext("Write it; it goes with what brings the job on."))
        if trigger in OF_PARTS and target and target != Target.COMPONENT:
            self._refuse("trigger", gettext("Only a part has an age and a fitting day. Choose “each part” above."))
        if trigger == Trigger.CYCLES and target and target not in (Target.OPENING, Target.COMPONENT):
            self._refuse("trigger", gettext("Only doors are opened and closed. Choose “each opening” or “each part”."))

    def _check_kinds(self, target: str, kinds: list[str]) -> None:
        strange = [kind for kind in kinds if kind not in KINDS.get(target, ())]
        if strange:
            text = gettext("These kinds do not go with the place chosen: parts for each part, doors for each opening.")
            self._refuse("kinds", text)

    def _refuse(self, name: str, text: str) -> None:
        self.add_error(name, ValidationError(text))

    def _post_clean(self) -> None:
        """Put the words on the row before Django looks at it as a whole."""
        for name in WORDS:
            kept = dict(getattr(self.instance, name))
            for language in LANGUAGES:
                text = self.cleaned_data.get(f"{name}_{language}")
                if text or (text is not None and language in kept):
                    kept[language] = text
            setattr(self.instance, name, kept)
        super()._post_clean()  # type: ignore[misc]  # the stubs leave Django's own steps out
