"""Takes a farm in from a file of another server."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from maintenance.wholefarm.errors import FarmFileError
from maintenance.wholefarm.unpacking import Taken, take_in


class Command(BaseCommand):
    """Take a farm in as a new one, wholly or not at all."""

    help = "Take a farm in from a file that export_farm or the farm's own page has made, as a new farm."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Ask which file."""
        parser.add_argument("file", type=Path, help="the file")

    def handle(self, *args: Any, file: Path, **options: Any) -> None:
        """Take it in and say what became of it; a reason why not is one sentence and exit code 1."""
        try:
            taken = take_in(path=file)
        except FarmFileError as error:
            raise CommandError(f"{error} Nothing was taken in.") from error
        for line in _said(taken):
            self.stdout.write(line)


def _said(taken: Taken) -> list[str]:
    lines = [f"{taken.farm.name} is here, at /farm/{taken.farm.slug}/, with {sum(taken.rows.values())} rows."]
    people = taken.rows["people"]
    if people:
        lines.append(f"{people} people came along, none with a password: give them one at /admin/, or by e-mail.")
    lines += [
        f"There was a {old} here already, who is somebody else: {old} of this farm is now {new}."
        for old, new in taken.renamed.items()
    ]
    if taken.new_labels:
        lines.append(f"{taken.new_labels} labels were in use here: they have new addresses, so print them anew.")
    if taken.missing:
        lines.append(f"{taken.missing} pictures or voices were missing on the old server already.")
    return lines
