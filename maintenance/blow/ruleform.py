"""The form of the farm's own storm rules: an empty field means common practice."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final, Literal

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from farm.formfields import LengthField, plain, written
from farm.units import measure_from, measure_in
from maintenance.blow.rules import PRACTICE, FarmRules, changes_of, flat, rules_from
from maintenance.storm.quantity import DAY, HOUR, MINUTE, StormError

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise as Text

Kind = Literal["speed", "pressure", "length", "minutes", "hours", "days", "number"]
SECONDS: Final[Mapping[str, float]] = {"minutes": MINUTE, "hours": HOUR, "days": DAY}
UNITS: Final[Mapping[str, Text]] = {"minutes": _("min"), "hours": _("h"), "days": _("days"), "number": ""}
USUAL: Final = dict(flat(PRACTICE))
SAME: Final = 1e-6  # what printing and reading a figure again may change it by, relative


@dataclass(frozen=True, slots=True)
class RuleGroup:
    """Rules under one heading: what each is measured in and called, by its dotted name."""

    heading: Text
    hint: Text
    rules: Mapping[str, tuple[Kind, Text]]


GROUPS: Final = (
    RuleGroup(_("Levels: gust from which each holds"), "", {
        "levels.get_ready": ("speed", _("1, get ready")),
        "levels.close_up": ("speed", _("2, close up")),
        "levels.batten": ("speed", _("3, batten down")),
        "levels.storm": ("speed", _("4, storm")),
        "levels.extreme": ("speed", _("5, extreme")),
        "levels.stay_out": ("speed", _("nobody at the tunnels from")),
    }),
    RuleGroup(_("Tunnels that move earlier or later"), "", {
        "offset.earlier": ("speed", _("a weak tunnel's levels begin earlier by")),
        "offset.later": ("speed", _("a sound, sheltered one's begin later by")),
        "offset.settled_after": ("days", _("a missed first tightening counts for")),
        "offset.ends_only_most": ("length", _("widest door whose bar its two ends alone can hold")),
        "shelter.half": ("number", _("gust where half sheltered, as a part of the gust in the open")),
        "shelter.sheltered": ("number", _("gust where sheltered, as a part of the gust in the open")),
    }),
    RuleGroup(_("The backward clock"), "", {
        "events.handling": ("speed", _("nobody handles film from")),
        "events.trigger": ("speed", _("a wind is a storm from")),
        "events.lull": ("hours", _("a shorter pause belongs to the storm")),
        "clock.reserve": ("number", _("times the minutes planned")),
        "clock.drying": ("hours", _("film dries after rain in")),
        "reopen.calm": ("hours", _("open again after a calm of")),
        "reopen.latest": ("hours", _("and at the latest after")),
    }),
    RuleGroup(_("Minutes for each person at it"), "", {
        "times.walk_round": ("minutes", _("walk round one tunnel")),
        "times.side": ("minutes", _("close a side")),
        "times.film_door": ("minutes", _("close a film door")),
        "times.wide_film_door": ("minutes", _("close a wide film door, by two")),
        "times.film_door_most": ("length", _("a film door is wide above")),
        "times.person_door": ("minutes", _("latch a person door")),
        "times.sliding_door": ("minutes", _("pin a sliding door")),
        "times.hinged_pair": ("minutes", _("close a hinged pair")),
        "times.coil": ("minutes", _("close a steel roll-up")),
        "times.lift_out": ("minutes", _("set a lift-out panel")),
        "times.inflation": ("minutes", _("set the inflation")),
        "times.shade": ("minutes", _("take shade cloth off, by two")),
    }),
    RuleGroup(_("What goes first when not all fits"), _("What a job left undone costs beside another."), {
        "weights.near_people": ("number", _("near a path, road or railway")),
        "weights.windward_critical": ("number", _("windward, with a critical defect")),
        "weights.windward": ("number", _("windward")),
        "weights.critical": ("number", _("critical defect elsewhere")),
        "weights.other": ("number", _("all other work")),
        "order.within": ("number", _("windward: degrees either side of head on")),
    }),
    RuleGroup(_("Snow"), "", {
        "snow.clear_at": ("pressure", _("clear a roof at")),
        "snow.side_depth": ("length", _("clear beside tunnels at")),
        "snow.drift_gust": ("speed", _("snow drifts from")),
        "snow.wet_ratio": ("number", _("depth of wet snow over its water")),
        "snow.dry_ratio": ("number", _("depth of dry snow over its water")),
    }),
)  # fmt: skip
CONTROLS: Final[Mapping[str, Text]] = {
    "door_limits_count": _(
        "Go by what each door is worked out to stand: above that its tunnel is on the highest level"
    ),
    "clock.act_on_upper": _("Act on the gust it may come to, where the forecast gives one"),
}
LABELS: Final = {name: label for group in GROUPS for name, (_kind, label) in group.rules.items()}


@dataclass(frozen=True, slots=True)
class RuleRow:
    """One rule ready to print: the farm's field beside common practice."""

    field: BoundField
    practice: str
    is_own: bool


