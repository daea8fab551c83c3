"""Makes the key pair for alerts to phones, once."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from maintenance.messages.vapid import KeyFileError, private_key


class Command(BaseCommand):
    """Keep the key pair that signs alerts; one that is there stays as it is."""

    help = "Make the key pair that signs alerts to phones, unless there is one."
    requires_system_checks = []

    def handle(self, *args: Any, **options: Any) -> None:
        """Make the key, or prove that the kept one can be used."""
        try:
            private_key(settings.PUSH_KEY_FILE)
        except KeyFileError as error:
            raise CommandError(str(error)) from error
