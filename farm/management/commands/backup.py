"""Makes a backup; the program may go on running."""

from argparse import ArgumentParser
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from farm.backups.errors import BackupError
from farm.backups.making import make_backup


class Command(BaseCommand):
    """Copy database, pictures and voices into one file."""

    help = "Make a backup of everything into one file. Gablekeep may go on running."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Let the file lie elsewhere, such as on another disk."""
        parser.add_argument("--folder", type=Path, default=settings.BACKUP_FOLDER, help="where to (%(default)s)")

    def handle(self, *args: Any, folder: Path, **options: Any) -> None:
        """Write it and say where; a reason why not is one sentence and exit code 1."""
        try:
            path = make_backup(folder=folder, now=datetime.now(UTC))
        except BackupError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{path} ({path.stat().st_size / 1e6:.1f} MB)")
