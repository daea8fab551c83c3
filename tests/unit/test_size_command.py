"""``manage.py size``: a file, standard input or the schema in; JSON and an exit status out."""

import io
import json
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest
from django.core.management import call_command

from doors.codec import to_plain
from doors.sheets import schema
from doors.sizing import INCH, DoorKind, Machine
from tests.openings import make_opening

ROOT = Path(__file__).parents[2]
COIL = {"kind": "coil", "rough_width_mm": 2400, "rough_height_mm": 2400}


def written(path, data):
    path.write_text(data if isinstance(data, str) else json.dumps(data), encoding="utf-8")
    return str(path)


def run(*arguments):
    """Run the command in this process; return its exit status and what it printed."""
    out = io.StringIO()
    try:
        call_command("size", *arguments, stdout=out)
    except SystemExit as end:
        return end.code, strict(out.getvalue())
    return 0, strict(out.getvalue())


def strict(text):
    """Read JSON as a strict reader does: without NaN or infinity."""
    return json.loads(text, parse_constant=lambda name: pytest.fail(f"{name} is no JSON"))


def error_of(tmp_path, data):
    status, printed = run(written(tmp_path / "opening.json", data))
    assert status == 2
    jsonschema.validate(printed, schema()["error"])
    return printed["error"]


def test_one_opening_from_a_file(tmp_path):
    as_wide_as_needed = Machine(width=78 * INCH, height=72 * INCH)
    status, sheet = run(written(tmp_path / "opening.json", to_plain(make_opening(machine=as_wide_as_needed))))

    assert status == 0
    assert sheet["turning_bar_mm"] == pytest.approx(299.5 * 25.4)  # 10 + 144 + 132 + 13.5 in
    assert sheet["verdict"] == "pass"


def test_a_list_of_openings(tmp_path):
    status, sheets = run(written(tmp_path / "openings.json", [COIL, {**COIL, "code": "T2"}]))

    assert (status, [sheet["code"] for sheet in sheets]) == (0, ["", "T2"])


def test_a_byte_order_mark_is_no_fault(tmp_path):
    assert run(written(tmp_path / "opening.json", "\ufeff" + json.dumps(COIL)))[0] == 0


def test_standard_input_in_a_process_of_its_own(tmp_path):
    """The whole way: no database is made, the sheet goes to standard output."""
    done = subprocess.run(
        [sys.executable, "manage.py", "size", "-"],
        input=json.dumps(COIL),
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=False,
        env={"PATH": "", "GABLEKEEP_DATA": str(tmp_path / "data")},
    )

    assert (done.returncode, done.stderr) == (0, "")
    assert strict(done.stdout)["clear_width_mm"] == pytest.approx(2400 - 2 * 76.2)
    assert not list(tmp_path.rglob("*.sqlite3"))


def test_bad_input_ends_a_process_with_2(tmp_path):
    done = subprocess.run(
        [sys.executable, "manage.py", "size", written(tmp_path / "bad.json", {**COIL, "rough_width_mm": -1})],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=False,
        env={"PATH": "", "GABLEKEEP_DATA": str(tmp_path / "data")},
    )

    assert (done.returncode, done.stderr) == (2, "")
    assert strict(done.stdout) == {
        "error": {
            "field": "rough_width_mm",
            "value": -1.0,
            "message": "rough_width_mm: is -1 but must be above 0",
        }
    }


@pytest.mark.parametrize(
    ("data", "field", "value"),
    [
        ("{", "file", None),
        ("", "file", None),
        ("[" * 100_000, "file", None),
        ('{"a": ' * 5_000 + "1" + "}" * 5_000, "file", None),
        ('{"kind": "coil", "kind": "person"}', "kind", "person"),
        ("7", "opening", 7),
        ("null", "opening", None),
        ('"coil"', "opening", "coil"),
        ({**COIL, "rough_width_mm": "8 ft"}, "rough_width_mm", "8 ft"),
        ({**COIL, "rough_width_mm": None}, "rough_width_mm", None),
        ({**COIL, "rough_width": 2400}, "rough_width", 2400),
        ({**COIL, "kind": "gate"}, "kind", "gate"),
        ({**COIL, "wall": {"width_mm": 2000}}, "rough_width_mm", 2400.0),
        ({**COIL, "wall": {"width_mm": [1]}}, "wall.width_mm", "[1]"),
        ({**COIL, "rules": {"size_step_mm": 0}}, "rules.size_step_mm", 0.0),
        ([COIL, {**COIL, "rough_height_mm": 0}], "[1].rough_height_mm", 0.0),
        ('{"kind": "coil", "rough_width_mm": NaN, "rough_height_mm": 1}', "rough_width_mm", "nan"),
        ('{"kind": "coil", "rough_width_mm": 1e999, "rough_height_mm": 1}', "rough_width_mm", "inf"),
        ('{"kind": "coil", "rough_width_mm": 1, "rough_height_mm": 1, "x": [NaN]}', "x", "[nan]"),
    ],
)
def test_bad_input_is_named(tmp_path, data, field, value):
    error = error_of(tmp_path, data)

    assert error["field"] == field
    assert field in error["message"]
    if value is not None:
        assert error["value"] == value


def test_a_long_value_is_cut_short(tmp_path):
    assert error_of(tmp_path, {**COIL, "kind": "x" * 5_000})["value"] == "x" * 200 + "..."


@pytest.mark.parametrize("depth", [50, 500, 900, 950])
def test_a_deep_value_is_no_traceback(tmp_path, depth):
    text = '{"kind": "coil", "rough_width_mm": ' + "[" * depth + "]" * depth + ', "rough_height_mm": 1}'

    assert error_of(tmp_path, text)["field"] in ("rough_width_mm", "file")


def test_a_file_that_cannot_be_read(tmp_path):
    binary = tmp_path / "film.jpg"
    binary.write_bytes(b"\xff\xd8\xff")

    for name in (str(tmp_path / "nowhere.json"), str(tmp_path), str(binary)):
        status, printed = run(name)
        assert (status, printed["error"]["field"], printed["error"]["value"]) == (2, "file", name)
        assert "cannot be read" in printed["error"]["message"]


def test_no_file_says_what_to_write():
    status, printed = run()

    assert (status, printed["error"]["message"]) == (
        2,
        "file: name a JSON file, or write - to read standard input",
    )


def test_the_schema_is_one_and_takes_what_the_command_takes():
    status, both = run("--schema")
    described = to_plain(make_opening())

    assert status == 0
    for side in both.values():
        jsonschema.Draft202012Validator.check_schema(side)
    for data in (described, [described, COIL], {**COIL, "rules": {"free_end_mm": 200}}):
        jsonschema.validate(data, both["input"])
    for data in ({**COIL, "kind": "gate"}, {"kind": "coil"}, {**COIL, "colour": 1}, {**COIL, "offset_mm": "3"}, 7):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(data, both["input"])


@pytest.mark.parametrize("kind", list(DoorKind))
def test_the_schema_takes_what_the_command_prints(tmp_path, kind):
    whole, bare = to_plain(make_opening(kind=kind)), {**COIL, "kind": str(kind)}
    _, sheets = run(written(tmp_path / "openings.json", [whole, bare]))

    jsonschema.validate(sheets, schema()["output"])
    jsonschema.validate(sheets[0], schema()["output"])
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**sheets[0], "verdict": "perhaps"}, schema()["output"])
