"""Loads the demo farm."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from doors.demo.rows import FARM
from maintenance.demo.load import DemoError, load_demo_farm, reload_demo_farm


class Command(BaseCommand):
    help = "Load the demo farm: 12 tunnels with 30 doors, sized, hung and kept up, as they stand today."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--again", action="store_true", help="remove the demo farm first, with every change made to it"
        )

    def handle(self, *args: Any, again: bool, **options: Any) -> None:
        today = timezone.localdate(timezone=ZoneInfo(FARM["time_zone"]))
        try:
            farm = reload_demo_farm(on=today) if again else load_demo_farm(on=today)
        except DemoError as error:
            raise CommandError(f"{error} To start it over, add --again: every change made to it is lost.") from error
        self.stdout.write(f"Loaded {farm.name}.")
