"""Parts in service."""

from __future__ import annotations

from django.http import Http404, HttpResponse

from farm.access import FarmRequest, member


@member("viewer")
def part_list(request: FarmRequest) -> HttpResponse:
    raise Http404


@member("crew")
def component_new(request: FarmRequest) -> HttpResponse:
    raise Http404


@member("viewer")
def component(request: FarmRequest, pk: int) -> HttpResponse:
    raise Http404


@member("crew")
def component_change(request: FarmRequest, pk: int) -> HttpResponse:
    raise Http404


@member("crew")
def component_remove(request: FarmRequest, pk: int) -> HttpResponse:
    raise Http404
