"""The farm's plan: every tunnel and door to scale, and what cannot wait."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render

from farm.access import FarmRequest, member


@member("viewer")
def plan(request: FarmRequest) -> HttpResponse:
    return render(request, "doors/plan.html", {"what": request.farm.name})
