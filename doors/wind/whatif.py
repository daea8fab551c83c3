"""The what-if panel: a door in the wind with some of its inputs changed for the moment. Nothing of it is saved."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Final
from urllib.parse import urlencode

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from doors import sizing
from doors.inputs import tube_input
from doors.mechanics.post import Soil
from doors.mechanics.wind_data import Enclosure
from doors.models import Material
from doors.wind.inputs import DoorInWind
from doors.words.wind import ENCLOSURES, STATES
from farm.formfields import LengthField, written
from farm.models import Farm
from farm.units import METRIC, US, measure_from, measure_in

GUSTS: Final = {US: Decimal(46), METRIC: Decimal(20)}  # looked at first; gusts of 46 mph bring a wind advisory (US)
FASTEST: Final = {US: 150, METRIC: 67}  # in the reader's unit
MOST_INNER: Final = 8
OLDEST: Final = 30  # years
DEEPEST_MM: Final = 3000
TUBES: Final = ("turning_tube", "sill_tube", "anti_billow_tube")


class WhatIfForm(forms.Form):
    """What is asked of a door: the gust looked at, and changes to how it hangs. An empty field stays as it is.

    The form is always filled in: what the address does not say stands as it does on the farm.
    """

    gust = forms.DecimalField()
    state = forms.ChoiceField(label=_("drawn as"), required=False)
    hold_downs = LengthField(label=_("hold-downs, apart"), required=False, least="zero", help_text=_("0 for none."))
    inner = forms.IntegerField(
        label=_("anti-billow tubes between the jambs"), min_value=0, max_value=MOST_INNER, required=False,
        help_text=_("Each with a lift-out stud behind it."),
    )  # fmt: skip
    turning_tube = forms.ModelChoiceField(Material.objects.none(), label=_("turning bar"), required=False)
    sill_tube = forms.ModelChoiceField(Material.objects.none(), label=_("sill bar"), required=False)
    anti_billow_tube = forms.ModelChoiceField(Material.objects.none(), label=_("anti-billow tubes"), required=False)
    embedment = LengthField(label=_("anti-billow tubes in the ground"), required=False)
    soil = forms.ChoiceField(label=_("soil"), required=False)
    film_years = forms.DecimalField(
        label=_("age of the film, years"), min_value=0, max_value=OLDEST, max_digits=4, decimal_places=1,
        required=False,
    )  # fmt: skip
    house = forms.ChoiceField(label=_("rest of the house"), required=False, choices=list(ENCLOSURES.items()))

    def __init__(
        self, data: Mapping[str, str], *, door: DoorInWind, farm: Farm, tubes: QuerySet[Material], units: str
    ) -> None:
        self.door, self.units = door, units
        self.present = present_texts(door, units)
        super().__init__({**self.present, **{name: value for name, value in data.items() if name in self.base_fields}})
        self.label_suffix = ""
        unit = measure_in("speed", 1.0, units)[1]
        self.fields["gust"] = forms.DecimalField(
            label=gettext("gust at the door, %(unit)s") % {"unit": unit}, min_value=1, max_value=FASTEST[units],
            max_digits=5, decimal_places=1, required=False,
        )  # fmt: skip
        state, soil = self.fields["state"], self.fields["soil"]
        assert isinstance(state, forms.ChoiceField) and isinstance(soil, forms.ChoiceField)  # noqa: S101, PT018
        state.choices = [("", gettext("as secured as it can be")), *list(STATES.items())[2:]]
        soil.choices = [("", gettext("not known")), *farm.Soil.choices]
        for name in ("hold_downs", "embedment"):
            field = self.fields[name]
            assert isinstance(field, LengthField)  # noqa: S101
            field.units = units
        self._offer_tubes(tubes)

    def _offer_tubes(self, tubes: QuerySet[Material]) -> None:
        for name in TUBES:
            choice = self.fields[name]
            assert isinstance(choice, forms.ModelChoiceField)  # noqa: S101
            choice.queryset = tubes
            now: sizing.Tube | None = getattr(self.door.opening.design, name)
            choice.empty_label = gettext("as it is")
            choice.help_text = now.name if now else gettext("Not chosen yet.")
        if not self.door.is_mid_bar:
            del self.fields["sill_tube"]

    def clean_embedment(self) -> Decimal | None:
        depth: Decimal | None = self.cleaned_data["embedment"]
        if depth is not None and depth > DEEPEST_MM:
            params = {"limit": written(DEEPEST_MM, self.units)}
            raise forms.ValidationError(gettext("Write at most %(limit)s."), params=params)
        return depth

    @property
    def gust_m_s(self) -> float:
        """The gust looked at. [m/s]"""
        chosen = self.cleaned_data.get("gust") or GUSTS[self.units]
        return measure_from("speed", float(chosen), self.units)

    @property
    def drawn(self) -> str:
        """The closing state that is drawn; empty for the most secured."""
        return str(self.cleaned_data.get("state", ""))

    @property
    def changes(self) -> frozenset[str]:
        """The fields that say something else than what stands on the farm."""
        return frozenset(name for name in self._said_otherwise if name not in ("gust", "state"))

    @property
    def query(self) -> str:
        """What an address has to say so that it shows this reading again: no more than what is changed."""
        return urlencode({name: self.data[name] for name in self._said_otherwise})

    @property
    def _said_otherwise(self) -> list[str]:
        return [name for name in self.fields if str(self.data.get(name, "")) != self.present.get(name, "")]

    @property
    def changed_labels(self) -> list[str]:
        """What is changed for the moment, by the fields' labels."""
        return [str(self.fields[name].label) for name in self.fields if name in self.changes]

    def door_asked_for(self) -> DoorInWind:
        """Return the door with what was asked for; what could not be read stays as it is."""
        said = {name: value for name, value in self.cleaned_data.items() if name in self.changes}
        door = self.door
        opening = _with_tubes(door.opening, said)
        rules = _with_rules(door, said)
        changes: dict[str, Any] = {"opening": opening, "rules": rules}
        if "hold_downs" in said:
            spacing = said["hold_downs"]
            changes["hold_down_spacing"] = float(spacing) / 1000 if spacing else None
        if "soil" in said:
            changes["soil"] = Soil(said["soil"]) if said["soil"] else None
        if said.get("film_years") is not None:
            changes["film_years"] = float(said["film_years"])
        if "house" in said:
            changes["enclosure"] = Enclosure(said["house"] or Enclosure.ENCLOSED)
        return dataclasses.replace(door, **changes)


