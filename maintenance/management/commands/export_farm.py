"""Writes a farm into one file."""

from __future__ import annotations

from argparse import ArgumentParser
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from farm.models import Farm
from maintenance.wholefarm.errors import FarmFileError
from maintenance.wholefarm.frozen import standing_still
from maintenance.wholefarm.packing import pack_farm


class Command(BaseCommand):
    """Write a farm, its pictures and its voices into one ZIP of open formats."""

    help = "Write a whole farm into one file of open formats. Gablekeep may go on running."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Ask which farm, and where to."""
        parser.add_argument("farm", help="its short name, as in its addresses")
        parser.add_argument("--to", type=Path, help="the file (FARM.zip, here)")

    def handle(self, *args: Any, farm: str, to: Path | None, **options: Any) -> None:
        """Write it and say where; a reason why not is one sentence and exit code 1."""
        path = (to or Path(f"{farm}.zip")).absolute()
        found = Farm.objects.filter(slug=farm).first()
        if found is None:
            known = ", ".join(Farm.objects.order_by("slug").values_list("slug", flat=True)[:20])
            raise CommandError(f"There is no farm {farm}. Write one of: {known}.")
        try:
            with standing_still() as using:
                pack_farm(farm_id=found.pk, path=path, now=datetime.now(UTC), using=using)
        except FarmFileError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{path} ({path.stat().st_size / 1e6:.1f} MB)")
