"""Puts a backup back."""

import os
from argparse import ArgumentParser
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from farm.backups.errors import BackupError
from farm.backups.restoring import restore
from farm.data_folder import StartError, open_folder


class Command(BaseCommand):
    """Replace everything by a backup, and lay aside what was there."""

    help = "Put a backup back. Stop Gablekeep first; what it replaces is laid aside in the data folder."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Ask which file."""
        parser.add_argument("file", type=Path, help="the backup")

    def handle(self, *args: Any, file: Path, **options: Any) -> None:
        """Restore it while nothing else may run on the folder."""
        os.umask(0o077)
        try:
            lock = open_folder(settings.DATA_DIR)
            aside = restore(path=file, now=datetime.now(UTC))
            os.close(lock)
        except (BackupError, StartError) as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{file.name} is back. What was there before lies in {aside}.")
