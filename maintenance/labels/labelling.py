"""Labels made for places that have none, and a lost one replaced."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import Final

from django.db import transaction
from django.db.models import QuerySet

from farm.models import EndWall, Farm, Opening, Tunnel
from farm.querysets import Row
from maintenance.labels.tokens import new_token
from maintenance.models import Label

ROUNDS: Final = 5  # a token that is taken is drawn again


class LabelError(ValueError):
    """A label that is not in use cannot be replaced."""


def make_missing(*, farm: Farm, now: datetime) -> int:
    """Make a label for every place in use that has none; return how many were made. Twice at once makes each once."""
    before = Label.objects.filter(farm=farm).count()
    for _round in range(ROUNDS):
        missing = [Label(farm=farm, token=new_token(), made_at=now, **place) for place in _unlabelled(farm)]
        if not missing:
            break
        Label.objects.bulk_create(missing, ignore_conflicts=True)
    return Label.objects.filter(farm=farm).count() - before


@transaction.atomic
def replace(*, label: Label, now: datetime) -> Label:
    """Take a lost label back and make a new one for its place.

    Raises
    ------
    LabelError
        If somebody took it back before.
    """
    if not Label.objects.filter(pk=label.pk, revoked_at=None).update(revoked_at=now):
        raise LabelError(f"label {label.token} is not in use")
    return Label.objects.create(
        farm_id=label.farm_id, token=_free_token(), made_at=now, tunnel_id=label.tunnel_id,
        end_wall_id=label.end_wall_id, opening_id=label.opening_id,
    )  # fmt: skip


def _free_token() -> str:
    token = new_token()
    return token if not Label.objects.filter(token=token).exists() else _free_token()


def _unlabelled(farm: Farm) -> list[dict[str, int]]:
    """Return the places in use without a label, as the columns of a label's row."""
    tunnels = Tunnel.objects.of(farm).standing()
    walls = EndWall.objects.of(farm).filter(tunnel__in=tunnels)
    openings = Opening.objects.of(farm).in_use().filter(end_wall__in=walls)
    found = {"tunnel": _numbers(tunnels), "end_wall": _numbers(walls), "opening": _numbers(openings)}
    return [{f"{column}_id": pk} for column, pks in found.items() for pk in _without(column, pks, farm)]


def _numbers(places: QuerySet[Row]) -> list[int]:
    return list(places.order_by("pk").values_list("pk", flat=True))


def _without(column: str, pks: Collection[int], farm: Farm) -> list[int]:
    labelled = Label.objects.filter(farm=farm, revoked_at=None, **{f"{column}__isnull": False})
    taken = set(labelled.values_list(f"{column}_id", flat=True))
    return [pk for pk in pks if pk not in taken]
