"""What the embedded servers have to bear."""

import subprocess
import sys

from tests.system.program import (
    ROOT,
    Program,
    bare_environment,
    embedded_broker,
    eventually,
    manage,
    queue_heartbeats,
)

TASKS = 1000
WRITERS = 4
WRITES = 100

READ_THEN_WRITE = """
from django.db import transaction
from django.utils import timezone
from maintenance.models import Heartbeat
for number in range({writes}):
    with transaction.atomic():
        Heartbeat.objects.filter(name="{name}").count()
        Heartbeat.objects.create(name=f"{name} {{number}}", beat_at=timezone.now())
"""


def test_a_thousand_tasks_run_to_the_end(tmp_path):
    with Program(tmp_path, "--no-demo") as program:
        program.wait_until_up()
        names = [f"task {number}" for number in range(TASKS)]

        queue_heartbeats(embedded_broker(tmp_path), *names)

        eventually(lambda: program.heartbeats() >= set(names), within=120)
        assert program.stop() == 0


def test_writers_in_several_processes_wait_for_each_other(tmp_path):
    assert manage(tmp_path, "migrate").returncode == 0
    commands = [READ_THEN_WRITE.format(name=f"writer {number}", writes=WRITES) for number in range(WRITERS)]

    writers = [
        subprocess.Popen(
            [sys.executable, str(ROOT / "manage.py"), "shell", "-c", command],
            env=bare_environment(tmp_path),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
        )
        for command in commands
    ]
    errors = [writer.communicate(timeout=120)[1].decode() for writer in writers]

    assert errors == [""] * WRITERS
    assert [writer.returncode for writer in writers] == [0] * WRITERS