def present_texts(door: DoorInWind, units: str) -> dict[str, str]:
    """Return the fields as the farm has them."""
    spacing = door.hold_down_spacing
    return {
        "gust": str(GUSTS[units]),
        "state": "",
        "hold_downs": "0" if spacing is None else written(_mm(spacing), units),
        "inner": str(inner_supports(door)),
        "turning_tube": "",
        "sill_tube": "",
        "anti_billow_tube": "",
        "embedment": written(_mm(door.rules.post_embedment), units),
        "soil": str(door.soil or ""),
        "film_years": "" if door.film_years is None else f"{door.film_years:.1f}",
        "house": str(door.enclosure),
    }


def inner_supports(door: DoorInWind) -> int:
    """Return how many anti-billow tubes stand between the jambs."""
    return int(door.figures.supports.count) - 2


def _mm(metres: float) -> Decimal:
    return round(Decimal(str(metres)) * 1000, 6)


def _with_tubes(opening: sizing.Opening, said: Mapping[str, Any]) -> sizing.Opening:
    tubes: dict[str, Any] = {name: tube_input(said[name]) for name in TUBES if said.get(name) is not None}
    return dataclasses.replace(opening, design=dataclasses.replace(opening.design, **tubes)) if tubes else opening


def _with_rules(door: DoorInWind, said: Mapping[str, Any]) -> sizing.Rules:
    changes: dict[str, Any] = {}
    if said.get("embedment") is not None:
        changes["post_embedment"] = float(said["embedment"]) / 1000
    if said.get("inner") is not None:  # the rule that spaces supports is bent until it gives so many
        width = door.opening.rough_width
        changes |= {"wide_from": 0.0, "support_spacing": width / (said["inner"] + 1)}
    return dataclasses.replace(door.rules, **changes) if changes else door.rules
