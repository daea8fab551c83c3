"""Make a backup while the program is in use, prove that it can be read, and let old ones go."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
import zipfile
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Final

from django.conf import settings
from django.db import connection

from farm.backups import contents
from farm.backups.errors import BackupError
from farm.backups.snapshot import snapshot

FORMAT: Final = 1
NAME: Final = "gablekeep-{:%Y%m%dT%H%M%SZ}.zip"
ANY: Final = "gablekeep-*.zip"
BLOCK: Final = 1 << 20


def make_backup(*, folder: Path, now: datetime) -> Path:
    """Write one file with the database, the pictures and voices, and the key that signs alerts.

    Parameters
    ----------
    folder : Path
        Where backups are kept.
    now : datetime
        In UTC; it names the file.

    Raises
    ------
    BackupError
        Where it cannot be made; nothing half made is left behind.
    """
    target = folder / NAME.format(now)
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder, prefix=".making-") as work:
            draft = Path(work) / target.name
            _write(draft, Path(work) / "database", now)
            check(draft)
            draft.chmod(0o600)
            with draft.open("rb") as file:
                os.fsync(file.fileno())
            draft.replace(target)
    except OSError as error:
        raise BackupError(
            f"No backup could be written to {folder} ({error.strerror}). Make room, or allow this user to write there."
        ) from error
    return target


def prune(*, folder: Path, now: datetime, most: int, oldest: timedelta) -> list[Path]:
    """Delete backups beyond ``most`` and those older than ``oldest``, never the last one; return what went."""
    kept = sorted(folder.glob(ANY), reverse=True)
    limit = NAME.format(now - oldest)
    gone = [path for number, path in enumerate(kept) if number and (number >= most or path.name < limit)]
    for path in gone:
        path.unlink()
    return gone


def newest(folder: Path) -> Path | None:
    """Return the last backup that was made."""
    return max(folder.glob(ANY), default=None)


def check(path: Path) -> dict[str, Any]:
    """Read a backup through and return its list of contents; every file must be there as it was written."""
    try:
        with zipfile.ZipFile(path) as pack:
            listed: dict[str, Any] = json.loads(pack.read("contents.json"))
            if listed["format"] != FORMAT:
                raise BackupError(f"{path.name} has the form {listed['format']}; this version reads form {FORMAT}.")
            names = set(pack.namelist())
            for name, digest in listed["files"].items():
                if name not in names or _sha256(pack, name) != digest:
                    raise BackupError(f"{path.name} is damaged at {name}. Use another backup.")
    except (zipfile.BadZipFile, KeyError, ValueError, EOFError, NotImplementedError) as error:
        raise BackupError(f"{path.name} is no backup of Gablekeep, or is damaged. Use another file.") from error
    except OSError as error:
        raise BackupError(f"{path} cannot be read ({error.strerror}).") from error
    return listed


def _write(draft: Path, dump: Path, now: datetime) -> None:
    missing: list[str] = []
    hashes: dict[str, str] = {}

    def put(source: Path, name: str, packing: int = zipfile.ZIP_DEFLATED) -> None:
        pack.write(source, name, packing)
        with source.open("rb") as file:
            hashes[name] = hashlib.file_digest(file, "sha256").hexdigest()

    with zipfile.ZipFile(draft, "x", compresslevel=6) as pack:
        with snapshot(dump) as frozen:
            listed: dict[str, Any] = {
                "format": FORMAT,
                "made_at": now.isoformat(),
                "database": connection.vendor,
                "migrations": contents.migrations(frozen),
                "tables": contents.digests(frozen),
            }
            names = contents.stored_files(frozen)
        put(dump, "database")
        for name in names:  # pictures never change, so those of the snapshot are there unless somebody deleted them
            source = Path(settings.MEDIA_ROOT) / name
            if source.is_file():
                put(source, f"files/{name}", zipfile.ZIP_STORED)
            else:
                missing.append(name)
        if settings.PUSH_KEY_FILE.is_file():
            put(settings.PUSH_KEY_FILE, "vapid.pem")
        listed["missing"] = missing
        listed["files"] = hashes
        pack.writestr("contents.json", json.dumps(listed, indent=1))


def _sha256(pack: zipfile.ZipFile, name: str) -> str:
    digest = hashlib.sha256()
    with pack.open(name) as file:
        while block := file.read(BLOCK):
            digest.update(block)
    return digest.hexdigest()
