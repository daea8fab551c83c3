"""A file of a farm, looked at with suspicion before a single row of it is taken in."""

from __future__ import annotations

import hashlib
import json
import re
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any, Final

from django.utils.translation import gettext as _

from maintenance.wholefarm.errors import FarmFileError
from maintenance.wholefarm.manifest import KIND, NAME, PLAN, README, table_path
from maintenance.wholefarm.tables import BY_MODEL, FORM, TABLES, Table

MOST_FILES: Final = 100_000
MOST_UNPACKED: Final = 16 * 1024**3  # bytes, of all files
MOST_TABLE: Final = 4 * 1024**3  # bytes
MOST_PICTURE: Final = 16 * 1024**2  # bytes
MOST_MANIFEST: Final = 64 * 1024**2  # bytes
# Unpacked over packed: the sheets of 120 alike doors came to 66, and deflate knows no more than 1032.
MOST_RATIO: Final = 500
FREE_RATIO: Final = 4 * 1024**2  # bytes of a file that may be as dense as it likes
FILE_NAME: Final = re.compile(r"(?:photos/([0-9a-f]{64})\.jpg|voices/([0-9a-f]{64})\.[a-z0-9]{1,5})")
PACKINGS: Final = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
BLOCK: Final = 1 << 20
BROKEN: Final = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError)


@dataclass(frozen=True, slots=True)
class Opened:
    """A file whose every octet was compared with its list of contents."""

    pack: zipfile.ZipFile
    listed: dict[str, Any]
    rows: dict[str, int]
    missing: frozenset[str]

    @contextmanager
    def table(self, table: Table) -> Iterator[IO[bytes]]:
        """Open a table for reading."""
        with self.pack.open(table_path(table)) as file:
            yield file

    def read(self, name: str) -> bytes:
        """Return a picture or a voice."""
        return self.pack.read(name)


@contextmanager
def opened(path: Path) -> Iterator[Opened]:
    """Open a farm's file, having proved that it is whole, of this form, and no larger than it says.

    Raises
    ------
    FarmFileError
        With what is wrong; also for what turns out while its rows are read.
    """
    try:
        with zipfile.ZipFile(path) as pack:
            _look_at_names(pack)
            listed = _manifest(pack)
            resources = _resources(pack, listed)
            for name, entry in resources.items():
                _compare(pack, name, entry)
            missing = frozenset(str(name) for name in listed.get("missing", ()))
            yield Opened(pack, listed, _rows(resources), missing)
    except BROKEN as error:
        raise FarmFileError(
            _("This is no farm's file, or it is damaged. Take it once more from its server.")
        ) from error
    except OSError as error:
        raise FarmFileError(
            _("%(file)s cannot be read (%(why)s).") % {"file": path, "why": error.strerror or error}
        ) from error


def _look_at_names(pack: zipfile.ZipFile) -> None:
    """Refuse names that are not ours, what comes twice, and what unpacks to more than a farm can be."""
    infos = pack.infolist()
    if len(infos) > MOST_FILES:
        raise FarmFileError(_("This holds more than %(most)d files: no farm has so many.") % {"most": MOST_FILES})
    known = {NAME, PLAN, README, *(table_path(table) for table in TABLES)}
    seen: set[str] = set()
    for info in infos:
        if info.filename not in known and not FILE_NAME.fullmatch(info.filename):
            raise FarmFileError(
                _("“%(name)s” has no place in a farm's file. Take the file as it was made.")
                % {"name": info.filename[:80]}
            )
        if info.filename in seen:
            raise FarmFileError(_("%(name)s is in the file twice.") % {"name": info.filename})
        seen.add(info.filename)
        _look_at_size(info)
    if sum(info.file_size for info in infos) > MOST_UNPACKED:
        raise _too_large()


def _look_at_size(info: zipfile.ZipInfo) -> None:
    if info.flag_bits & 0x1 or info.compress_type not in PACKINGS:
        raise FarmFileError(_("%(name)s is packed in a way that is not read here.") % {"name": info.filename})
    most = MOST_TABLE if info.filename.startswith("tables/") else MOST_PICTURE
    most = MOST_MANIFEST if info.filename in (NAME, PLAN) else most
    dense = info.file_size > FREE_RATIO and info.file_size > MOST_RATIO * max(info.compress_size, 1)
    if info.file_size > most or dense:
        raise _too_large()


def _too_large() -> FarmFileError:
    return FarmFileError(
        _("This unpacks to more than a farm can be. It may be made to fill the disk; it was not opened.")
    )


def _manifest(pack: zipfile.ZipFile) -> dict[str, Any]:
    if NAME not in pack.namelist():
        raise FarmFileError(_("The list of contents is missing: this is no farm's file."))
    try:
        listed = json.loads(pack.read(NAME))
    except (ValueError, RecursionError) as error:
        raise FarmFileError(_("The list of contents cannot be read. Take the file as it was made.")) from error
    if not isinstance(listed, dict) or listed.get("kind") != KIND:
        raise FarmFileError(_("The list of contents is not that of a farm's file."))
    if listed.get("form") != FORM:
        raise FarmFileError(
            _("This file has the form %(form)s; this version reads form %(ours)d. Bring both servers to one version.")
            % {"form": str(listed.get("form"))[:20], "ours": FORM}
        )
    return listed


def _resources(pack: zipfile.ZipFile, listed: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Return the entries of the files by name; the list and the file must name the same ones."""
    entries = listed.get("resources")
    if not isinstance(entries, list) or not all(isinstance(one, dict) and "path" in one for one in entries):
        raise FarmFileError(_("The list of contents cannot be read. Take the file as it was made."))
    named = {str(one["path"]): one for one in entries}
    there = set(pack.namelist()) - {NAME}
    for name in sorted(set(named) - there):
        raise FarmFileError(_("%(name)s is missing. Take the file as it was made.") % {"name": name[:100]})
    for name in sorted(there - set(named)):
        raise FarmFileError(_("%(name)s is not in the list of contents.") % {"name": name[:100]})
    for table in TABLES:
        if table_path(table) not in named:
            raise FarmFileError(_("%(name)s is missing. Take the file as it was made.") % {"name": table_path(table)})
    return named


def _compare(pack: zipfile.ZipFile, name: str, entry: dict[str, Any]) -> None:
    digest, size = hashlib.sha256(), 0
    with pack.open(name) as file:
        while block := file.read(BLOCK):
            digest.update(block)
            size += len(block)
    match = FILE_NAME.fullmatch(name)
    said = (match[1] or match[2]) if match else digest.hexdigest()
    if entry.get("hash") != f"sha256:{digest.hexdigest()}" or entry.get("bytes") != size or said != digest.hexdigest():
        raise FarmFileError(
            _("%(name)s is not as it was written: the file is damaged or was changed. Take it once more.")
            % {"name": name}
        )


def _rows(resources: dict[str, dict[str, Any]]) -> dict[str, int]:
    rows = {}
    for table in BY_MODEL.values():
        entry = resources[table_path(table)]
        count = entry.get("rows")
        if not isinstance(count, int) or isinstance(count, bool) or not 0 <= count <= entry["bytes"]:
            raise FarmFileError(_("The list of contents cannot be read. Take the file as it was made."))
        rows[table.name] = count
    if rows["farm"] != 1:
        raise FarmFileError(_("This file holds %(count)d farms; it must hold one.") % {"count": rows["farm"]})
    return rows
