"""Size openings from a JSON file or from standard input, without a database."""

from __future__ import annotations

import json
import math
import reprlib
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from doors.codec import InputError
from doors.sheets import schema, size_json

BAD_INPUT = 2  # exit status
LONGEST_SHOWN = 200  # characters of a refused value


class Command(BaseCommand):
    help = "Size one opening, or a list of them, from FILE.json (or - for standard input); prints JSON."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", nargs="?", help="a JSON file, or - for standard input")
        parser.add_argument("--schema", action="store_true", help="print the JSON Schemas of input and output")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["schema"]:
            self._print(schema())
            return
        try:
            self._print(size_json(_read(options["file"])))
        except InputError as error:
            self._print({"error": {"field": error.field, "value": _shown(error.value), "message": str(error)}})
            sys.exit(BAD_INPUT)

    def _print(self, data: Any) -> None:
        self.stdout.write(json.dumps(data, indent=2, allow_nan=False))


def _read(name: str | None) -> Any:
    if name is None:
        raise InputError("file", None, "name a JSON file, or write - to read standard input")
    try:
        text = sys.stdin.read() if name == "-" else Path(name).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InputError("file", name, f"cannot be read: {error}") from error
    try:
        return json.loads(text.removeprefix("\ufeff"), object_pairs_hook=_object)
    except InputError:
        raise
    except (ValueError, RecursionError) as error:
        raise InputError("file", name, f"is not JSON: {error}") from error


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Return an object none of whose keys was written twice: which of the two was meant?"""
    made: dict[str, Any] = {}
    for key, value in pairs:
        if key in made:
            raise InputError(key, value, "is written more than once")
        made[key] = value
    return made


def _shown(value: Any) -> Any:
    """Return a value as an error prints it: numbers and short text as they are, the rest as a piece of text."""
    if value is None or isinstance(value, bool | int) or (isinstance(value, float) and math.isfinite(value)):
        return value
    text = value if isinstance(value, str) else reprlib.repr(value)
    return text if len(text) <= LONGEST_SHOWN else f"{text[:LONGEST_SHOWN]}..."
