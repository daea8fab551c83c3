"""The farm's own sizing rules and settings."""

from __future__ import annotations

from django.http import Http404, HttpResponse

from farm.access import FarmRequest, member


@member("viewer")
def sizing_rules(request: FarmRequest) -> HttpResponse:
    raise Http404


@member("manager")
def farm_change(request: FarmRequest) -> HttpResponse:
    raise Http404
