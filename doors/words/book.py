"""How the book of materials writes sizes: as they are sold, exactly, never to the sixteenth."""

from __future__ import annotations

from decimal import Decimal

from django.utils.html import format_html
from django.utils.safestring import SafeString

from doors.models import Material
from farm.fields import metres
from farm.formfields import exact_inches, plain, written
from farm.units import METRIC, MISSING, US, format_length


def size_html(material: Material, units: str) -> SafeString | str:
    """Return a material's size in the reader's units, the other in the tooltip; a dash where it has none.

    A tube of 1.315 in is not one of 1 5/16 in, and a metric tube has no size in inches at all.
    """
    if material.roll_widths_mm:
        return "; ".join(format_length(metres(width), units) for width in material.roll_widths_mm)
    given = (material.diameter_mm or material.thickness_mm, material.wall_mm)
    sizes = [size for size in given if size is not None]
    if not sizes:
        return MISSING
    metric, inches = " × ".join(plain(size) for size in sizes) + " mm", _in_inches(material, sizes)
    if not inches:
        return format_html('<span class="q">{}</span>', metric)
    shown, other = (metric, inches) if units == METRIC else (inches, metric)
    return format_html('<span class="q" title="{}">{}</span>', other, shown)


def _in_inches(material: Material, sizes: list[Decimal]) -> str:
    """Return sizes as the trade writes them: a tube in decimals, a rod in fractions; empty where none is exact."""
    inches = [exact_inches(size) for size in sizes]
    if any(size is None for size in inches):
        return ""
    if material.kind not in (Material.Kind.TUBE, Material.Kind.CLAMP):
        return " × ".join(written(size, US) for size in sizes)
    return " × ".join(f"{size:.3f}" if size == round(size, 3) else plain(size) for size in inches if size) + " in"
