"""How much film each sheet on a farm takes: its size, the piece of roll it is cut from, its weight and its price."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from doors.models import Component, Door
from doors.pricing import per_square_metre
from doors.rows import profile_of
from farm.fields import metres
from farm.models import EndWall, Farm, Opening, Tunnel
from maintenance import sheeting
from maintenance.sheeting import Piece, Sheet

NO_MATERIAL: Final = _("The part does not say which film it is.")
NO_THICKNESS: Final = _("The film's thickness is not in the book.")
NO_PRICE: Final = _("The book has no price by area for this film, or by length of a roll of one width.")
NO_LENGTH: Final = _("The tunnel's length is not known.")
NO_ARCH: Final = _("The tunnel's arch is not measured in full.")
NO_PANEL: Final = _("There is no sheet that gives the size of the film in this door.")
NO_LAYERS: Final = _("The quantity is not a whole number of layers.")
NO_ROLL: Final = _("No roll of this film is wide enough.")
Holes = Mapping[int, Sequence[tuple[float, float]]]  # by end wall: widths and heights [m]


class UnmeasuredError(Exception):
    """A size that cannot be known; its text says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmSize:
    """What one sheet in service takes; what is not known is None, and ``missing`` says why."""

    part: Component
    layers: int | None
    sheet: Sheet | None  # one layer
    covers: float | None  # m², of all layers
    piece: Piece | None  # one layer, as it comes off the roll
    mass: float | None  # kg, of one layer
    cost: float | None
    missing: tuple[str | Promise, ...]

    @property
    def area(self) -> float | None:
        """What is to be bought, all layers. [m²]"""
        return None if self.piece is None or self.layers is None else self.piece.area * self.layers

    @property
    def roll_width(self) -> float | None:
        """The width of the roll, where the book names any. [m]"""
        has_rolls = self.part.material is not None and self.part.material.roll_widths_mm
        return self.piece.roll_width if self.piece and has_rolls else None


def sizes_of(*, farm: Farm, films: Collection[Component]) -> list[FilmSize]:
    """Return the size of each of a farm's sheets, in order, in two queries; places and materials must be loaded."""
    holes, panels = _holes(farm), _panels(farm)
    return [_film_size(part, holes, panels) for part in films]


def tunnel_of(part: Component) -> Tunnel:
    """Return the tunnel a part belongs to."""
    if part.opening is not None:
        return part.opening.end_wall.tunnel
    if part.end_wall is not None:
        return part.end_wall.tunnel
    assert part.tunnel is not None  # noqa: S101 - a constraint gives every part one place
    return part.tunnel


def _holes(farm: Farm) -> Holes:
    holes: dict[int, list[tuple[float, float]]] = defaultdict(list)
    for opening in Opening.objects.of(farm).in_use():
        holes[opening.end_wall_id].append((float(opening.rough_width_mm) / 1000, float(opening.rough_height_mm) / 1000))
    return holes


def _panels(farm: Farm) -> Mapping[int, Sheet]:
    """Return the film panel of each door by the sheet it was hung by, else by its sheet of today."""
    names = ("panel_width_mm", "panel_height_mm")
    columns = [f"{sheet}__{name}" for sheet in ("as_built", "sizing") for name in names]
    panels = {}
    for opening, hung_width, hung_height, width, height in Door.objects.of(farm).values_list("opening", *columns):
        across, along = (hung_width, hung_height) if hung_width and hung_height else (width, height)
        if across and along:
            panels[opening] = Sheet(float(across) / 1000, float(along) / 1000)
    return panels


def _film_size(part: Component, holes: Holes, panels: Mapping[int, Sheet]) -> FilmSize:
    missing: list[str | Promise] = []
    layers = int(part.quantity) if part.quantity == int(part.quantity) else None
    if layers is None:
        missing.append(NO_LAYERS)
    sheet, covers = None, None
    try:
        sheet, covers = _measured(part, holes, panels)
    except UnmeasuredError as unknown:
        missing.append(unknown.args[0])
    piece = _piece(part, sheet, missing)
    price = per_square_metre(part.material)
    if part.material is not None and price is None:
        missing.append(NO_PRICE)
    return FilmSize(
        part=part, layers=layers, sheet=sheet, piece=piece, mass=_mass(part, piece, missing),
        covers=None if covers is None or layers is None else covers * layers,
        cost=None if price is None or piece is None or layers is None else price * piece.area * layers,
        missing=tuple(missing),
    )  # fmt: skip


def _measured(part: Component, holes: Holes, panels: Mapping[int, Sheet]) -> tuple[Sheet, float]:
    """Return one layer, and what of it covers the structure. [m, m²]"""
    if part.opening is not None:
        panel = panels.get(part.opening.pk)
        if panel is None:
            raise UnmeasuredError(NO_PANEL)
        return panel, panel.area
    return _on_wall(part.end_wall, holes) if part.end_wall is not None else _on_roof(tunnel_of(part))


def _on_wall(wall: EndWall, holes: Holes) -> tuple[Sheet, float]:
    profile = profile_of(wall.tunnel, wall.end)
    if profile is None:
        raise UnmeasuredError(NO_ARCH)
    return sheeting.wall_sheet(profile), sheeting.wall_area(profile, holes.get(wall.pk, ()))


def _on_roof(tunnel: Tunnel) -> tuple[Sheet, float]:
    profile, length = profile_of(tunnel, Tunnel.End.A), metres(tunnel.length_mm)
    if profile is None:
        raise UnmeasuredError(NO_ARCH)
    if length is None:
        raise UnmeasuredError(NO_LENGTH)
    return sheeting.roof_sheet(profile, length), sheeting.arch_length(profile) * length


def _piece(part: Component, sheet: Sheet | None, missing: list[str | Promise]) -> Piece | None:
    """Return what one layer is cut from; without rolls in the book, the sheet as it is."""
    if part.material is None:
        missing.append(NO_MATERIAL)
    if sheet is None:
        return None
    widths = part.material.roll_widths_mm if part.material else []
    piece = sheeting.cut_from(sheet, [float(width) / 1000 for width in widths])
    if piece is None:
        missing.append(NO_ROLL)
    return piece


def _mass(part: Component, piece: Piece | None, missing: list[str | Promise]) -> float | None:
    if part.material is None:
        return None
    thickness = metres(part.material.thickness_mm)
    if thickness is None:
        missing.append(NO_THICKNESS)
        return None
    return None if piece is None else sheeting.sheet_mass(piece, thickness)