class StormRulesForm(forms.Form):
    """The storm rules a farm keeps otherwise than common practice."""

    def __init__(self, *args: Any, rules: FarmRules, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.units, self.kept = units, rules
        known = dict(flat(rules))
        own = changes_of(rules)
        for group in GROUPS:
            for name, (kind, label) in group.rules.items():
                self.fields[_html(name)] = _field(kind, label, units)
                if name in own:
                    self.initial[_html(name)] = _stored(kind, known[name], units)
        for name, label in CONTROLS.items():
            self.fields[_html(name)] = forms.BooleanField(label=label, required=False, initial=known[name])

    def groups(self) -> Iterator[tuple[Text, Text, list[RuleRow]]]:
        """Yield headings with their rules, for the template."""
        for group in GROUPS:
            yield group.heading, group.hint, [self._row(name, kind) for name, (kind, _label) in group.rules.items()]

    def controls(self) -> list[BoundField]:
        """Return the rules that are yes or no."""
        return [self[_html(name)] for name in CONTROLS]

    def _row(self, name: str, kind: Kind) -> RuleRow:
        return RuleRow(self[_html(name)], _shown(kind, USUAL[name], self.units), _html(name) in self.initial)

    def clean(self) -> dict[str, Any]:
        super().clean()
        if not self.errors:
            try:
                self.rules()
            except StormError as error:
                self._refuse(error)
        return self.cleaned_data

    def rules(self) -> FarmRules:
        """Return the rules as they were filled in; what this page does not ask stays as it was.

        Raises
        ------
        StormError
            For a figure that cannot be.
        """
        asked = {*LABELS, *CONTROLS}
        changes = {name: value for name, value in changes_of(self.kept).items() if name not in asked}
        for group in GROUPS:
            for name, (kind, _label) in group.rules.items():
                value = self.cleaned_data.get(_html(name))
                if value is not None:
                    changes[name] = self._same(name, _si(kind, value, self.units))
        changes |= {name: self.cleaned_data[_html(name)] for name in CONTROLS}
        return rules_from(changes)

    def _same(self, name: str, value: float) -> float:
        """Return a figure as it was kept, where it was only printed and read again."""
        for known in (dict(flat(self.kept))[name], USUAL[name]):
            if abs(value - known) <= SAME * max(abs(known), 1.0):
                return float(known)
        return value

    def _refuse(self, error: StormError) -> None:
        field = _field_of(error.field)
        text = {
            "rising": gettext("Each level must begin at a higher gust than the one before it."),
            "at_least": gettext("Write a larger figure."),
            "at_most": gettext("Write a smaller figure."),
            "above": gettext("Write a figure above 0."),
        }.get(error.code, gettext("This figure cannot be."))
        self.add_error(field if field in self.fields else None, ValidationError(text, code=error.code))


def _html(name: str) -> str:
    return name.replace(".", "-")


def _field_of(path: str) -> str:
    """Return the field of a rule by the name the core calls it in an error."""
    group, _dot, name = path.rpartition(".")
    if not group:
        return _html(f"clock.{name}")  # the reserve names itself alone
    return _html(f"{group}.{name}")


def _field(kind: Kind, label: Text, units: str) -> forms.Field:
    if kind == "length":
        return LengthField(label=label, required=False, least="zero", units=units)
    return forms.DecimalField(
        label=f"{label}, {unit}" if (unit := _unit(kind, units)) else label,
        required=False, min_value=0, max_digits=9, decimal_places=4,
        widget=forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"}),
    )  # fmt: skip


def _unit(kind: Kind, units: str) -> str:
    if kind in ("speed", "pressure"):
        return measure_in(kind, 1.0, units)[1]
    return str(UNITS.get(kind, ""))


def _stored(kind: Kind, value: float, units: str) -> Decimal:
    """Return a rule as its field holds it."""
    if kind == "length":
        return round(Decimal(str(value)) * 1000, 6)
    return Decimal(str(round(_in_unit(kind, value, units), 4))).normalize()


def _in_unit(kind: Kind, value: float, units: str) -> float:
    if kind in ("speed", "pressure"):
        return measure_in(kind, value, units)[0]
    return value / SECONDS.get(kind, 1.0)


def _si(kind: Kind, value: Decimal, units: str) -> float:
    if kind == "length":
        return float(value) / 1000
    if kind in ("speed", "pressure"):
        return measure_from(kind, float(value), units)
    return float(value) * SECONDS.get(kind, 1.0)


def _shown(kind: Kind, value: float, units: str) -> str:
    if kind == "length":
        return written(_stored(kind, value, units), units)
    return f"{plain(round(_stored(kind, value, units), 1 if kind != 'number' else 2))} {_unit(kind, units)}".strip()
