"""A person's calendar, read by other programs at a secret address."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.cache import cache_control
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import conditional_page, require_safe

from doors.views.shared import today
from maintenance.messages.feeds import calendar_of, find_feed


@login_not_required
@cache_control(private=True, no_cache=True)
@conditional_page
@sensitive_variables("token")
@require_safe
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """Answer with the calendar, or that it is still the one the reader has."""
    feed = find_feed(token, timezone.now())
    if feed is None:
        raise Http404("There is no such calendar.")
    text = calendar_of(feed, on=today(feed.membership.farm))
    return HttpResponse(text, content_type="text/calendar; charset=utf-8")
