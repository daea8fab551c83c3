"""The script that a browser keeps running for us: it keeps the crew's page, and shows alerts when none is open."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import cache_control
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from maintenance.views.field_page import kept_files, shell


@gzip_page
@login_not_required
@cache_control(no_cache=True)
@require_safe
def service_worker(request: HttpRequest) -> HttpResponse:
    """Answer at the root: a script governs only what lies below its own address."""
    made_of = {"release": shell()["release"], "files": kept_files()}
    answer = render(request, "maintenance/sw.js", made_of, content_type="text/javascript; charset=utf-8")
    answer["Service-Worker-Allowed"] = "/"
    return answer
