"""What every template knows of the reader: the farm, the role in it, and the units."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest

from farm.models import Membership


def units(request: HttpRequest) -> dict[str, Any]:
    """Return the farm of the page, the reader's membership and unit system; nothing outside a farm's pages."""
    membership: Membership | None = getattr(request, "membership", None)
    if membership is None:
        return {}
    return {
        "farm": membership.farm,
        "membership": membership,
        "units": membership.farm.units,
        "can_edit": membership.role == Membership.Role.MANAGER,
        "can_log": membership.role in (Membership.Role.MANAGER, Membership.Role.CREW),
    }
