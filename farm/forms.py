"""Forms of the structures; each asks for as little as it can and says in one line what a figure means."""

from __future__ import annotations

from datetime import date
from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from farm import limits
from farm.formbase import Group, RegisterForm, register_field
from farm.formfields import ElevationField, ProfileField, day_field, passed
from farm.models import EndWall, Farm, Opening, Tunnel


def placed(opening: Opening) -> limits.Placed:
    """Return what its neighbours and its wall need to know of an opening."""
    head = (opening.threshold_mm or 0) + opening.rough_height_mm
    return limits.Placed(opening.code, opening.offset_mm, opening.rough_width_mm, head)


class TunnelForm(RegisterForm):
    """A tunnel; its name is enough to begin."""

    groups = (
        Group(_("Name"), ("name", "code", "status")),
        Group(
            _("Size"),
            ("shape", "width_mm", "length_mm", "ridge_mm", "side_mm"),
            _("A door is sized from the width and the arch. Leave empty what nobody has measured yet."),
        ),
        Group(
            _("Measured profile"),
            ("profile_mm",),
            _("Only for a measured shape: the outline seen from outside, from the left corner to the right."),
            folded=True,
        ),
        Group(
            _("Direction and place"),
            ("axis_bearing_deg", "east_mm", "north_mm"),
            _("The two end walls are named after the direction."),
        ),
        Group(
            _("Roll-up sides"),
            ("has_left_rollup", "left_operator_end", "has_right_rollup", "right_operator_end", "operator_travel_mm"),
            _("Left and right as seen when walking from the tail end to the head end."),
            folded=True,
        ),
        Group(
            _("Cover and storm"),
            ("bow_spacing_mm", "film_layers", "shelter", "storm_posture", "notes"),
            folded=True,
        ),
    )
    helps = {
        "code": _("Short, as painted on the wall. The next free number is proposed."),
        "width_mm": _("Outside to outside at the ground."),
        "ridge_mm": _("From the ground to the highest point."),
        "side_mm": _("The straight part of the side, up to where the arch begins; 0 where there is none."),
        "profile_mm": _("A point a line: distance from the left corner; height. Such as 3'; 8' 2\"."),
        "axis_bearing_deg": _("Where the head end faces: a compass point such as W, or degrees."),
        "east_mm": _("From any mark you choose on the farm; negative to the west of it."),
        "north_mm": _("From the same mark; negative to the south of it."),
        "operator_travel_mm": _("How high above the ground the side's crank rides when the side is open."),
        "bow_spacing_mm": _("From bow to bow along the tunnel."),
        "storm_posture": _("What this tunnel is left as before a storm."),
    }
    least_zero = frozenset({"side_mm"})
    least_any = frozenset({"east_mm", "north_mm"})

    code = forms.CharField(label=_("code"), max_length=20, required=False)
    profile_mm = ProfileField(label=_("measured profile"), required=False)
    film_layers = forms.TypedChoiceField(
        label=_("film layers"),
        choices=[("", _("not known")), (0, _("none")), (1, _("one")), (2, _("two, with air between"))],
        coerce=int,
        empty_value=None,
        required=False,
    )

    class Meta:
        model = Tunnel
        formfield_callback = register_field
        fields = (
            "name", "code", "status", "shape", "width_mm", "length_mm", "ridge_mm", "side_mm", "profile_mm",
            "axis_bearing_deg", "east_mm", "north_mm", "has_left_rollup", "left_operator_end", "has_right_rollup",
            "right_operator_end", "operator_travel_mm", "bow_spacing_mm", "film_layers", "shelter", "storm_posture",
            "notes",
        )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.status == Tunnel.Status.RETIRED:
            del self.fields["status"]
        else:
            status = self.fields["status"]
            assert isinstance(status, forms.ChoiceField)  # noqa: S101 - tells the type checker
            status.choices = [choice for choice in Tunnel.Status.choices if choice[0] != Tunnel.Status.RETIRED]

    def clean(self) -> dict[str, Any]:
        super().clean()
        openings = Opening.objects.of(self.farm).in_use().filter(end_wall__tunnel_id=self.instance.pk)
        self.refuse(limits.tunnel_errors(self.cleaned_data, map(placed, openings), self.farm.units))
        return self.cleaned_data


class EndWallForm(RegisterForm):
    """What an end wall is made of."""

    groups = (
        Group(_("Wall"), ("bearing_deg", "covering")),
        Group(
            _("Framing around the doors"),
            ("stud_face_mm", "stud_depth_mm", "header_thickness_mm", "is_tied_to_bows"),
            _("The bars, holes and tie rods are measured from these; real sizes, not the names of the timber."),
        ),
        Group(_("Notes"), ("notes",), folded=True),
    )
    helps = {
        "bearing_deg": _("A compass point such as W, or degrees. The other end wall turns with it."),
        "stud_face_mm": _("Width of a jamb stud as you stand before the wall."),
        "stud_depth_mm": _("Through the wall, from outside to inside."),
        "header_thickness_mm": _("Through the wall: the tie rods go through it."),
        "is_tied_to_bows": _("A wall that stands free of the bows leans in wind."),
    }

    class Meta:
        model = EndWall
        formfield_callback = register_field
        fields = (
            "bearing_deg", "covering", "stud_face_mm", "stud_depth_mm", "header_thickness_mm", "is_tied_to_bows",
            "notes",
        )  # fmt: skip


