"""Where a farm's forecast comes from: the service it chose, and the cell it shares with its neighbours.

NWS names its own grid cells, once it has been asked; until then a farm sits in a cell of its own place. Open-Meteo
is asked for a rounded place, finer than the cells of any of its models.
"""

from __future__ import annotations

from datetime import datetime
from typing import Final

from django.db import transaction
from django.utils.translation import gettext as _

from farm.models import Farm
from maintenance.models import WeatherAlert, WeatherCell, WeatherSource
from maintenance.weather import GridAddress

Kind = WeatherSource.Kind
SERVICES: Final = frozenset({Kind.NWS, Kind.OPEN_METEO})
DECIMALS: Final = 4  # of a degree; NWS takes no more
COARSE: Final = 2  # decimals of a degree, some 1 km; the finest model's cells are 1 to 2 km wide
PLACES: Final = "places"  # in a cell's validators: the places that were found to lie in it
OF_NWS, OF_CAP = "nws:", "cap:"  # before an alert's own id, where it came from


class SourceError(Exception):
    """A source that cannot be chosen; its text is a sentence for the reader."""


def place_of(farm: Farm) -> str:
    """Return where a farm lies, as the key of a place; empty where nobody has said."""
    if farm.latitude_deg is None or farm.longitude_deg is None:
        return ""
    return f"{farm.latitude_deg:.{DECIMALS}f},{farm.longitude_deg:.{DECIMALS}f}"


def check_place(farm: Farm, kind: str) -> None:
    """Refuse a service for a farm whose place is not known.

    Raises
    ------
    SourceError
        With what to do about it.
    """
    if kind in SERVICES and not place_of(farm):
        raise SourceError(_("Write the farm's latitude and longitude first: the service is asked by them."))


@transaction.atomic
def choose(*, source: WeatherSource, now: datetime) -> WeatherSource:
    """Keep what a farm chose, and take its place in the cell of the service; warnings of old addresses end.

    Raises
    ------
    SourceError
        If the service needs a place and the farm has none.
    """
    check_place(source.farm, source.kind)
    before = WeatherSource.objects.filter(farm=source.farm).first()
    if before is not None and (before.kind, before.cap_url) != (source.kind, source.cap_url):
        source.error = ""
        _end_alerts(before, source, now)
    if source.kind not in SERVICES:
        source.cell = None
    source.save()
    seat(source)
    return source


def seat(source: WeatherSource) -> None:
    """Put a farm into the cell in which its place lies, as far as that is known without asking."""
    place = place_of(source.farm)
    if source.kind not in SERVICES or not place:
        return _sit(source, None)
    if not _sits(source, place):
        _sit(source, _known_cell(source.kind, place) or first_cell(source.farm, source.kind))
    return None


def first_cell(farm: Farm, kind: str) -> WeatherCell:
    """Return the cell to ask for a place: Open-Meteo's own, or a stand-in until NWS has named its own."""
    key = first_key(farm, kind)
    latitude, longitude = key.split(",")
    cell, _is_new = WeatherCell.objects.get_or_create(
        kind=kind, key=key, defaults={"latitude_deg": latitude, "longitude_deg": longitude}
    )
    return cell


def first_key(farm: Farm, kind: str) -> str:
    """Return a place as it is asked for; empty where nobody has said where the farm lies."""
    if kind == Kind.NWS or not place_of(farm):
        return place_of(farm)
    return ",".join(f"{float(degrees or 0):.{COARSE}f}" for degrees in (farm.latitude_deg, farm.longitude_deg))


def grid_of(cell: WeatherCell) -> GridAddress | None:
    """Return the address of a cell in the grid of NWS; None while it is the stand-in of a place."""
    office, slash, spot = cell.key.partition("/")
    if not slash:
        return None
    x, y = spot.split(",")
    return GridAddress(office, int(x), int(y))


@transaction.atomic
def found_grid(source: WeatherSource, grid: GridAddress) -> WeatherCell:
    """Move a farm into the cell that NWS named for its place, and remember the place."""
    place, before = place_of(source.farm), source.cell
    latitude, longitude = place.split(",")
    named, _is_new = WeatherCell.objects.get_or_create(
        kind=Kind.NWS, key=grid.cell, defaults={"latitude_deg": latitude, "longitude_deg": longitude}
    )
    _remember(named, {*named.validators.get(PLACES, ()), place})
    if before is not None and before.pk != named.pk:
        _remember(before, {*before.validators.get(PLACES, ())} - {place})
    _sit(source, named)
    return named


def _remember(cell: WeatherCell, places: set[str]) -> None:
    if places != set(cell.validators.get(PLACES, ())):
        cell.validators = {**cell.validators, PLACES: sorted(places)}
        cell.save(update_fields=["validators"])


def _known_cell(kind: str, place: str) -> WeatherCell | None:
    """Return the grid cell in which a place was found to lie before."""
    if kind != Kind.NWS:
        return None
    cells = WeatherCell.objects.filter(kind=kind, key__contains="/")
    return next((cell for cell in cells if place in cell.validators.get(PLACES, ())), None)


def _sits(source: WeatherSource, place: str) -> bool:
    cell = source.cell
    if cell is None or cell.kind != source.kind:
        return False
    return cell.key == first_key(source.farm, source.kind) or place in cell.validators.get(PLACES, ())


def _sit(source: WeatherSource, cell: WeatherCell | None) -> None:
    if source.cell != cell:
        source.cell = cell
        source.save(update_fields=["cell"])


def _end_alerts(before: WeatherSource, after: WeatherSource, now: datetime) -> None:
    """End the warnings of a service or an address that the farm no longer asks."""
    standing = WeatherAlert.objects.filter(farm=before.farm, gone_at=None)
    if after.kind != Kind.NWS:
        standing.filter(ident__startswith=OF_NWS).update(gone_at=now)
    if after.cap_url != before.cap_url:
        standing.filter(ident__startswith=OF_CAP).update(gone_at=now)
