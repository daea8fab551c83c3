"""Run a Gablekeep command, such as ``python manage.py start``."""

import os
import sys


def main() -> None:
    """Hand the command line to Django."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "farm.settings")
    try:
        # Imported here so that a missing installation gets a sentence, not a traceback.
        from django.core.exceptions import ImproperlyConfigured
        from django.core.management import execute_from_command_line
    except ImportError:
        sys.exit("Gablekeep's libraries are missing. Install them first: .venv/bin/pip install .")
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:
        sys.exit(f"Gablekeep's settings do not work. {error}")


if __name__ == "__main__":
    main()
