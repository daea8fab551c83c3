"""Take a farm in from a file, as a new farm, wholly or not at all."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from django.contrib.auth.hashers import make_password
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import DatabaseError, IntegrityError, connection, models, transaction
from django.utils.translation import gettext as _

from farm.models import Farm
from maintenance.labels.tokens import new_token
from maintenance.models import FieldEntry, Label, Photo, VoiceNote
from maintenance.wholefarm.cells import read
from maintenance.wholefarm.csvlines import records
from maintenance.wholefarm.errors import FarmFileError
from maintenance.wholefarm.filing import Files
from maintenance.wholefarm.hidden import HIDDEN, exchanged
from maintenance.wholefarm.looking import Opened, opened
from maintenance.wholefarm.manifest import target
from maintenance.wholefarm.places import reserve
from maintenance.wholefarm.tables import BY_MODEL, TABLES, Table

BATCH: Final = 1000  # rows
BATCH_BYTES: Final = 4 * 1024 * 1024
ASKED_AT_ONCE: Final = 500
LONGEST_USERNAME: Final = 150
LONGEST_SLUG: Final = 60


@dataclass(slots=True)
class Taken:
    """A farm that was taken in, and what could not stay as it was."""

    farm: Farm
    rows: dict[str, int]
    renamed: dict[str, str] = field(default_factory=dict)  # people, by the name they had
    new_labels: int = 0
    new_keys: int = 0
    missing: int = 0


def take_in(*, path: Path) -> Taken:
    """Take a farm in as a new one; people come along without a password, and nobody here is taken for one of them.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    FarmFileError
        If anything about the file is not as it should be; then nothing of it is kept.
    """
    with opened(path) as source:
        files = Files(source)
        try:
            with transaction.atomic():
                taken = _Taker(source, files).take()
                connection.check_constraints()
            return taken
        except IntegrityError as error:
            files.remove()
            raise FarmFileError(
                _("Rows of this file contradict each other, so nothing was taken in: %(why)s")
                % {"why": str(error).splitlines()[0]}
            ) from error
        except (DatabaseError, OSError) as error:
            files.remove()
            raise FarmFileError(
                _("The farm could not be written, so nothing was taken in: %(why)s")
                % {"why": str(error).splitlines()[0]}
            ) from error
        except BaseException:
            files.remove()
            raise


class _Taker:
    """One farm on its way in."""

    def __init__(self, source: Opened, files: Files) -> None:
        self.source, self.files = source, files
        self.before = {t.model: reserve(t.model, source.rows[t.name]) for t in TABLES if t.is_counted}
        self.farm_id = self.before[Farm] + 1
        self.has_new_ids = False
        self.salt = uuid.uuid4()
        self.taken = Taken(Farm(), source.rows, missing=len(source.missing))

    def take(self) -> Taken:
        self.has_new_ids = self._is_here_already()
        for table in TABLES:
            self._table(table)
        self.taken.farm = Farm.objects.get(pk=self.farm_id)
        return self.taken

    def _table(self, table: Table) -> None:
        batch: list[Any] = []
        size = 0
        for octets, number, values in self._rows(table):
            batch.append(self._row(table, number, values))
            size += octets
            if len(batch) >= BATCH or size >= BATCH_BYTES:
                self._save(table, batch)
                batch, size = [], 0
        self._save(table, batch)

    def _rows(self, table: Table) -> Iterator[tuple[int, int, dict[str, Any]]]:
        """Yield the rows of a table as values by column, each with its octets and number."""
        path, expected = table.name, 0
        with self.source.table(table) as stream:
            lines = records(stream, path)
            fields = _columns(table, next(lines, (0, []))[1])
            for octets, cells in lines:
                expected += 1
                if len(cells) != len(fields) + 1 or cells[0] != str(expected):
                    raise FarmFileError(
                        _("%(table)s: row %(row)d has not the columns and the number it must have.")
                        % {"table": path, "row": expected}
                    )
                yield octets, expected, self._values(table, fields, cells, expected)
        if expected != self.source.rows[table.name]:
            raise FarmFileError(
                _("%(table)s has %(there)d rows; the list of contents says %(said)d.")
                % {"table": path, "there": expected, "said": self.source.rows[table.name]}
            )

    def _values(self, table: Table, fields: list[Any], cells: list[str], number: int) -> dict[str, Any]:
        values = {}
        for one, text in zip(fields, cells[1:], strict=True):
            try:
                values[one.attname] = self._value(table, one, text, number)
            except (ValidationError, ValueError, OverflowError) as error:
                why = " ".join(error.messages) if isinstance(error, ValidationError) else str(error)
                raise FarmFileError(f"{table.name}: row {number}, {one.name}: {why}") from error
        return values

    def _value(self, table: Table, one: Any, text: str, number: int) -> Any:
        if isinstance(one, models.FileField):
            return text
        if (to := target(one)) is not None:
            return None if text == "" and one.null else self._reference(to, text)
        value = read(one, text)
        if (paths := HIDDEN.get(f"{table.name}.{one.name}")) is not None:
            return exchanged(value, paths, self._key, number)
        if self.has_new_ids and isinstance(value, uuid.UUID):
            return self._new_id(value)
        return value

    def _reference(self, to: type[models.Model], text: str) -> Any:
        if not BY_MODEL[to].is_counted:
            found = uuid.UUID(text)
            return self._new_id(found) if self.has_new_ids else found
        if not (text.isascii() and text.isdecimal() and len(text) < 19):
            raise ValidationError(_("“%(text)s” is no number of a row."), params={"text": text[:40]})
        return self._key(to, int(text))

    def _key(self, to: type[models.Model], number: int) -> int:
        """Return the primary key of a row of the file."""
        table = BY_MODEL[to]
        if not 1 <= number <= self.source.rows[table.name]:
            raise ValidationError(
                _("It names row %(row)d of %(table)s, which is not there."),
                params={"row": number, "table": table.name},
            )
        return self.before[to] + number

    def _row(self, table: Table, number: int, values: dict[str, Any]) -> Any:
        if table.model in self.before:
            values["id"] = self.before[table.model] + number
        if any(one.name == "farm" for one in table.model._meta.concrete_fields):
            values["farm_id"] = self.farm_id
        return table.model(**values)

    def _save(self, table: Table, batch: list[Any]) -> None:
        if not batch:
            return
        prepare = {
            Farm: self._farms,
            User: self._people,
            Label: self._labels,
            Photo: self._files,
            VoiceNote: self._files,
        }
        prepare.get(table.model, _as_it_is)(batch)
        stamped = [one.name for one in table.fields if getattr(one, "auto_now_add", False)]
        said = [[getattr(row, name) for name in stamped] for row in batch]
        table.model._base_manager.bulk_create(batch)
        if stamped:  # Django has just set these to the present
            for row, moments in zip(batch, said, strict=True):
                for name, moment in zip(stamped, moments, strict=True):
                    setattr(row, name, moment)
            table.model._base_manager.bulk_update(batch, stamped)

    # What must be the only one of its kind on this server -------------------------

    def _farms(self, batch: list[Any]) -> None:
        for farm in batch:
            farm.slug = _free(Farm, "slug", farm.slug, LONGEST_SLUG, joint="-")

    def _people(self, batch: list[Any]) -> None:
        theirs = {person.username for person in batch}
        for person in batch:
            wanted = person.username
            person.username = _free(User, "username", wanted, LONGEST_USERNAME, besides=theirs - {wanted})
            person.password = make_password(None)
            theirs.add(person.username)
            if person.username != wanted:
                self.taken.renamed[wanted] = person.username

    def _labels(self, batch: list[Any]) -> None:
        tokens = {label.token for label in batch}
        here = set(Label.objects.filter(token__in=tokens).values_list("token", flat=True))
        for label in batch:
            if label.token in here:
                label.token = new_token()
                self.taken.new_labels += 1

    def _files(self, batch: list[Any]) -> None:
        for row in batch:
            row.file = self.files.keep(row, row.file.name)

    def _new_id(self, value: uuid.UUID) -> uuid.UUID:
        self.taken.new_keys += 1
        return uuid.uuid5(self.salt, value.hex)

    def _is_here_already(self) -> bool:
        """Whether an id that was made on a phone is on this server: then this farm is here, and gets ids of its own."""
        looks = ((FieldEntry, "id"), (Photo, "key"), (VoiceNote, "key"))
        return any(self._any_here(model, name) for model, name in looks)

    def _any_here(self, model: type[models.Model], name: str) -> bool:
        table, ids = BY_MODEL[model], list[str]()
        with self.source.table(table) as stream:
            lines = records(stream, table.name)
            header = next(lines, (0, []))[1]
            place = header.index(name) if name in header else None
            for _octets, cells in lines:
                if place is not None and place < len(cells) and cells[place]:
                    ids.append(cells[place])
                if len(ids) >= ASKED_AT_ONCE:
                    if _taken(model, name, ids):
                        return True
                    ids.clear()
        return _taken(model, name, ids)


def _taken(model: type[models.Model], name: str, ids: list[str]) -> bool:
    try:
        wanted = [uuid.UUID(one) for one in ids]
    except ValueError as error:
        raise FarmFileError(f"{BY_MODEL[model].name}: {name}: {error}") from error
    return model._base_manager.filter(**{f"{name}__in": wanted}).exists()


def _columns(table: Table, header: list[str]) -> list[models.Field[Any, Any]]:
    """Return the columns a table's header names; those added since its file was made keep what new rows have."""
    known = {one.name: one for one in table.fields}
    names = header[1:]
    unknown = [name for name in names if name not in known]
    if header[:1] != ["row"] or unknown or len(set(names)) < len(names):
        raise FarmFileError(
            _("%(table)s has columns that are not known here: %(names)s. Bring both servers to one version.")
            % {"table": table.name, "names": ", ".join(unknown)[:200] or header[:1]}
        )
    lacking = [name for name, one in known.items() if name not in names and not (one.null or one.has_default())]
    if lacking:
        raise FarmFileError(
            _("%(table)s lacks the columns %(names)s. Take the file as it was made.")
            % {"table": table.name, "names": ", ".join(lacking)}
        )
    return [known[name] for name in names]


def _free(
    model: type[models.Model], column: str, wanted: str, longest: int, *, joint: str = "", besides: Collection[str] = ()
) -> str:  # fmt: skip
    """Return a name, with a number behind it where somebody has it here."""
    name, number = wanted, 1
    while name in besides or model._base_manager.filter(**{column: name}).exists():
        number += 1
        ending = f"{joint}{number}"
        name = wanted[: longest - len(ending)] + ending
    return name


def _as_it_is(_batch: list[Any]) -> None:
    pass
