"""What stood on the day of a storm: sizes, doors, and the age of films, which decides what is paid."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Final

from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from doors.models import Component
from farm.models import Opening, Tunnel
from maintenance.aftermath.gusts import day_of
from maintenance.aftermath.tables import Column, Table
from maintenance.models import Storm
from maintenance.words.places import place_code

FILMS: Final = (Component.Kind.ROOF_FILM, Component.Kind.WALL_FILM, Component.Kind.DOOR_FILM)
DAYS_PER_YEAR: Final = Decimal("365.25")
TUNNELS: Final = (
    Column("tunnel", _("tunnel")), Column("name", _("name")), Column("width_mm", _("width"), "length"),
    Column("length_mm", _("length"), "length"), Column("ridge_mm", _("ridge height"), "length"),
    Column("side_mm", _("side height"), "length"), Column("bow_spacing_mm", _("bow spacing"), "length"),
    Column("axis_degrees", _("direction of the long axis, degrees"), "number"),
    Column("film_layers", _("film layers"), "number"), Column("notes", _("notes")),
)  # fmt: skip
OPENINGS: Final = (
    Column("opening", _("opening")), Column("tunnel", _("tunnel")), Column("kind", _("kind of door")),
    Column("rough_width_mm", _("rough width"), "length"), Column("rough_height_mm", _("rough height"), "length"),
)  # fmt: skip
SHEETS: Final = (
    Column("where", _("where")), Column("part", _("part")), Column("material", _("material")),
    Column("fitted_on", _("fitted on"), "day"), Column("age_years", _("age at the storm, years"), "number"),
    Column("removed_on", _("taken off on"), "day"), Column("lot", _("roll or lot number")),
)  # fmt: skip


def register_of(storm: Storm, tunnel: Tunnel | None) -> Iterator[Table]:
    """Yield sizes, doors and the age of films on the day the storm began."""
    farm, on = storm.farm, day_of(storm.begins_at, storm.farm)
    tunnels = Tunnel.objects.of(farm).filter(Q(retired_on=None) | Q(retired_on__gte=on)).order_by("code")
    doors = Opening.objects.of(farm).with_place().filter(Q(retired_on=None) | Q(retired_on__gte=on)).order_by("code")
    films = Component.objects.of(farm).in_service(on).filter(kind__in=FILMS).for_list().order_by("kind", "pk")
    if tunnel:
        tunnels, doors = tunnels.filter(pk=tunnel.pk), doors.filter(end_wall__tunnel=tunnel)
        films = films.at_tunnel(tunnel)
    yield Table("tunnels", _("Tunnels as they stood"), TUNNELS, [
        (
            row.code, row.name, row.width_mm, row.length_mm, row.ridge_mm, row.side_mm, row.bow_spacing_mm,
            row.axis_bearing_deg, row.film_layers, row.notes,
        )
        for row in tunnels
    ])  # fmt: skip
    yield Table("openings", _("Doors"), OPENINGS, [
        (row.code, row.end_wall.tunnel.code, row.get_kind_display(), row.rough_width_mm, row.rough_height_mm)
        for row in doors
    ])  # fmt: skip
    yield Table("films", _("Films and their age"), SHEETS, [
        (
            place_code(row), row.get_kind_display(), row.material.name if row.material else "", row.fitted_on,
            _years(row.fitted_on, on), row.removed_on, row.lot,
        )
        for row in films
    ])  # fmt: skip


def _years(fitted_on: date, on: date) -> Decimal:
    return round((on - fitted_on).days / DAYS_PER_YEAR, 1)
