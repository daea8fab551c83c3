"""How fast the plan and the list pages answer with 10,000 openings on SQLite; run it as a program, it prints a table.

Usage: python tests/bench/lists.py [openings] [requests]
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
LIMIT_MS = 150
SLOW = 3  # exit status; a crash is 1
BATCH = 500
PAGES = (
    "", "?page=80",
    "tunnels/", "tunnels/?page=150", "tunnels/?sort=-name", "tunnels/?sort=width_mm", "tunnels/?sort=-status",
    "tunnels/?q=T4", "tunnels/?status=all&per_page=100",
    "doors/", "doors/?page=300", "doors/?per_page=100", "doors/?q=T49", "doors/?kind=person", "doors/?verdict=fail",
    "doors/?hung=yes", *(f"doors/?sort={sort}" for sort in (
        "-code", "tunnel", "wall", "kind", "-rough", "clear", "-turning_bar", "panel", "clamps", "-verdict", "hung_on",
    )),
    "doors/?sort=-turning_bar&page=300",
    "parts/", "parts/?page=400", "parts/?per_page=100", "parts/?q=T49", "parts/?kind=clamp", "parts/?state=all",
    "parts/?state=removed", *(f"parts/?sort={sort}" for sort in (
        "kind", "-place", "spot", "-quantity", "material", "fitted_on", "age", "removed_on",
    )),
    "materials/", "materials/?sort=-name", "materials/?q=tube",
)  # fmt: skip


@dataclass(frozen=True)
class Timing:
    """One page: how many queries, the median and 95th percentile of its time, and that of its own work. [ms]

    The time of its own work leaves out what the machine did for others meanwhile.
    """

    page: str
    queries: int
    p50: float
    p95: float
    work_p95: float


def main(openings: int = 10_000, requests: int = 40) -> int:
    """Fill a database, measure every page, print a table; 3 if a page is slower than it may be."""
    with tempfile.TemporaryDirectory(prefix="gablekeep-bench-") as folder:
        for name in [name for name in os.environ if name.startswith("GABLEKEEP_") or name == "DATABASE_URL"]:
            del os.environ[name]
        os.environ |= {"GABLEKEEP_DATA": folder, "DJANGO_SETTINGS_MODULE": "farm.settings"}
        sys.path.insert(0, str(ROOT))
        client, slug = _fill(openings)
        from farm.serve import spare_the_program

        spare_the_program()  # as the server does before its first request
        timings = [_measure(client, f"/farm/{slug}/{page}", requests) for page in PAGES]
    print(f"{openings} openings, {requests} requests a page, one process, SQLite")  # noqa: T201
    print(f"{'page':<44} {'queries':>7} {'p50 ms':>8} {'p95 ms':>8} {'own work':>9}")  # noqa: T201
    for timing in timings:
        mark = " over" if timing.p95 > LIMIT_MS else ""
        times = f"{timing.p50:>8.1f} {timing.p95:>8.1f} {timing.work_p95:>9.1f}{mark}"
        print(f"{timing.page:<44} {timing.queries:>7} {times}")  # noqa: T201
    return SLOW if any(timing.p95 > LIMIT_MS for timing in timings) else 0


def _measure(client: Any, url: str, requests: int) -> Timing:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as captured:
        response = client.get(url)
    queries = len(captured)  # counted now: the next request forgets them
    assert response.status_code == 200, (url, response.status_code)
    times, work = [], []
    for _ in range(requests):
        start, start_work = time.perf_counter(), time.process_time()
        client.get(url)
        times.append((time.perf_counter() - start) * 1000)
        work.append((time.process_time() - start_work) * 1000)
    return Timing(url.split("/", 3)[3], queries, statistics.median(times), _p95(times), _p95(work))


def _p95(values: list[float]) -> float:
    return statistics.quantiles(values, n=20, method="inclusive")[-1]


def _fill(count: int) -> tuple[Any, str]:
    """Make a farm with ``count`` sized openings, two to a tunnel, a part in each; return a client logged in."""
    import django

    django.setup()
    from django.conf import settings
    from django.core.management import call_command
    from django.test import Client, override_settings

    plain = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    settings.STATIC_ROOT.mkdir(parents=True, exist_ok=True)
    override_settings(STORAGES={**settings.STORAGES, "staticfiles": plain}).enable()
    call_command("migrate", verbosity=0)
    from doors.book import start_book
    from doors.models import Component, Door, Material, Sizing
    from doors.services import resize_openings
    from farm.models import EndWall, Opening, Tunnel
    from tests.factories import feet, make_farm, make_member, make_opening, make_wall

    farm = make_farm(slug="bench")
    start_book(farm=farm)
    model = make_opening(make_wall(_tunnel(farm)))
    resize_openings(farm=farm)
    pattern = Sizing.objects.get(opening=model)
    tunnels = Tunnel.objects.bulk_create(
        [
            Tunnel(
                farm=farm, code=f"T{number:05d}", name=f"Tunnel {number % 97} of block {number % 13}", shape="gothic",
                width_mm=feet(20 + number % 15), length_mm=feet(96), ridge_mm=feet(14), side_mm=feet(5),
                axis_bearing_deg=270, status=("in_use", "planned")[number % 9 == 0],
            )
            for number in range(count // 2)
        ],
        batch_size=BATCH,
    )  # fmt: skip
    walls = EndWall.objects.bulk_create(
        [
            EndWall(farm=farm, tunnel=tunnel, end=end, bearing_deg=90 if end == "A" else 270)
            for tunnel in tunnels
            for end in "AB"
        ],
        batch_size=BATCH,
    )
    kinds = Opening.Kind.values
    openings = Opening.objects.bulk_create(
        [
            Opening(
                farm=farm, end_wall=wall, code=f"{wall.tunnel.code}-{'E' if wall.end == 'A' else 'W'}",
                kind=kinds[number % len(kinds)], rough_width_mm=feet(8 + number % 15), rough_height_mm=feet(8),
                offset_mm=feet(4), threshold_mm=0,
            )
            for number, wall in enumerate(walls)
        ],
        batch_size=BATCH,
    )  # fmt: skip
    verdicts = Sizing.Verdict.values
    sizings = Sizing.objects.bulk_create(
        [
            Sizing(
                farm=farm, opening=opening, number=1, core_version=pattern.core_version, inputs=pattern.inputs,
                inputs_digest=f"{number:064d}", result=pattern.result, verdict=verdicts[number % len(verdicts)],
                reason=pattern.reason, turning_bar_mm=feet(10 + number % 15), panel_width_mm=feet(11 + number % 15),
                panel_height_mm=feet(11), clear_width_mm=feet(7 + number % 15), clear_height_mm=feet(7),
                clamp_count=10 + number % 30,
            )
            for number, opening in enumerate(openings)
        ],
        batch_size=BATCH,
    )  # fmt: skip
    today = date(2024, 5, 1)
    Door.objects.bulk_create(
        [
            Door(
                farm=farm, opening=opening, drive_side="right", sizing=sizing,
                hung_on=today if number % 3 == 0 else None, as_built=sizing if number % 3 == 0 else None,
            )
            for number, (opening, sizing) in enumerate(zip(openings, sizings, strict=True))
        ],
        batch_size=BATCH,
    )  # fmt: skip
    materials = list(Material.objects.filter(farm=farm))
    Component.objects.bulk_create(
        [
            Component(
                farm=farm, kind=Component.Kind.values[number % 20], opening=opening, spot=f"jamb, clamp {number % 40}",
                quantity=1 + number % 5, material=materials[number % len(materials)],
                fitted_on=today - timedelta(days=number % 2000),
                removed_on=today if number % 4 == 0 else None, removal_reason="worn" if number % 4 == 0 else "",
            )
            for number, opening in enumerate(openings)
        ],
        batch_size=BATCH,
    )  # fmt: skip
    client = Client(HTTP_HOST="localhost")
    client.force_login(make_member(farm).user)
    return client, farm.slug


def _tunnel(farm: Any) -> Any:
    from tests.factories import make_tunnel

    return make_tunnel(farm, code="T-model")


if __name__ == "__main__":
    sys.exit(main(*(int(number) for number in sys.argv[1:])))
