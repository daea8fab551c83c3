"""What every page knows about the farm and its reader."""

from typing import Any

from django.http import HttpRequest


def units(request: HttpRequest) -> dict[str, Any]:
    """Return the names that base.html and the unit filters read."""
    return {}
