"""One command starts everything on an empty machine, and one signal stops it."""

import signal
import urllib.error
from collections.abc import Iterator

import pytest

from farm import embedded
from tests.system.program import Program, Visitor, alive, embedded_broker, eventually, queue_heartbeats


@pytest.fixture(scope="module")
def program(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Program]:
    with Program(tmp_path_factory.mktemp("farm") / "data") as program:
        yield program.wait_until_up()


def test_the_printed_link_leads_to_the_farm_and_works_once(program):
    visitor, late_visitor = Visitor(), Visitor()
    link = program.link()

    preview, _ = late_visitor.get(link)
    url, page = visitor.press_the_button(link)

    assert preview == link
    assert url.startswith(f"http://127.0.0.1:{program.port}/farm/")
    assert "/password/" in page
    with pytest.raises(urllib.error.HTTPError, match="410"):
        late_visitor.get(link)


def test_a_stranger_is_sent_to_the_log_in_page(program):
    url, _ = Visitor().get(f"http://127.0.0.1:{program.port}/")

    assert url == f"http://127.0.0.1:{program.port}/login/?next=/"


def test_pages_carry_a_strict_policy_and_hashed_static_files(program):
    visitor = Visitor()
    address = f"http://127.0.0.1:{program.port}/login/"

    with visitor.opener.open(address) as answer:
        policy, page = answer.headers["Content-Security-Policy"], answer.read().decode()
    sheet = page.split('rel="stylesheet" href="')[1].split('"')[0]
    with visitor.opener.open(f"http://127.0.0.1:{program.port}{sheet}") as answer:
        caching = answer.headers["Cache-Control"]

    assert "default-src 'self'" in policy
    assert "unsafe" not in policy
    assert "immutable" in caching


def test_a_task_runs_through_queue_and_worker_into_the_database(program):
    eventually(lambda: "worker" in program.heartbeats(), within=60)


def test_the_secret_and_the_data_are_the_owners_only(program):
    paths = [program.data, *program.data.iterdir()]

    assert {path.name: oct(path.stat().st_mode & 0o077) for path in paths} == {path.name: "0o0" for path in paths}


def test_the_queue_opens_no_port(program):
    answer = embedded._say(program.data / "run" / "queue.sock", "CONFIG GET port")

    assert answer.split() == [b"*2", b"$4", b"port", b"$1", b"0"]


def test_a_second_start_on_the_same_data_is_refused(program):
    with Program(program.data) as second:
        code = second.process.wait(timeout=60)

    assert code == 1
    assert "already runs" in second.output
    assert program.process.poll() is None


def test_a_busy_port_is_refused_before_anything_runs(program, tmp_path):
    with Program(tmp_path / "data", port=program.port) as second:
        code = second.process.wait(timeout=60)

    assert code == 1
    assert f"cannot listen at 127.0.0.1 port {program.port}" in second.output
    assert "--port" in second.output
    assert not (tmp_path / "data" / "logs").exists()


def test_a_web_server_that_dies_comes_back(program):
    dead = program.kill("farm.serve")

    eventually(lambda: "The web process ended" in program.output, within=10)
    eventually(lambda: program.child("farm.serve") not in (None, dead), within=30)
    eventually(lambda: answers(f"http://127.0.0.1:{program.port}/login/"), within=30)


def test_a_queue_that_dies_comes_back_with_a_worker_that_listens(program):
    program.kill("valkey-server")

    eventually(lambda: "The queue process ended" in program.output, within=10)
    eventually(lambda: embedded.answers(program.data / "run" / "queue.sock"), within=30)
    queue_heartbeats(embedded_broker(program.data), "after the crash")
    eventually(lambda: "after the crash" in program.heartbeats(), within=60)


def test_sigterm_stops_everything(program):
    children = program.children()

    code = program.stop(signal.SIGTERM)

    started = " ".join(children.values())
    assert all(word in started for word in ("leash", "valkey-server", "farm.serve", "worker", "beat"))
    assert code == 0
    assert "Stopped." in program.output
    assert alive(children) == {}


def answers(address: str) -> bool:
    try:
        Visitor().get(address)
    except urllib.error.URLError:
        return False
    return True
