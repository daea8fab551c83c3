"""Write a farm into one file: a table of each model, the plan, and every picture and voice once."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
import zipfile
from collections.abc import Iterable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any, Final
from uuid import UUID

from django.db import DEFAULT_DB_ALIAS, models
from django.db.models.fields.files import FieldFile

from doors.exchange.geojson import plan_as_geojson
from farm.models import Farm
from maintenance.wholefarm.cells import written
from maintenance.wholefarm.csvlines import record
from maintenance.wholefarm.errors import FarmFileError
from maintenance.wholefarm.hidden import HIDDEN, exchanged
from maintenance.wholefarm.manifest import NAME, PLAN, README, manifest, resource, table_path, target
from maintenance.wholefarm.numbering import CHUNK, Numbering
from maintenance.wholefarm.tables import TABLES, Table
from maintenance.wholefarm.told import README_TEXT

MOMENT: Final = (1980, 1, 1, 0, 0, 0)  # of every file inside: the same farm gives the same octets
FOLDERS: Final = {"photo": "photos", "voicenote": "voices"}


def pack_farm(*, farm_id: int, path: Path, now: datetime, using: str = DEFAULT_DB_ALIAS) -> None:
    """Write a farm to a file, in the order of its rows, without ever holding more than a few thousand of them.

    Parameters
    ----------
    farm_id : int
        The farm.
    path : Path
        Where to; what lies there is replaced when the new one is whole.
    now : datetime
        What the file says when it was made.
    using : str
        The database connection; the caller holds a transaction in which rows stand still.

    Raises
    ------
    FarmFileError
        If the file cannot be written, or the farm is gone.
    """
    farm = Farm.objects.using(using).filter(pk=farm_id).first()
    if farm is None:
        raise FarmFileError("There is no such farm. Look at its short name again.")
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=path.parent, prefix=".making-") as work:
            draft = Path(work) / path.name
            with zipfile.ZipFile(draft, "x", compresslevel=6) as pack:
                _Packer(pack, farm, using).write(now)
            draft.chmod(0o600)
            os.replace(draft, path)
    except OSError as error:
        raise FarmFileError(
            f"The file could not be written to {path.parent} ({error.strerror}). "
            "Make room, or allow this user to write there."
        ) from error


class _Packer:
    """One file in the making."""

    def __init__(self, pack: zipfile.ZipFile, farm: Farm, using: str) -> None:
        self.pack, self.farm, self.using = pack, farm, using
        self.numbers = Numbering(farm.pk, using)
        self.resources: list[dict[str, Any]] = []
        self.files: dict[str, FieldFile] = {}
        self.missing: set[str] = set()

    def write(self, now: datetime) -> None:
        for table in TABLES:
            self._table(table)
        for name in sorted(self.files):
            self._file(name, self.files[name])
        self._put(PLAN, [json.dumps(plan_as_geojson(self.farm, using=self.using), ensure_ascii=False).encode()])
        self._put(README, [README_TEXT.encode()])
        listed = manifest(farm=self.farm, resources=self.resources, missing=sorted(self.missing), now=now)
        with self.pack.open(_info(NAME), "w") as file:
            file.write(json.dumps(listed, indent=1, ensure_ascii=False).encode())

    def _table(self, table: Table) -> None:
        names = ["row", *(field.name for field in table.fields)]
        rows = _Counted(self._records(table))
        self._put(table_path(table), _chain(record(names), rows), table, rows)

    def _records(self, table: Table) -> Iterator[bytes]:
        fields = table.fields
        columns = [
            "email_of_member" if table.name == "people" and field.name == "email" else field.attname for field in fields
        ]
        found = table.of(self.farm.pk, self.using)
        files = [field for field in fields if isinstance(field, models.FileField)]
        if files:  # a file is reached through its row
            pairs = ((row, [getattr(row, name) for name in columns]) for row in found.iterator(chunk_size=CHUNK))
        else:
            pairs = ((None, values) for values in found.values_list(*columns).iterator(chunk_size=CHUNK))
        for number, (row, values) in enumerate(pairs, 1):
            cells = [self._cell(table, field, value, number, row) for field, value in zip(fields, values, strict=True)]
            yield record([str(number), *cells])

    def _cell(self, table: Table, field: models.Field[Any, Any], value: Any, number: int, row: Any) -> str:
        if isinstance(field, models.FileField):
            return self._named(row, value)
        if value is not None and (to := target(field)) is not None and not isinstance(value, UUID):
            value = self._reference(table, field, to, value, number)
        elif (paths := HIDDEN.get(f"{table.name}.{field.name}")) is not None:
            value = exchanged(value, paths, self._swap, number)
        return written(field, value)

    def _reference(self, table: Table, field: Any, to: type[models.Model], pk: int, number: int) -> int | None:
        found = self.numbers.number(to, pk)
        if found is None and not field.null:
            raise FarmFileError(f"{table.name}: row {number} belongs to what is not of this farm ({field.name}).")
        return found

    def _swap(self, model: type[models.Model], pk: int) -> int | None:
        return self.numbers.number(model, pk)

    def _named(self, row: Any, file: FieldFile) -> str:
        """Return the name of a picture or voice in the file; one that is gone or damaged is only named."""
        ending = os.path.splitext(file.name or "")[1].lower()
        name = f"{FOLDERS[row._meta.model_name]}/{row.sha256}{ending}"
        if name not in self.files and name not in self.missing:
            if _sha256(file) == row.sha256:
                self.files[name] = file
            else:
                self.missing.add(name)
        return name

    def _file(self, name: str, file: FieldFile) -> None:
        with file.open("rb") as source:
            self._put(name, source.chunks(), packing=zipfile.ZIP_STORED)

    def _put(
        self, name: str, parts: Iterable[bytes], table: Table | None = None, rows: _Counted | None = None,
        packing: int = zipfile.ZIP_DEFLATED,
    ) -> None:  # fmt: skip
        digest, size = hashlib.sha256(), 0
        with self.pack.open(_info(name, packing), "w", force_zip64=table is not None) as file:
            for part in parts:
                file.write(part)
                digest.update(part)
                size += len(part)
        count = rows.count if rows else 0
        self.resources.append(resource(name, size=size, sha256=digest.hexdigest(), table=table, rows=count))


class _Counted:
    """Passes parts on and counts them."""

    def __init__(self, parts: Iterable[bytes]) -> None:
        self.parts, self.count = parts, 0

    def __iter__(self) -> Iterator[bytes]:
        for part in self.parts:
            self.count += 1
            yield part


def _chain(head: bytes, rest: Iterable[bytes]) -> Iterator[bytes]:
    yield head
    yield from rest


def _info(name: str, packing: int = zipfile.ZIP_DEFLATED) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name, MOMENT)
    info.compress_type, info.external_attr = packing, 0o644 << 16
    return info


def _sha256(file: FieldFile) -> str | None:
    try:
        with file.open("rb") as source:
            digest = hashlib.sha256()
            for part in source.chunks():
                digest.update(part)
    except (OSError, ValueError):
        return None
    return digest.hexdigest()
