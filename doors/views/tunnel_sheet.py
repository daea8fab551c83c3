"""The tunnel sheet: particulars, both end walls in elevation, openings, parts in service."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from farm.access import FarmRequest, member
from farm.models import Tunnel


@member("viewer")
def tunnel(request: FarmRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Tunnel.objects.of(request.farm).for_sheet(), pk=pk)
    return render(request, "doors/tunnel.html", {"tunnel": found})
