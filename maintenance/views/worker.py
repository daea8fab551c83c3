"""The script that a browser keeps running for us: it shows alerts when no page is open."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe


@login_not_required
@cache_control(no_cache=True)
@require_safe
def service_worker(request: HttpRequest) -> HttpResponse:
    """Answer at the root: a script governs only what lies below its own address."""
    answer = render(request, "maintenance/sw.js", content_type="text/javascript; charset=utf-8")
    answer["Service-Worker-Allowed"] = "/"
    return answer
