"""The web server's process, up to the moment it would listen."""

import gc
import signal
from collections.abc import Iterator

import pytest
import waitress


@pytest.fixture
def frozen(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[int]]:
    """Note how many objects the collector leaves alone when waitress is called; nothing listens."""
    counts: list[int] = []
    before = signal.getsignal(signal.SIGTERM)
    monkeypatch.setattr(waitress, "serve", lambda *_, **__: counts.append(gc.get_freeze_count()))
    yield counts
    gc.unfreeze()
    signal.signal(signal.SIGTERM, before)


def test_the_collector_leaves_the_loaded_program_alone(frozen: list[int]) -> None:
    from farm import serve  # loads the whole program, which wants its static folder

    gc.collect()
    loaded = len(gc.get_objects())

    serve.main("127.0.0.1", 8000)

    assert frozen[0] > 0.99 * loaded  # a few came and went meanwhile
