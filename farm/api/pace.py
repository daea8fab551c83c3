"""How fast a key may ask, counted in the memory of the web server's one process."""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from typing import Final

MOST_BUCKETS: Final = 10_000  # the oldest is forgotten, so that nobody fills the memory with names


class Pace:
    """A bucket for each caller: it holds a minute's requests and fills evenly."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._buckets: OrderedDict[str, tuple[float, float]] = OrderedDict()  # what is left, and when it was counted

    def wait(self, caller: str, per_minute: int, now: float | None = None) -> float:
        """Count a request; return 0 where it may go on, else the seconds until the next may."""
        now = time.monotonic() if now is None else now
        rate = per_minute / 60
        with self._lock:
            left, counted = self._buckets.pop(caller, (float(per_minute), now))
            left = min(float(per_minute), left + (now - counted) * rate)
            allowed = left >= 1
            self._buckets[caller] = (left - 1 if allowed else left, now)
            if len(self._buckets) > MOST_BUCKETS:
                self._buckets.popitem(last=False)
        return 0.0 if allowed else (1 - left) / rate

    def forget(self) -> None:
        """Start anew."""
        with self._lock:
            self._buckets.clear()


PACE: Final = Pace()
