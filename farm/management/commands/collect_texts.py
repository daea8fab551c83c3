"""Bring the catalogues up to date with the texts of templates and modules."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from farm.translations import missing, update


class Command(BaseCommand):
    """Collect the texts, keep what is translated, and say what is missing."""

    requires_system_checks = []
    help = "Collect the texts to translate, and compile the catalogues. Needs Babel."

    def handle(self, **_options: Any) -> None:
        """Write the catalogue of every language but the one the texts are written in."""
        for language, _name in settings.LANGUAGES:
            if language == settings.LANGUAGE_CODE:
                continue
            words = update(language)
            left = missing(words)
            self.stdout.write(f"{language}: {len(words)} texts, {len(left)} without a translation")
            for message in left[:20]:
                self.stdout.write(f"  {message.id!r} ({message.locations[0][0]})")
