"""Where the farm's own instrument sends its readings: no person logs in, a token of the farm's opens it."""

from __future__ import annotations

from typing import Any, Final

from django.contrib.auth.decorators import login_not_required
from django.core.cache import cache
from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST

from maintenance.skies.readings import farm_of, keep_reading
from maintenance.weather import ForecastError
from maintenance.words.skies import problem_text, remark_text

MOST_BYTES: Final = 10_000
MOST_A_MINUTE: Final = 300  # a station that was cut off for a week sends what it kept within an hour
SCHEME: Final = "bearer"


@login_not_required
@csrf_exempt  # a token is no cookie: no other page can make a browser send it
@require_POST
def weather_station(request: HttpRequest, farm_slug: str) -> JsonResponse:
    """Keep a reading; the same time twice is one reading."""
    farm = farm_of(slug=farm_slug, token=_token(request))
    if farm is None:
        answer = _error(_("Send the farm's token as “Authorization: Bearer …”. A manager makes a new one."), 401)
        answer["WWW-Authenticate"] = "Bearer"
        return answer
    if _is_too_often(farm.pk):
        answer = _error(_("That is too often. Send at most 300 readings in a minute."), 429)
        answer["Retry-After"] = "60"
        return answer
    if _length(request) > MOST_BYTES:
        return _error(_("A reading has at most 10 kB. Send one at a time."), 413)
    try:
        kept = keep_reading(farm=farm, content=request.body, now=timezone.now())
    except ForecastError as error:
        return _error(problem_text(error), 400)
    said: dict[str, Any] = {
        "at": kept.row.at.isoformat(), "gust_m_s": float(kept.row.gust_m_s), "is_new": kept.is_new,
        "remarks": [remark_text(remark) for remark in kept.reading.remarks],
    }  # fmt: skip
    return JsonResponse(said, status=201 if kept.is_new else 200)


def _token(request: HttpRequest) -> str:
    scheme, _space, token = request.headers.get("Authorization", "").partition(" ")
    return token.strip() if scheme.lower() == SCHEME else ""


def _is_too_often(farm: int) -> bool:
    """Count a reading; each process counts its own, which is simple and enough against a stuck instrument."""
    key = f"weather-station-{farm}"
    cache.add(key, 0, timeout=60)
    try:
        return cache.incr(key) > MOST_A_MINUTE
    except ValueError:  # the minute ended between the two lines
        return False


def _length(request: HttpRequest) -> int:
    text = request.META.get("CONTENT_LENGTH") or "0"
    return int(text) if text.isascii() and text.isdecimal() else 0


def _error(sentence: str, status: int) -> JsonResponse:
    return JsonResponse({"error": sentence}, status=status)
