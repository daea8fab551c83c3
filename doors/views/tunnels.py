"""The register of tunnels and their end walls."""

from __future__ import annotations

from django.http import Http404, HttpResponse

from farm.access import FarmRequest, member


@member("viewer")
def tunnel_list(request: FarmRequest) -> HttpResponse:
    raise Http404


@member("manager")
def tunnel_new(request: FarmRequest) -> HttpResponse:
    raise Http404


@member("manager")
def tunnel_change(request: FarmRequest, pk: int) -> HttpResponse:
    raise Http404


@member("manager")
def tunnel_clone(request: FarmRequest, pk: int) -> HttpResponse:
    raise Http404


@member("manager")
def tunnel_retire(request: FarmRequest, pk: int) -> HttpResponse:
    raise Http404


@member("manager")
def end_wall_change(request: FarmRequest, pk: int) -> HttpResponse:
    raise Http404
