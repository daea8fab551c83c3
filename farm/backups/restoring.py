"""Put a backup back; refuse one that this version cannot read, and lay aside what it replaces."""

from __future__ import annotations

import shutil
import tempfile
import zipfile
from datetime import datetime
from pathlib import Path, PurePosixPath
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader

from farm.backups import contents
from farm.backups.errors import BackupError
from farm.backups.making import check
from farm.backups.snapshot import put_back


def restore(*, path: Path, now: datetime) -> Path:
    """Replace database, pictures and key by those of a backup; return the folder where the old ones lie.

    Call it while the data folder is locked, so that nothing runs on it.

    Raises
    ------
    BackupError
        Before anything is touched, where the file is damaged, of a newer version, or of another kind of database;
        after, only where the rows put back are not those of the backup.
    """
    listed = check(path)
    _refuse_what_does_not_fit(path, listed)
    aside = settings.DATA_DIR / f"before-restore-{now:%Y%m%dT%H%M%SZ}"
    aside.mkdir(mode=0o700, parents=True)
    with (
        tempfile.TemporaryDirectory(dir=settings.DATA_DIR, prefix=".restoring-") as work,
        zipfile.ZipFile(path) as pack,
    ):
        for name in listed["files"]:
            pack.extract(name, work)
        put_back(Path(work) / "database", aside=aside)
        _move_aside(Path(settings.MEDIA_ROOT), aside)
        pictures = Path(work) / "files"
        pictures.mkdir(exist_ok=True)
        shutil.move(pictures, settings.MEDIA_ROOT)
        if "vapid.pem" in listed["files"]:
            _move_aside(settings.PUSH_KEY_FILE, aside)
            shutil.move(Path(work) / "vapid.pem", settings.PUSH_KEY_FILE)
    if contents.digests(connection) != listed["tables"]:
        raise BackupError(f"The rows put back differ from the backup's. What stood there before lies in {aside}.")
    call_command("migrate", interactive=False, verbosity=0)
    return aside


def _refuse_what_does_not_fit(path: Path, listed: dict[str, Any]) -> None:
    if any(".." in PurePosixPath(name).parts or name.startswith("/") for name in listed["files"]):
        raise BackupError(f"{path.name} names files outside of itself. Do not use it.")
    if listed["database"] != connection.vendor:
        raise BackupError(
            f"{path.name} is of a {listed['database']} database, and this one is {connection.vendor}. "
            "Restore it on a server of its kind."
        )
    known = {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations or {}}
    unknown = [name for name in listed["migrations"] if name not in known]
    if unknown:
        raise BackupError(
            f"A newer Gablekeep has written {path.name} ({unknown[-1]} is unknown here). "
            "Install that version, then restore."
        )


def _move_aside(path: Path, aside: Path) -> None:
    if path.exists():
        shutil.move(path, aside / path.name)
