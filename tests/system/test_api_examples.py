"""The examples of API.md run as they stand, on a program that was started; and a change asked for twice at once."""

from __future__ import annotations

import concurrent.futures
import json
import re
import shutil
import subprocess
import threading
import urllib.parse
import urllib.request
from collections.abc import Iterator

import pytest

from tests.system.program import ROOT, Program, Visitor, token_of

NEEDED = ("bash", "curl", "jq")
BLOCK = re.compile(r"^```sh\n(.*?)^```$", re.MULTILINE | re.DOTALL)
MARK = "-- end of example --"


@pytest.fixture(scope="module")
def program(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Program]:
    with Program(tmp_path_factory.mktemp("farm") / "data") as program:
        yield program.wait_until_up()


@pytest.fixture(scope="module")
def key(program: Program) -> str:
    """Make a key as a person does: on its page, after the first log-in."""
    visitor = Visitor()
    visitor.press_the_button(program.link())
    address = f"http://127.0.0.1:{program.port}/api-keys/"
    _url, page = visitor.get(address)
    form = {"csrfmiddlewaretoken": token_of(page), "name": "examples", "scope": "write", "days": "30"}
    with visitor.opener.open(address, urllib.parse.urlencode(form).encode(), timeout=30) as answer:
        found = re.search(r">(gk_[\w-]{43})<", answer.read().decode())
    assert found
    return found[1]


def blocks() -> list[str]:
    """Return the examples; the first one only says which variables they need."""
    found = BLOCK.findall((ROOT / "API.md").read_text())
    assert found[0].split() == ["GABLEKEEP=http://127.0.0.1:8000", "KEY=gk_..."]
    return found[1:]


@pytest.mark.skipif(
    any(shutil.which(name) is None for name in NEEDED), reason="needs bash, curl and jq, as API.md says"
)
def test_every_example_does_what_it_says(program, key):
    variables = f"set -euo pipefail\nGABLEKEEP=http://127.0.0.1:{program.port}\nKEY={key}\n"
    script = variables + f"\necho '{MARK}'\n".join(blocks())

    ran = subprocess.run(["bash", "-c", script], capture_output=True, text=True, timeout=180, check=False)

    assert ran.returncode == 0, ran.stdout + ran.stderr
    said = [part.strip() for part in ran.stdout.split(MARK)]
    farms, codes, openings, work, sheet, figures, nothing, change, opening, repair, part, problem = said
    assert json.loads(farms)["items"][0]["role"] == "manager"
    assert len(codes.splitlines()) > 3
    assert len(set(openings.splitlines())) == len(openings.splitlines()) > 20  # more than one page, each row once
    assert all(line.endswith(" mm") for line in openings.splitlines())
    assert '"until_on"' in work
    assert '"mode"' in work
    assert json.loads(sheet)["revision"] >= 1
    assert json.loads(figures) == "blocked"  # nothing was said of the wall and the tubes
    assert nothing == ""
    assert json.loads(change) == "half"
    assert json.loads(opening)
    assert json.loads(repair) == "done"
    assert json.loads(part) == "2026-06-01"
    assert problem == "true"


def ask(program: Program, key: str, path: str, body: object = None, **headers: str) -> tuple[int, bytes]:
    """Ask the API for something."""
    data = None if body is None else json.dumps(body).encode()
    sent = {"Authorization": f"Bearer {key}", "Content-Type": "application/json", **headers}
    request = urllib.request.Request(f"http://127.0.0.1:{program.port}/api/v1{path}", data, sent)
    with urllib.request.build_opener(urllib.request.ProxyHandler({})).open(request, timeout=60) as answer:
        return answer.status, answer.read()


def test_a_change_asked_for_many_times_at_once_is_made_once(program, key):
    farm = json.loads(ask(program, key, "/farms")[1])["items"][0]["slug"]
    ready = threading.Barrier(8)

    def add(_number: int) -> tuple[int, bytes]:
        ready.wait()
        return ask(program, key, f"/farms/{farm}/tunnels", {"name": "At once"}, **{"Idempotency-Key": "at-once"})

    with concurrent.futures.ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(add, range(8)))

    assert {status for status, _body in answers} == {201}
    assert len({body for _status, body in answers}) == 1
    tunnels = json.loads(ask(program, key, f"/farms/{farm}/tunnels?limit=200")[1])["items"]
    assert [tunnel["name"] for tunnel in tunnels].count("At once") == 1
