"""The farm's book of materials."""

from __future__ import annotations

from django.http import Http404, HttpResponse

from farm.access import FarmRequest, member


@member("viewer")
def material_list(request: FarmRequest) -> HttpResponse:
    raise Http404


@member("manager")
def material_new(request: FarmRequest) -> HttpResponse:
    raise Http404


@member("manager")
def material_change(request: FarmRequest, pk: int) -> HttpResponse:
    raise Http404
