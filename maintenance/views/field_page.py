"""The crew's page: a shell without anybody's data, which a phone keeps and fills from what it carries."""

from __future__ import annotations

import hashlib
import json
from functools import cache
from typing import Final

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from farm.access import FarmRequest, member
from maintenance.words.field import in_every_language

SLUG_LENGTH: Final = 60
TEMPLATES: Final = ("field.html", "sw.js")
STYLE: Final = "farm/field.css"
SCRIPTS: Final = (
    "farm/field-store.js", "farm/field-queue.js", "farm/field-pictures.js", "farm/field-places.js", "farm/field.js",
    "farm/field-work.js", "farm/field-tasks.js",
)  # fmt: skip
ICONS: Final = (("farm/icon-192.png", "192x192", "any"), ("farm/icon-512.png", "512x512", "any"),
                ("farm/icon-maskable.png", "512x512", "maskable"))  # fmt: skip


@gzip_page  # it holds no secret that its size could tell
@member("viewer")
@cache_control(private=True, no_cache=True)
@require_safe
def field(request: FarmRequest) -> HttpResponse:
    """Serve the shell. Nothing in it is of a person, so that a phone may keep it past a log-out."""
    return render(request, "maintenance/field.html", {"slug": request.farm.slug, **shell()})


@login_not_required
@cache_control(max_age=3600)
@require_safe
def manifest(request: HttpRequest) -> JsonResponse:
    """Say what stands on a home screen; ``farm`` in the query says whose crew page it opens."""
    slug = request.GET.get("farm", "")
    is_slug = slug.replace("-", "").replace("_", "").isalnum() and slug.isascii() and len(slug) <= SLUG_LENGTH
    start = reverse("field", args=[slug]) if is_slug else "/"
    return JsonResponse(
        {
            "id": start, "start_url": start, "scope": "/", "name": "Gablekeep", "short_name": "Gablekeep",
            "description": _("Doors, storms and upkeep of the farm's tunnels, also without signal."),
            "lang": get_language(), "dir": "ltr", "display": "standalone", "orientation": "portrait",
            "background_color": "#ffffff", "theme_color": "#10231b",
            "icons": [
                {"src": static(path), "sizes": sizes, "type": "image/png", "purpose": purpose}
                for path, sizes, purpose in ICONS
            ],
        },
        content_type="application/manifest+json",
    )  # fmt: skip


@cache
def shell() -> dict[str, object]:
    """Return what the shell and the worker are made of; ``release`` changes whenever any of it does."""
    style, scripts = static(STYLE), [static(path) for path in SCRIPTS]
    words = in_every_language()
    sources = [(settings.BASE_DIR / "templates" / "maintenance" / name).read_text("utf-8") for name in TEMPLATES]
    made_of = json.dumps([style, scripts, kept_files(), words, sources], sort_keys=True)
    release = hashlib.sha256(made_of.encode()).hexdigest()[:12]
    return {"style": style, "scripts": scripts, "words": words, "release": release}


@cache
def kept_files() -> tuple[str, ...]:
    """Return the addresses of what the shell loads: a phone keeps them with it."""
    return tuple(static(path) for path in (STYLE, *SCRIPTS, "farm/mark.svg", ICONS[0][0]))
