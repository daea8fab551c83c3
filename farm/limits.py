"""Limits that span several measurements of a structure, as sentences that name field, value and limit.

The forms and the import check rows with the same functions; what a single field refuses, the field says.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from farm.fields import metres
from farm.formfields import written
from farm.geometry import GeometryError, Profile, Shape

Values = Mapping[str, Any]
Errors = dict[str, ValidationError]

ARCH = ("shape", "width_mm", "ridge_mm", "side_mm", "profile_mm")  # what the outline of an end wall depends on
GEOMETRY_FIELDS = {"width": "width_mm", "ridge": "ridge_mm", "side": "side_mm", "points": "profile_mm"}


@dataclass(frozen=True, slots=True)
class Placed:
    """An opening as its neighbours see it: from ``left`` to ``right`` along the wall, up to ``head``."""

    code: str
    left: Decimal | None
    width: Decimal
    head: Decimal

    @property
    def right(self) -> Decimal | None:
        """Where it ends along the wall, unless its offset is not known."""
        return None if self.left is None else self.left + self.width


def tunnel_errors(values: Values, openings: Iterable[Placed], units: str) -> Errors:
    """Return what is impossible about a tunnel's sizes: the arch itself, then what already stands in its walls."""
    errors = _arch_errors(values, units)
    width, ridge = values.get("width_mm"), values.get("ridge_mm")
    for opening in openings:
        needed = opening.right or opening.width
        if width is not None and needed > width and "width_mm" not in errors:
            params = {"code": opening.code, "needed": written(needed, units), "width": written(width, units)}
            text = _("The width is %(width)s, but opening %(code)s reaches to %(needed)s. Write at least %(needed)s.")
            errors["width_mm"] = ValidationError(text, params=params)
        if ridge is not None and opening.head > ridge and "ridge_mm" not in errors:
            params = {"code": opening.code, "needed": written(opening.head, units), "ridge": written(ridge, units)}
            text = _(
                "The ridge is %(ridge)s, but opening %(code)s reaches up to %(needed)s. Write at least %(needed)s."
            )
            errors["ridge_mm"] = ValidationError(text, params=params)
    return errors


def opening_errors(
    values: Values, *, width: Decimal | None, ridge: Decimal | None, others: Iterable[Placed], units: str
) -> Errors:
    """Return what is impossible about an opening in a wall of this width and ridge, among these others."""
    errors: Errors = {}
    rough_width, rough_height, offset = (
        values.get(name) for name in ("rough_width_mm", "rough_height_mm", "offset_mm")
    )  # fmt: skip
    room = None if ridge is None else ridge - (values.get("threshold_mm") or 0)
    if room is not None and rough_height is not None and rough_height > room:
        text = _("The rough height is %(value)s, but the ridge is %(limit)s above its threshold. Write less.")
        errors["rough_height_mm"] = _over(text, rough_height, room, units)
    if width is not None and rough_width is not None and rough_width > width:
        text = _("The rough width is %(value)s, but the wall is %(limit)s wide. Write at most %(limit)s.")
        errors["rough_width_mm"] = _over(text, rough_width, width, units)
    elif offset is not None and rough_width is not None:
        errors |= _offset_errors(offset, rough_width, width, others, units)
    return errors | _diagonal_errors(values, units)


def _offset_errors(
    offset: Decimal, rough_width: Decimal, width: Decimal | None, others: Iterable[Placed], units: str
) -> Errors:
    if width is not None and offset + rough_width > width:
        text = _("At an offset of %(value)s it ends outside the wall. Write at most %(limit)s.")
        return {"offset_mm": _over(text, offset, width - rough_width, units)}
    return _overlap(offset, rough_width, width, others, units)


def _diagonal_errors(values: Values, units: str) -> Errors:
    """Return which diagonals are no longer than the sides they span: mistyped, or measured elsewhere."""
    sides = [values[name] for name in ("rough_width_mm", "rough_height_mm") if values.get(name) is not None]
    longer = max(sides, default=Decimal(0))
    text = _("A diagonal of %(value)s is no longer than the opening's side of %(limit)s. Measure corner to corner.")
    return {
        name: _over(text, values[name], longer, units)
        for name in ("diagonal_1_mm", "diagonal_2_mm")
        if values.get(name) is not None and values[name] <= longer
    }


