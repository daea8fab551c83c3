"""The opening sheet: the door's drawings, cut list, marks, hardware, steps, checks and cautions."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from doors.models import Sizing
from farm.access import FarmRequest, member
from farm.models import Opening


@member("viewer")
def opening(request: FarmRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Opening.objects.of(request.farm).with_place(), pk=pk)
    return render(request, "doors/opening.html", {"opening": found})


@member("viewer")
def sheet(request: FarmRequest, pk: int, number: int) -> HttpResponse:
    found = get_object_or_404(Opening.objects.of(request.farm).with_place(), pk=pk)
    sizing = get_object_or_404(Sizing.objects.of(request.farm), opening=found, number=number)
    return render(request, "doors/opening.html", {"opening": found, "sizing": sizing})
