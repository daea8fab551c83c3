"""A farm taken along by its commands: from one server to another, and to the same file again."""

from pathlib import Path

from tests.system.program import manage
from tests.whole_farm_check import assert_same_farm


def run(data: Path, *arguments: str, **environment: str) -> str:
    done = manage(data, *arguments, **environment)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_demo_farm_moves_and_stays_what_it_is(tmp_path):
    here, there = tmp_path / "here", tmp_path / "there"
    here.mkdir()
    there.mkdir()
    first, second = tmp_path / "first.zip", tmp_path / "second.zip"
    run(here, "migrate", "--verbosity=0")
    run(there, "migrate", "--verbosity=0")
    run(here, "load_demo")
    said = run(here, "export_farm", "brindlewick", "--to", str(first))

    told = run(there, "import_farm", str(first))
    run(there, "export_farm", "brindlewick", "--to", str(second))

    assert str(first) in said
    assert "Brindlewick Demo Farm is here" in told
    assert "none with a password" in told
    assert_same_farm(first, second)
    assert first.stat().st_mode & 0o777 == 0o600


def test_reasons_why_not_are_sentences(tmp_path):
    run(tmp_path, "migrate", "--verbosity=0")
    (tmp_path / "none.zip").write_bytes(b"nothing")

    missing = manage(tmp_path, "export_farm", "nowhere")
    broken = manage(tmp_path, "import_farm", str(tmp_path / "none.zip"))

    assert (missing.returncode, broken.returncode) == (1, 1)
    assert "There is no farm nowhere." in missing.stderr
    assert "Nothing was taken in." in broken.stderr
    assert "Traceback" not in missing.stderr + broken.stderr
