"""What work used, as bodies name it: materials of the farm's book, with how much of each."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Annotated

from django.utils.translation import gettext as _
from pydantic import Field

from doors.models import Material
from farm.api.forming import refused
from farm.api.problems import Wrong
from farm.api.shapes import Body, Id, Quantity
from farm.models import Farm
from maintenance.work import jobcard


class PartUsed(Body):
    """A material taken out of the store, and how much."""

    material_id: Id
    quantity: Quantity


PartsUsed = Annotated[list[PartUsed], Field(max_length=50)]


def parts_of(farm: Farm, parts: Sequence[PartUsed]) -> list[tuple[Material, Decimal]]:
    """Return what was used; what is not in the farm's book, or too fine a figure, is refused."""
    book = {material.pk: material for material in jobcard.book_of(farm)} if parts else {}
    wrong = [
        Wrong(_("There is no such material in this farm's book."), pointer=f"/parts/{row}/material_id")
        for row, part in enumerate(parts) if part.material_id not in book
    ] + [
        Wrong(_("Write at most two decimals."), pointer=f"/parts/{row}/quantity")
        for row, part in enumerate(parts) if part.quantity != round(part.quantity, 2)
    ]  # fmt: skip
    if wrong:
        raise refused(wrong)
    return [(book[part.material_id], part.quantity) for part in parts]
