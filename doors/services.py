"""Changes that run the sizing core: size openings again, hang a door by its sheet."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import Max

from doors import sizing
from doors.book import default_design
from doors.codec import from_plain, to_plain
from doors.inputs import opening_input
from doors.mechanics.strength import Strengths
from doors.models import Door, Sizing, SizingRules
from doors.sheets import digest, inputs_to_json, sheet_to_json
from farm.models import Farm, Opening

BATCH = 300  # tunnels whose openings are sized between two writes


class HangError(Exception):
    """A door cannot be recorded as hung."""


def rules_of(farm: Farm) -> sizing.Rules:
    """Return the farm's sizing rules: common practice with the farm's changes."""
    kept = SizingRules.objects.filter(farm=farm).first()
    rules: sizing.Rules = from_plain(sizing.Rules, kept.changes if kept else {})
    return rules


def change_rules(*, farm: Farm, rules: sizing.Rules) -> None:
    """Keep the rules that differ from common practice and size every opening again."""
    practice = to_plain(sizing.Rules())
    changes = {key: value for key, value in to_plain(rules).items() if value != practice[key]}
    with transaction.atomic():
        SizingRules.objects.update_or_create(farm=farm, defaults={"changes": changes})
    resize_openings(farm=farm)


def strengths_of(farm: Farm) -> Strengths:
    """Return the planning values the farm counts on: the standards' with the farm's changes."""
    kept = SizingRules.objects.filter(farm=farm).first()
    strengths: Strengths = from_plain(Strengths, kept.strengths if kept else {})
    return strengths


def change_strengths(*, farm: Farm, strengths: Strengths) -> None:
    """Keep the planning values that differ from the standards'; no sheet depends on them."""
    standard = to_plain(Strengths())
    changes = {key: value for key, value in to_plain(strengths).items() if value != standard[key]}
    SizingRules.objects.update_or_create(farm=farm, defaults={"strengths": changes})


def resize_openings(*, farm: Farm, opening_ids: Collection[int] | None = None) -> None:
    """Size openings again and keep a new revision of every sheet whose inputs, rules or core changed.

    A door that was hung keeps the sheet it was hung by beside the new one. Openings without a door get one
    with the materials the farm's book proposes.

    Parameters
    ----------
    farm : Farm
        Whose openings.
    opening_ids : collection of int, optional
        Which; all of the farm's by default. Others in the same tunnels are sized too: as neighbours, or for
        the way out that a person door gives them all.
    """
    rules = rules_of(farm)
    openings = Opening.objects.of(farm).in_use().with_place()
    if opening_ids is not None:
        tunnels = Opening.objects.of(farm).filter(pk__in=opening_ids).values("end_wall__tunnel")
        openings = openings.filter(end_wall__tunnel__in=tunnels)
    by_tunnel: dict[int, list[Opening]] = defaultdict(list)
    for opening in openings.order_by("pk"):
        by_tunnel[opening.end_wall.tunnel_id].append(opening)
    _give_doors(farm, [opening for tunnel in by_tunnel.values() for opening in tunnel])
    tunnels_in_order = list(by_tunnel.values())
    for start in range(0, len(tunnels_in_order), BATCH):
        _size_tunnels(farm, tunnels_in_order[start : start + BATCH], rules)


def hang_door(*, opening: Opening, on: date) -> Door:
    """Record that a door was hung by its present sheet, which from then on never changes.

    Raises
    ------
    HangError
        If the opening has no sheet, or the sheet refuses it.
    """
    with transaction.atomic():
        door = Door.objects.for_sheet().get(opening=opening)
        if door.sizing is None:
            raise HangError("This opening has no sheet yet.")
        if door.sizing.verdict == Sizing.Verdict.FAIL:
            raise HangError("The sheet refuses this door: change the opening or the design first.")
        door.hung_on, door.as_built = on, door.sizing
        door.save(update_fields=["hung_on", "as_built"])
    return door