class OpeningForm(RegisterForm):
    """A rough opening; width and height first, then where it sits, then what must pass."""

    groups = (
        Group(_("Rough opening"), ("rough_width_mm", "rough_height_mm", "kind")),
        Group(
            _("Where it sits"),
            ("offset_mm", "threshold_mm", "header_depth_mm", "code"),
            _("Measured from outside. What nobody has measured may stay empty: the sheet then says what is missing."),
        ),
        Group(
            _("Is it square?"),
            ("diagonal_1_mm", "diagonal_2_mm"),
            _("From corner to corner of the rough opening. Two equal diagonals make a square frame."),
            folded=True,
        ),
        Group(
            _("What must pass"),
            ("machine", "machine_width_mm", "machine_height_mm"),
            _("The widest and highest thing that goes through."),
            folded=True,
        ),
        Group(_("Notes"), ("notes",), folded=True),
    )
    helps = {
        "rough_width_mm": _("Between the jamb studs."),
        "rough_height_mm": _("From the threshold to the underside of the header."),
        "offset_mm": _("From the wall's left corner to the left jamb stud's inner edge."),
        "threshold_mm": _("Above the ground outside."),
        "header_depth_mm": _("Height of the header board, from its underside to its top."),
        "code": _("Made from the wall's name."),
    }
    least_zero = frozenset({"offset_mm", "threshold_mm"})

    code = forms.CharField(label=_("code"), max_length=30, required=False)

    class Meta:
        model = Opening
        formfield_callback = register_field
        fields = (
            "rough_width_mm", "rough_height_mm", "kind", "offset_mm", "threshold_mm", "header_depth_mm", "code",
            "diagonal_1_mm", "diagonal_2_mm", "machine", "machine_width_mm", "machine_height_mm", "notes",
        )  # fmt: skip

    def __init__(self, *args: Any, end_wall: EndWall, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.end_wall = end_wall

    def limits_of(self, values: limits.Values) -> limits.Errors:
        """Return what is impossible about these values in this wall as it stands now."""
        tunnel = self.end_wall.tunnel
        others = Opening.objects.of(self.farm).in_use().filter(end_wall=self.end_wall).exclude(pk=self.instance.pk)
        return limits.opening_errors(
            values, width=tunnel.width_mm, ridge=tunnel.ridge_mm, others=map(placed, others), units=self.farm.units
        )

    def clean(self) -> dict[str, Any]:
        super().clean()
        self.refuse(self.limits_of(self.cleaned_data))
        return self.cleaned_data


class FarmForm(RegisterForm):
    """The farm itself: how it reads and writes, and where it lies."""

    groups = (
        Group(_("Farm"), ("name", "units", "language", "currency", "labour_rate", "time_zone", "keeps_photo_data")),
        Group(
            _("Place"),
            ("latitude_deg", "longitude_deg", "elevation_m", "exposure", "soil"),
            _("For the forecast and the wind on the walls."),
        ),
        Group(
            _("Wind"),
            ("storm_bearing_deg", "venting_bearing_deg"),
            _("Where it blows from, as a compass point such as WNW, or in degrees."),
        ),
    )
    helps = {
        "units": _("What lengths are shown in; both kinds can be typed. Nothing stored changes."),
        "currency": _("Three letters, such as USD or EUR."),
        "labour_rate": _("With everything that is paid on top of the wage; for comparing kinds of door."),
        "keeps_photo_data": _(
            "An insurer may ask for it. Otherwise position, time and camera are taken out of every picture; out of one"
            " sent without a name they always are."
        ),
        "latitude_deg": _("Degrees; south of the equator with a minus."),
        "longitude_deg": _("Degrees; west of Greenwich with a minus."),
        "exposure": _("The land around the tunnels, for several hundred metres."),
        "soil": _("What the posts stand in. Leave it open for mud, peat or loose fill: they hold nothing to count on."),
        "storm_bearing_deg": _("The wind that does the damage."),
        "venting_bearing_deg": _("The summer wind that cools the tunnels."),
    }

    time_zone = forms.ChoiceField(label=_("time zone"))
    elevation_m = ElevationField(
        label=_("elevation"), help_text=_("Above the sea, such as 1700 ft or 518 m."), required=False
    )

    class Meta:
        model = Farm
        formfield_callback = register_field
        fields = (
            "name", "units", "language", "currency", "labour_rate", "time_zone", "latitude_deg", "longitude_deg",
            "elevation_m", "exposure", "soil", "storm_bearing_deg", "venting_bearing_deg",
            "keeps_photo_data",
        )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        zones = self.fields["time_zone"]
        assert isinstance(zones, forms.ChoiceField)  # noqa: S101 - tells the type checker
        zones.choices = [(name, name.replace("_", " ")) for name in sorted(available_timezones())]

    def clean_currency(self) -> str:
        code = str(self.cleaned_data["currency"]).upper()
        if not (len(code) == 3 and code.isascii() and code.isalpha()):
            raise ValidationError(
                gettext("“%(code)s” is not a currency. Write its three letters."), params={"code": code}
            )
        return code


class CloneForm(forms.Form):
    """What a cloned tunnel is called."""

    name = forms.CharField(label=_("name"), max_length=120)
    code = forms.CharField(label=_("code"), max_length=20)

    def __init__(self, *args: Any, farm: Farm, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.farm = farm
        self.label_suffix = ""

    def clean_code(self) -> str:
        code = str(self.cleaned_data["code"])
        if Tunnel.objects.of(self.farm).filter(code=code).exists():
            raise ValidationError(
                gettext("The code “%(code)s” is taken. Write another."), code="taken", params={"code": code}
            )
        return code


class DayForm(forms.Form):
    """The day something was done."""

    on = day_field(_("on"))

    def __init__(self, *args: Any, not_after: date | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.latest = not_after

    def clean_on(self) -> date:
        return passed(self.cleaned_data["on"], self.latest)
