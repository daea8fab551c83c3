"""A farm's file as a manager asks for it: made by the worker, kept a few days in the data folder, fetched, dropped."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from django.conf import settings

from maintenance.wholefarm.errors import FarmFileError
from maintenance.wholefarm.frozen import standing_still
from maintenance.wholefarm.packing import pack_farm

KEPT_FOR: Final = timedelta(days=3)
GIVEN_UP_AFTER: Final = timedelta(minutes=15)  # the worker ends a task after ten
FILE, ASKED, PROBLEM = "farm.zip", "asked", "problem"


@dataclass(frozen=True, slots=True)
class Standing:
    """How it stands with a farm's file."""

    file: Path | None = None
    made_at: datetime | None = None
    size: int = 0
    is_being_made: bool = False
    problem: str = ""


def folder_of(farm_id: int) -> Path:
    """Return where a farm's file is kept."""
    return Path(settings.DATA_DIR) / "farm-files" / str(farm_id)


def standing_of(*, farm_id: int, now: datetime) -> Standing:
    """Return whether there is a file, one is being made, or why the last one was not."""
    folder = folder_of(farm_id)
    asked_at, made_at = _time_of(folder / ASKED), _time_of(folder / FILE)
    is_being_made = asked_at is not None and now - asked_at < GIVEN_UP_AFTER
    problem = folder / PROBLEM
    file = folder / FILE if made_at is not None and now - made_at < KEPT_FOR else None
    return Standing(
        file=file, made_at=made_at if file else None, size=file.stat().st_size if file else 0,
        is_being_made=is_being_made,
        problem="" if is_being_made or not problem.is_file() else problem.read_text(encoding="utf-8"),
    )  # fmt: skip


def note_asked(*, farm_id: int) -> None:
    """Write down that a file is being made; the worker takes that back when it is done.

    Raises
    ------
    FarmFileError
        If the data folder cannot be written to.
    """
    folder = folder_of(farm_id)
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        (folder / PROBLEM).unlink(missing_ok=True)
        (folder / ASKED).touch()
    except OSError as error:
        raise FarmFileError(f"{folder} cannot be written to ({error.strerror}). Make room there.") from error


def make(*, farm_id: int, now: datetime) -> None:
    """Make a farm's file; a reason why not is kept for its page. Old files of all farms go first."""
    drop_old(now=now)
    folder = folder_of(farm_id)
    try:
        with standing_still() as using:
            pack_farm(farm_id=farm_id, path=folder / FILE, now=now, using=using)
    except FarmFileError as error:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        (folder / PROBLEM).write_text(str(error), encoding="utf-8")
    finally:
        (folder / ASKED).unlink(missing_ok=True)


def drop(*, farm_id: int) -> None:
    """Drop a farm's file and all that is known of it."""
    shutil.rmtree(folder_of(farm_id), ignore_errors=True)


def drop_old(*, now: datetime) -> None:
    """Drop the files of all farms that nobody fetched in time."""
    for file in (Path(settings.DATA_DIR) / "farm-files").glob(f"*/{FILE}"):
        made_at = _time_of(file)
        if made_at is not None and now - made_at >= KEPT_FOR:
            file.unlink(missing_ok=True)


def _time_of(path: Path) -> datetime | None:
    try:
        return datetime.fromtimestamp(path.stat().st_mtime, UTC)
    except OSError:
        return None
