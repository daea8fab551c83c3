"""Forms of what hangs in the openings: a door's design, parts in service, the book of materials."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from doors.book import default_design
from doors.models import Component, Door, Material
from doors.places import PLACES, place_choices, place_key
from farm.formbase import Group, RegisterForm, register_field
from farm.formfields import LengthsField, day_field, passed
from farm.forms import OpeningForm

DESIGN_KINDS: Mapping[str, str] = {
    "turning_tube": "tube", "sill_tube": "tube", "post_tube": "tube", "anti_billow_tube": "tube", "film": "film",
    "channel": "channel", "wire": "wire", "rod": "rod", "drive": "drive",
}  # fmt: skip


class DoorForm(RegisterForm):
    """The choices made for one door."""

    groups = (
        Group(_("Drive"), ("drive_side", "drive"), _("The gearbox rides on a guide post at this side of the wall.")),
        Group(_("Tubes"), ("turning_tube", "sill_tube", "post_tube", "anti_billow_tube")),
        Group(_("Film and its fixing"), ("film", "channel", "wire", "rod")),
        Group(_("In the wind"), ("hold_down_spacing_mm",)),
    )
    helps = {
        "drive_side": _("Seen from outside. Keep clear of a roll-up side's operator at the same corner."),
        "turning_tube": _("Winds the film."),
        "sill_tube": _("Second bar at the sill, along the film's lower edge."),
        "post_tube": _("Guide post the gearbox slides on."),
        "anti_billow_tube": _("Upright inside each jamb; keeps the film from blowing in."),
        "film": _("Its roll widths decide how the panel is cut."),
        "rod": _("Ties the anti-billow tube through the header."),
        "hold_down_spacing_mm": _("Hooks or straps that tie the lower bar to the ground. Empty where there are none."),
    }

    class Meta:
        model = Door
        formfield_callback = register_field
        fields = (
            "drive_side", "drive", *[name for name in DESIGN_KINDS if name != "drive"], "hold_down_spacing_mm",
        )  # fmt: skip
        labels = {
            "drive": _("gearbox"),
            "turning_tube": _("tube of the turning bar"),
            "sill_tube": _("tube of the sill bar"),
            "post_tube": _("tube of the guide post"),
            "anti_billow_tube": _("anti-billow tube"),
            "channel": _("film channel"),
            "wire": _("spring wire"),
            "rod": _("tie rod"),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, kind in DESIGN_KINDS.items():
            choice = self.fields[name]
            assert isinstance(choice, forms.ModelChoiceField)  # noqa: S101 - tells the type checker
            # A material taken out of the book stays choosable where it is already chosen.
            kept = Q(is_in_book=True) | Q(pk=getattr(self.instance, f"{name}_id"))
            choice.queryset = Material.objects.of(self.farm).filter(kept, kind=kind).order_by("name", "pk")
            choice.empty_label = gettext("not chosen")

    def propose_design(self) -> None:
        """Propose the book's materials for what was not chosen yet."""
        design = default_design(self.farm, self.instance.opening.kind)
        self.propose({name: pk for name, pk in design.items() if getattr(self.instance, f"{name}_id") is None})


class NewOpeningForm(OpeningForm):
    """A new opening, with the one choice of its door that nobody but the farm can make.

    ``proposed_offset`` carries the offset the page proposed; empty means that it has proposed none yet.
    """

    groups = (
        OpeningForm.groups[0],
        Group(
            OpeningForm.groups[1].heading,
            ("offset_mm", "threshold_mm", "header_depth_mm", "drive_side", "code"),
            OpeningForm.groups[1].help,
        ),
        *OpeningForm.groups[2:],
    )

    drive_side = forms.ChoiceField(
        label=_("crank stands on the"),
        choices=[("", _("not chosen")), *Door.DriveSide.choices],
        required=False,
        help_text=_("Seen from outside. For film doors."),
    )
    proposed_offset = forms.CharField(required=False, widget=forms.HiddenInput)

    def follow_width(self, url: str) -> None:
        """Let a browser with scripts ask for the offset as soon as the width is typed."""
        self.fields["rough_width_mm"].widget.attrs |= {
            "hx-get": url,
            "hx-trigger": "change",
            "hx-include": "#id_offset_mm, #id_proposed_offset",
            "hx-target": "#id_offset_mm_field",
            "hx-swap": "outerHTML",
        }


