"""The core imports without Django, and the import contracts hold."""

import ast
import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
CORE = [
    "doors.sizing", "doors.mechanics", "farm.geometry", "farm.lengths", "maintenance.calm", "maintenance.dose",
    "maintenance.recurrence", "maintenance.sheeting", "maintenance.storm", "maintenance.sunlight",
]  # fmt: skip
PURE = {
    "__future__", "calendar", "collections", "dataclasses", "datetime", "decimal", "enum", "fractions", "functools",
    "heapq", "itertools", "math", "numpy", "operator", "re", "statistics", "types", "typing", "unicodedata",
}  # fmt: skip
CLOCKS = {"now", "utcnow", "today", "fromtimestamp"}  # methods of datetime and date
OUTSIDE = ["django", "celery", "redis", "pint", "farm.models", "doors.models", "maintenance.models", "farm.settings"]


def run(*command):
    return subprocess.run(command, capture_output=True, text=True, cwd=ROOT, check=False)


@pytest.mark.parametrize("module", [*CORE, "maintenance.weather", "maintenance.weather.client"])
def test_the_core_imports_without_django(module):
    """A contract does not see the ``__init__`` of a parent package; an interpreter of its own does."""
    done = run(sys.executable, "-c", f"import json, sys, {module}; print(json.dumps(sorted(sys.modules)))")

    assert done.returncode == 0, done.stderr
    loaded = set(json.loads(done.stdout))
    assert module in loaded
    assert loaded.isdisjoint(OUTSIDE)


@pytest.mark.parametrize("module", CORE)
def test_the_core_has_no_clock_and_no_door_outside(module):
    """It imports only itself, NumPy and modules that calculate, and calls nothing that reads or prints."""
    path = ROOT / module.replace(".", "/")
    files = list(path.glob("*.py")) if path.is_dir() else [path.with_suffix(".py")]

    assert files
    for file in files:
        nodes = list(ast.walk(ast.parse(file.read_text(encoding="utf-8"))))
        imported = {alias.name for node in nodes if isinstance(node, ast.Import) for alias in node.names}
        imported |= {node.module or "" for node in nodes if isinstance(node, ast.ImportFrom)}
        called = {node.func.id for node in nodes if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)}
        foreign = {name for name in imported if name.split(".")[0] not in PURE and not name.startswith(tuple(CORE))}
        assert foreign == set(), file.name
        assert called.isdisjoint({"open", "print", "input", "exec", "eval", "__import__"}), file.name
        assert {node.attr for node in nodes if isinstance(node, ast.Attribute)}.isdisjoint(CLOCKS), file.name


def test_the_import_contracts_hold():
    pytest.importorskip("importlinter", reason="import-linter comes with the check extra; .ci/run always has it")
    done = run(sys.executable, "-c", "from importlinter.cli import lint_imports_command; lint_imports_command()")

    assert done.returncode == 0, done.stdout + done.stderr
    assert "Contracts: 2 kept, 0 broken." in done.stdout


def test_outsiders_import_only_the_cores_public_names():
    """Outside the core, its packages of doors, only doors.sizing itself is imported, not its modules."""
    offenders = [
        f"{file.relative_to(ROOT)}: {line.strip()}"
        for app in ("farm", "doors", "maintenance")
        for file in (ROOT / app).rglob("*.py")
        if not {"sizing", "mechanics"} & set(file.relative_to(ROOT).parts)
        for line in file.read_text(encoding="utf-8").splitlines()
        if line.lstrip().startswith(("from doors.sizing.", "import doors.sizing."))
    ]

    assert offenders == []