def _overlap(
    offset: Decimal, rough_width: Decimal, width: Decimal | None, others: Iterable[Placed], units: str
) -> Errors:
    for other in others:
        if other.left is None or other.right is None or offset >= other.right or offset + rough_width <= other.left:
            continue
        params = {
            "offset": written(offset, units), "code": other.code, "left": written(other.left, units),
            "right": written(other.right, units), "before": written(other.left - rough_width, units),
        }  # fmt: skip
        fits_before = other.left >= rough_width
        fits_after = width is None or other.right + rough_width <= width
        text = _(
            "At an offset of %(offset)s it overlaps opening %(code)s, which stands from %(left)s to %(right)s."
        ) + " " + _what_to_write(fits_before=fits_before, fits_after=fits_after)  # fmt: skip
        return {"offset_mm": ValidationError(text, params=params)}
    return {}


def _what_to_write(*, fits_before: bool, fits_after: bool) -> str:
    if fits_before and fits_after:
        return _("Write at most %(before)s or at least %(right)s.")
    if fits_before:
        return _("Write at most %(before)s.")
    if fits_after:
        return _("Write at least %(right)s.")
    return _("There is no room for both: make one narrower, or move %(code)s first.")


def _over(text: str, value: Decimal, limit: Decimal, units: str) -> ValidationError:
    return ValidationError(text, params={"value": written(value, units), "limit": written(limit, units)})


def _arch_errors(values: Values, units: str) -> Errors:
    width, ridge, side = (values.get(name) for name in ("width_mm", "ridge_mm", "side_mm"))
    if ridge is not None and side is not None and side >= ridge:
        return {"side_mm": _below(side, ridge, units)}
    points, shape = values.get("profile_mm") or [], values.get("shape")
    if shape == Shape.MEASURED and points and (width is None or ridge is None):
        return _unsaid(points, width, ridge, units)
    if width is None or ridge is None or not shape or (shape == Shape.MEASURED and not points):
        return {}
    corners = tuple((x / 1000, y / 1000) for x, y in points)
    try:
        Profile(Shape(shape), metres(width) or 0.0, metres(ridge) or 0.0, metres(side) or 0.0, corners)
    except GeometryError as error:
        return {GEOMETRY_FIELDS.get(error.field, "shape"): _geometry_error(error, units)}
    return {}


def _unsaid(points: list[list[float]], width: Decimal | None, ridge: Decimal | None, units: str) -> Errors:
    """Ask for the sizes a measured profile already shows, so that they are seen and not derived in silence."""
    errors: Errors = {}
    if width is None:
        text = _("The profile ends at %(width)s. Write that as the width.")
        errors["width_mm"] = ValidationError(text, params={"width": written(points[-1][0], units)})
    if ridge is None:
        text = _("The profile's highest point is at %(ridge)s. Write that as the ridge height.")
        errors["ridge_mm"] = ValidationError(text, params={"ridge": written(max(y for _x, y in points), units)})
    return errors


def _below(side: Decimal, ridge: Decimal, units: str) -> ValidationError:
    params = {"side": written(side, units), "ridge": written(ridge, units)}
    text = _("The side height is %(side)s, the ridge %(ridge)s. The side must be lower than the ridge.")
    return ValidationError(text, params=params)


def _geometry_error(error: GeometryError, units: str) -> ValidationError:
    """Translate the core's refusal; its lengths are metres."""

    def shown(value: object) -> object:
        is_length = isinstance(value, float) or (isinstance(value, int) and error.field != "points")
        return written(round(Decimal(str(value)) * 1000, 3), units) if is_length else value

    names = {"width": _("The width"), "ridge": _("The ridge"), "side": _("The side height"), "points": _("The profile")}
    params = {
        "field": names.get(error.field, error.field), "value": shown(error.value), "limit": shown(error.limit),
    }  # fmt: skip
    return ValidationError(_(error.template), code=error.code, params=params)
