"""The folder that holds the farm's data: made, checked, locked, and given its secret key."""

import os
import sys
import tempfile
from pathlib import Path

if sys.platform != "win32":
    import fcntl


class StartError(Exception):
    """Gablekeep cannot start; the message says why and what to do."""


def open_folder(folder: Path) -> int:
    """Create the folder, prove that it can be written, and lock it.

    Returns the descriptor that holds the lock. Every process that inherits it keeps the lock; the
    operating system drops it when the last of them ends, however it ends.
    """
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
        lock = os.open(folder / "lock", os.O_RDWR | os.O_CREAT, 0o600)
    except OSError as error:
        raise StartError(
            f"The data folder {folder} cannot be written ({error.strerror}). "
            "Allow this user to write there, or name another folder in GABLEKEEP_DATA."
        ) from error
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        os.close(lock)
        raise StartError(
            f"Gablekeep already runs on the data folder {folder}, or is still stopping. "
            "Use the one that runs, stop it first, or name another folder in GABLEKEEP_DATA."
        ) from error
    return lock


def keep_secret_key(path: Path, key: str) -> None:
    """Write the key once, readable by its owner only; call it while the folder is locked."""
    if path.exists():
        if path.read_text(encoding="ascii").strip() != key:
            raise StartError("Another start was making the secret key at this moment. Run start again.")
        return
    # Written aside and moved, so that a power cut cannot leave half a key.
    draft = path.with_name(path.name + ".new")
    draft.unlink(missing_ok=True)
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(key + "\n")
        file.flush()
        os.fsync(file.fileno())
    draft.replace(path)
