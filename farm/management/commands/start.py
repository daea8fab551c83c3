"""Starts everything that Gablekeep needs, and stops it again."""

import sys
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from farm.data_folder import StartError


class Command(BaseCommand):
    """Prepare the data folder, then run web server, worker, clock and queue until asked to stop."""

    help = "Start Gablekeep: prepares the data folder, then runs everything until Ctrl-C."
    requires_system_checks = []  # the migration and each child run them

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Let the command line override the environment."""
        parser.add_argument("--host", default=settings.HOST, help="address to listen at (%(default)s)")
        parser.add_argument("--port", type=int, default=settings.PORT, help="port to listen at (%(default)s)")
        parser.add_argument("--no-demo", action="store_false", dest="demo", help="leave an empty database empty")

    def handle(self, *args: Any, host: str, port: int, demo: bool, **options: Any) -> None:
        """Run until asked to stop; a reason not to start is one sentence and exit code 1."""
        if sys.platform == "win32":
            raise CommandError("Gablekeep starts on Linux and macOS. On Windows, run it in WSL.")
        from farm.starting import run  # needs fork, sockets and locks of a Unix system

        try:
            run(host=host, port=port, demo=demo, tell=self.tell)
        except StartError as error:
            raise CommandError(str(error)) from error
        except KeyboardInterrupt as error:
            raise CommandError("Stopped before the start was complete.", returncode=130) from error

    def tell(self, words: str) -> None:
        """Print a line at once, also into a pipe."""
        self.stdout.write(words)
        self.stdout.flush()