def _give_doors(farm: Farm, openings: Iterable[Opening]) -> None:
    """Make the doors that openings lack, designed from the farm's book."""
    have = set(Door.objects.of(farm).values_list("opening_id", flat=True))
    lacking = [opening for opening in openings if opening.pk not in have]
    designs = {kind: default_design(farm, kind) for kind in {opening.kind for opening in lacking}}
    Door.objects.bulk_create(
        [
            Door(farm=farm, opening=opening, **{f"{part}_id": pk for part, pk in designs[opening.kind].items()})
            for opening in lacking
        ],
        ignore_conflicts=True,
    )


def _size_tunnels(farm: Farm, tunnels: list[list[Opening]], rules: sizing.Rules) -> None:
    openings = [opening for tunnel in tunnels for opening in tunnel]
    with transaction.atomic():
        ids = [opening.pk for opening in openings]
        doors = {door.opening_id: door for door in Door.objects.of(farm).for_sheet().filter(opening__in=ids)}
        latest = dict(Sizing.objects.of(farm).filter(opening__in=ids).values_list("opening").annotate(Max("number")))
        fresh = []
        for tunnel in tunnels:
            for opening in tunnel:
                made = _size_one(farm, opening, tunnel, doors[opening.pk], rules)
                if made is not None:
                    made.number = latest.get(opening.pk, 0) + 1
                    fresh.append(made)
        Sizing.objects.bulk_create(fresh)
        for made in fresh:
            doors[made.opening_id].sizing = made
        Door.objects.bulk_update([doors[made.opening_id] for made in fresh], ["sizing"])


def _size_one(farm: Farm, opening: Opening, tunnel: list[Opening], door: Door, rules: sizing.Rules) -> Sizing | None:
    """Return a new sizing, not saved yet, or None where nothing it depends on has changed."""
    given = opening_input(opening, door, [other for other in tunnel if other.pk != opening.pk], farm)
    inputs = inputs_to_json(given, rules)
    key = digest(inputs)
    if door.sizing is not None and door.sizing.inputs_digest == key:
        return None
    made = Sizing(
        farm=farm, opening=opening, core_version=sizing.CORE_VERSION, inputs=inputs, inputs_digest=key, number=0
    )
    try:
        _fill(made, sizing.size(given, rules))
    except sizing.SizingError as refusal:
        _refuse(made, refusal)
    return made


def _fill(made: Sizing, sheet: sizing.Sheet) -> None:
    """Copy a sheet into its row: the whole as JSON, and the columns that lists sort by."""
    result = sheet_to_json(sheet)
    made.result = result
    made.verdict = str(sheet.verdict)
    made.reason = _first_reason(sheet, result)
    made.turning_bar_mm = result["turning_bar_mm"]
    made.clear_width_mm, made.clear_height_mm = result["clear_width_mm"], result["clear_height_mm"]
    if sheet.panel is not None:
        made.panel_width_mm = result["panel"]["width_mm"]
        made.panel_height_mm = result["panel"]["height_mm"]
    made.clamp_count = sum(line.count for line in sheet.hardware if line.item == "clamp")


def _first_reason(sheet: sizing.Sheet, result: dict[str, Any]) -> dict[str, Any]:
    """Return the check, or the gap, that explains the verdict."""
    if sheet.verdict == sizing.Verdict.BLOCKED:
        gaps = zip(sheet.missing, result["missing"], strict=True)
        return next({"missing": plain} for gap, plain in gaps if sizing.blocks_cutting((gap,)))
    for check, plain in zip(sheet.checks, result["checks"], strict=True):
        if check.verdict == sheet.verdict != sizing.Verdict.PASS:
            return {"check": plain}
    return {"missing": result["missing"][0]} if sheet.missing else {}


def refusal_facts(refusal: sizing.SizingError) -> dict[str, Any]:
    """Return what a sizing keeps of the core's refusal, for a sentence in the reader's units."""
    return {
        "field": refusal.field,
        "value": refusal.value,
        "relation": refusal.relation,
        "limit": refusal.limit,
        "is_length": not refusal.field.endswith(("gear_ratio", "points.count", "storm_angle")),
    }


def _refuse(made: Sizing, refusal: sizing.SizingError) -> None:
    made.result, made.verdict = {}, Sizing.Verdict.FAIL
    made.reason = {"refusal": refusal_facts(refusal)}
