"""The door schedule."""

from __future__ import annotations

from django.http import Http404, HttpResponse

from farm.access import FarmRequest, member


@member("viewer")
def door_schedule(request: FarmRequest) -> HttpResponse:
    raise Http404
