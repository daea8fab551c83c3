"""Sizings for other programs: of figures that a program has, and of an opening as it stands."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final

from django.http import Http404
from django.shortcuts import get_object_or_404
from pydantic import ConfigDict

from doors.codec import InputError, schema_of, to_plain
from doors.models import Door, Sizing
from doors.services import rules_of
from doors.sheets import schema, size_json
from doors.sizing import Rules
from farm.api.entry import ApiRequest
from farm.api.forming import wrong_at
from farm.api.parsing import body_of
from farm.api.routing import FARM, Routes
from farm.api.shapes import PathId, Shown
from farm.models import Opening

routes = Routes("sizing")
router = routes.router
REF: Final = "#/components/schemas/Sizing"


class SizingShown(Shown):
    """A kept sizing: the verdict, what it was made from, and the sheet a door is cut and hung by."""

    opening_id: int
    revision: int
    verdict: str
    core_version: str
    made_at: datetime
    hung_on: date | None
    is_as_built: bool
    reason: dict[str, Any]
    inputs: dict[str, Any]
    result: dict[str, Any]


class SheetShown(Shown):
    """A sheet: cuts, marks, hardware, film, steps and checks, all lengths in millimetres."""

    model_config = ConfigDict(extra="allow")

    verdict: str


def _components() -> dict[str, Any]:
    """Return the schemas of what the core is told, by names of their own."""
    found = {**schema()["input"]["$defs"], **schema_of(Rules)["$defs"]}
    return {f"Sizing{name}": _renamed(one) for name, one in found.items()}


def _renamed(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: item.replace("#/$defs/", REF) if key == "$ref" else _renamed(item) for key, item in value.items()}
    return [_renamed(item) for item in value] if isinstance(value, list) else value


BODY: Final = {
    "requestBody": {
        "required": True, "content": {"application/json": {"schema": {"$ref": f"{REF}Opening"}}},
    },
    "x-schemas": _components(), "x-answers": [415],
}  # fmt: skip


@routes.works_out(f"{FARM}/sizings", SheetShown, summary="Size an opening's figures", extra=BODY)
def size(request: ApiRequest) -> SheetShown:
    """Work out the sheet of an opening that need not be in the register, by the farm's rules and yours beside them."""
    data = _floats(body_of(request))
    if not isinstance(data, dict):
        raise wrong_at("", "The body has to be an object that describes one opening.")
    try:
        if isinstance(changes := data.get("rules", {}), dict):
            data["rules"] = to_plain(rules_of(request.farm)) | changes
        return SheetShown(**size_json(data))
    except InputError as error:
        raise wrong_at(_pointer(error.field), f"{error.field}: {error.message}") from error


@routes.reads(FARM + "/openings/{int:pk}/sizing", SizingShown, summary="The sizing of an opening")
def one(request: ApiRequest, pk: PathId) -> SizingShown:
    """Show the sheet a door was hung by, or, where it does not hang yet, the newest."""
    opening = get_object_or_404(Opening.objects.of(request.farm), pk=pk)
    door = Door.objects.of(request.farm).for_sheet().filter(opening=opening).first()
    kept = (door.as_built or door.sizing) if door else None
    if door is None or kept is None:
        raise Http404("This opening was never sized.")
    return shown(kept, door)


def shown(kept: Sizing, door: Door) -> SizingShown:
    """Return a sizing as programs see it."""
    return SizingShown(
        opening_id=kept.opening_id, revision=kept.number, verdict=kept.verdict, core_version=kept.core_version,
        made_at=kept.made_at, hung_on=door.hung_on, is_as_built=kept.pk == door.as_built_id, reason=kept.reason,
        inputs=kept.inputs, result=kept.result,
    )  # fmt: skip


def _floats(value: Any) -> Any:
    """Return a body with the numbers that the core calculates with."""
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, dict):
        return {key: _floats(item) for key, item in value.items()}
    return [_floats(item) for item in value] if isinstance(value, list) else value


def _pointer(field: str) -> str:
    """Return the JSON pointer of a path of the core's, such as ``wall.points[2]``."""
    parts = field.replace("[", ".").replace("]", "").split(".")
    return "".join(f"/{part}" for part in parts if part)
