"""Where the embedded queue server listens and what it is told."""

import os
import tempfile
from pathlib import Path

import pytest

from farm import embedded
from farm.data_folder import StartError

SHORTEST_ROOM = 104  # bytes of sun_path on macOS, its closing zero included (<sys/un.h>, from memory)


def test_the_socket_lies_in_the_run_folder():
    assert embedded.socket_path(Path("/farm/data/run")) == Path("/farm/data/run/queue.sock")


@pytest.mark.parametrize("length", range(60, 140))
def test_the_socket_path_always_fits(length):
    path = embedded.socket_path(Path("/" + "å" * length))

    assert len(os.fsencode(path)) < SHORTEST_ROOM
    assert path.is_absolute()


def test_two_long_folders_get_two_sockets():
    first, second = (embedded.socket_path(Path("/" + "x" * 150) / name) for name in ("one", "two"))

    assert first != second
    assert first.is_relative_to(tempfile.gettempdir())


def test_a_strangers_socket_folder_is_refused(tmp_path):
    if os.geteuid() == 0:
        folder = tmp_path
        os.chown(folder, 65534, 65534)
    else:
        folder = Path("/")

    with pytest.raises(StartError, match="belongs to another user"):
        embedded.prepare_socket(folder / "queue.sock")


def test_nobody_answers_where_nobody_listens(tmp_path):
    assert not embedded.answers(tmp_path / "queue.sock")
