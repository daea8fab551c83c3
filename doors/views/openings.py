"""Openings and the doors designed for them."""

from __future__ import annotations

from django.http import Http404, HttpResponse

from farm.access import FarmRequest, member


@member("manager")
def opening_new(request: FarmRequest, pk: int) -> HttpResponse:
    raise Http404


@member("manager")
def opening_change(request: FarmRequest, pk: int) -> HttpResponse:
    raise Http404


@member("manager")
def opening_retire(request: FarmRequest, pk: int) -> HttpResponse:
    raise Http404


@member("manager")
def door_change(request: FarmRequest, pk: int) -> HttpResponse:
    raise Http404


@member("crew")
def door_hang(request: FarmRequest, pk: int) -> HttpResponse:
    raise Http404