class ComponentForm(RegisterForm):
    """A part in service: what, where, since when."""

    groups = (
        Group(_("Part"), ("kind", "place", "spot", "quantity", "fitted_on")),
        Group(_("Material and notes"), ("material", "lot", "printed_side", "notes")),
    )
    helps = {
        "spot": _("Such as: left jamb, clamp 4."),
        "quantity": _("Pieces, layers of film, or the measured amount of cord, wire or channel in feet or metres."),
        "lot": _("As printed on the roll or the box; it finds the sheets of a bad batch."),
        "printed_side": _("Of film: on which side its print faces."),
        "fitted_on": _("Its age is counted from this day."),
    }

    place = forms.ChoiceField(label=_("on"), help_text=_("The tunnel, one of its end walls, or an opening."))

    class Meta:
        model = Component
        formfield_callback = register_field
        fields = ("kind", "spot", "quantity", "fitted_on", "material", "lot", "printed_side", "notes")

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.fields["fitted_on"] = day_field(_("fitted on"), self.helps["fitted_on"])
        place = self.fields["place"]
        material = self.fields["material"]
        assert isinstance(place, forms.ChoiceField) and isinstance(material, forms.ModelChoiceField)  # noqa: S101, PT018
        place.choices = place_choices(self.farm, self.instance)
        material.queryset = (
            Material.objects.of(self.farm)
            .filter(Q(is_in_book=True) | Q(pk=self.instance.material_id))
            .order_by("kind", "name", "pk")
        )
        material.empty_label = gettext("not recorded")
        if self.instance.pk:
            self.initial["place"] = place_key(self.instance)

    def clean_fitted_on(self) -> date:
        return passed(self.cleaned_data["fitted_on"], self.today)

    def clean_quantity(self) -> Decimal | None:
        return at_least(self.cleaned_data, "quantity", "0.01")

    def clean(self) -> dict[str, Any]:
        super().clean()
        kind, _dash, pk = self.cleaned_data.get("place", "").partition("-")
        if kind in PLACES:
            for name, column in PLACES.items():
                setattr(self.instance, f"{column}_id", int(pk) if name == kind else None)
        fitted, removed = self.cleaned_data.get("fitted_on"), self.instance.removed_on
        if fitted and removed and fitted > removed:
            text = gettext("Fitted on %(fitted)s is after it was removed, on %(removed)s.")
            params = {"fitted": fitted.isoformat(), "removed": removed.isoformat()}
            self.add_error("fitted_on", ValidationError(text, params=params))
        return self.cleaned_data


class MaterialForm(RegisterForm):
    """One line of the book of materials."""

    groups = (
        Group(_("Material"), ("kind", "code", "name", "trade_name", "is_in_book")),
        Group(
            _("Tubes and rods"),
            ("diameter_mm", "wall_mm", "stock_length_mm"),
            _("Real sizes, not the trade's name for them. Stock length also for channel and wire."),
        ),
        Group(_("Film"), ("thickness_mm", "roll_widths_mm"), folded=True),
        Group(_("Nuts, washers and drive"), ("nut_height_mm", "washer_thickness_mm", "gear_ratio"), folded=True),
        Group(_("Life and price"), ("rated_life_years", "rated_dose_kly", "price", "price_per", "notes"), folded=True),
        Group(_("Store"), ("least_stock", "lead_weeks"), folded=True),
    )
    helps = {
        "trade_name": _("What to say at the counter."),
        "is_in_book": _("Offered in new designs."),
        "diameter_mm": _("Outside."),
        "roll_widths_mm": _("With semicolons between: 10'; 12'; 16'."),
        "gear_ratio": _("How often the crank turns while the bar turns once."),
        "rated_dose_kly": _("The sun's energy the maker rates it for. 1 kLy is 41.84 MJ/m²."),
        "least_stock": _("The store page names it when less lies there."),
        "lead_weeks": _("The film plan counts the day to order back from it."),
        "price_per": _("Film by its area. A stock length is one whole tube, channel or board as it is sold."),
    }

    roll_widths_mm = LengthsField(label=_("roll widths"), required=False)

    class Meta:
        model = Material
        formfield_callback = register_field
        fields = (
            "kind", "code", "name", "trade_name", "is_in_book", "diameter_mm", "wall_mm", "stock_length_mm",
            "thickness_mm", "roll_widths_mm", "nut_height_mm", "washer_thickness_mm", "gear_ratio",
            "rated_life_years", "rated_dose_kly", "price", "price_per", "least_stock", "lead_weeks", "notes",
        )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        super().clean()
        diameter, wall = self.cleaned_data.get("diameter_mm"), self.cleaned_data.get("wall_mm")
        if diameter is not None and wall is not None and wall * 2 >= diameter:
            show = self.fields["wall_mm"].prepare_value
            text = gettext("A tube of %(diameter)s outside cannot have a wall of %(wall)s. Write less than %(limit)s.")
            params = {"diameter": show(diameter), "wall": show(wall), "limit": show(diameter / 2)}
            self.add_error("wall_mm", ValidationError(text, params=params))
        if self.cleaned_data.get("price") is not None and not self.cleaned_data.get("price_per"):
            self.add_error("price_per", ValidationError(gettext("Choose what this price buys."), code="required"))
        if self.cleaned_data.get("price_per") == "stock" and not self.cleaned_data.get("stock_length_mm"):
            text = gettext("Write the stock length, or choose another measure for the price.")
            self.add_error("price_per", ValidationError(text, code="no_stock"))
        return self.cleaned_data

    def clean_gear_ratio(self) -> Decimal | None:
        return at_least(self.cleaned_data, "gear_ratio", "0.01")

    def clean_rated_life_years(self) -> Decimal | None:
        return at_least(self.cleaned_data, "rated_life_years", "0.1")

    def clean_rated_dose_kly(self) -> Decimal | None:
        return at_least(self.cleaned_data, "rated_dose_kly", "0.1")

    def clean_least_stock(self) -> Decimal | None:
        return at_least(self.cleaned_data, "least_stock", "0")

    def clean_price(self) -> Decimal | None:
        return at_least(self.cleaned_data, "price", "0")


def at_least(cleaned: dict[str, Any], name: str, least: str) -> Decimal | None:
    """Return a cleaned number, or refuse one that is too small."""
    number: Decimal | None = cleaned[name]
    if number is not None and number < Decimal(least):
        text = gettext("%(number)s is too small. Write %(least)s or more.")
        raise ValidationError(text, params={"number": number, "least": least})
    return number
