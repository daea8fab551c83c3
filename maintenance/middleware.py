"""What a member writes to a farm may move its storm levels: its closing lines are trusted no longer."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponseBase

from farm.models import Farm
from maintenance.blow.lines import note_change

READS_ONLY = frozenset({"GET", "HEAD", "OPTIONS", "TRACE"})


class FarmChangeMiddleware:
    """Note for every request that writes to a farm that the farm has changed.

    This is coarse on purpose: a page that nobody thought of here cannot leave lines that look good and are not, and
    a farm noted in vain costs one look in full.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        farm = getattr(request, "farm", None)  # given by farm.access.member
        if request.method not in READS_ONLY and isinstance(farm, Farm):
            note_change(farm_id=farm.pk)
        return response
