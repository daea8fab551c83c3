"""The data folder is made, locked and given its secret key."""

import os

import pytest

from farm.data_folder import StartError, keep_secret_key, open_folder


def test_a_folder_is_made_for_its_owner_only(tmp_path):
    folder = tmp_path / "new" / "data"

    os.close(open_folder(folder))

    assert oct(folder.stat().st_mode & 0o777) == "0o700"


def test_a_folder_is_locked_until_the_last_holder_closes(tmp_path):
    lock = open_folder(tmp_path)
    heir = os.dup(lock)

    with pytest.raises(StartError, match="already runs"):
        open_folder(tmp_path)
    os.close(lock)
    with pytest.raises(StartError, match="already runs"):
        open_folder(tmp_path)
    os.close(heir)

    os.close(open_folder(tmp_path))


def test_the_secret_key_is_kept_once_for_its_owner_only(tmp_path):
    path = tmp_path / "secret_key"

    keep_secret_key(path, "the first")
    keep_secret_key(path, "the first")

    assert path.read_text() == "the first\n"
    assert oct(path.stat().st_mode & 0o777) == "0o600"
    assert list(tmp_path.iterdir()) == [path]


def test_a_key_that_another_start_kept_is_not_replaced(tmp_path):
    path = tmp_path / "secret_key"
    keep_secret_key(path, "the first")

    with pytest.raises(StartError, match="Run start again"):
        keep_secret_key(path, "the second")

    assert path.read_text() == "the first\n"


def test_a_draft_left_by_a_power_cut_is_replaced(tmp_path):
    (tmp_path / "secret_key.new").write_text("half a k")

    keep_secret_key(tmp_path / "secret_key", "whole")

    assert (tmp_path / "secret_key").read_text() == "whole\n"
