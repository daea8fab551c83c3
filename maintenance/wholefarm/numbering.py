"""The numbers of rows in a file: each row's place in the order of its primary key."""

from __future__ import annotations

from array import array
from bisect import bisect_left

from django.db.models import Model

from maintenance.wholefarm.tables import BY_MODEL

CHUNK = 5000


class Numbering:
    """Gives a row's number in the file; keeps eight octets for each row that another one may name."""

    def __init__(self, farm_id: int, using: str) -> None:
        self.farm_id, self.using = farm_id, using
        self.kept: dict[type[Model], array[int]] = {}

    def number(self, model: type[Model], pk: int) -> int | None:
        """Return the number of a row, or None where it does not go along."""
        keys = self._keys(model)
        place = bisect_left(keys, pk)
        return place + 1 if place < len(keys) and keys[place] == pk else None

    def _keys(self, model: type[Model]) -> array[int]:
        if model not in self.kept:
            rows = BY_MODEL[model].of(self.farm_id, self.using).values_list("pk", flat=True)
            self.kept[model] = array("q", rows.iterator(chunk_size=CHUNK))
        return self.kept[model]
