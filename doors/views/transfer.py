"""Import of tunnels, openings and parts."""

from __future__ import annotations

from django.http import Http404, HttpResponse

from farm.access import FarmRequest, member


@member("manager")
def import_start(request: FarmRequest) -> HttpResponse:
    raise Http404


@member("manager")
def import_preview(request: FarmRequest, kind: str) -> HttpResponse:
    raise Http404
