"""A change that is asked for twice is made once: the answer is kept for a day under the asker's own key."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from datetime import timedelta
from typing import Final

from django.db import IntegrityError, transaction
from django.http import HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _

from farm.api.entry import ApiRequest
from farm.api.models import ApiAnswer
from farm.api.problems import Problem

HEADER: Final = "Idempotency-Key"
KEY: Final = re.compile(r"[\x21-\x7e]{1,200}")
KEPT_FOR: Final = timedelta(hours=24)
KEPT_HEADERS: Final = ("ETag", "Location")


def answered_once(request: ApiRequest, work: Callable[[], HttpResponse]) -> HttpResponse:
    """Do ``work`` in one transaction with the record of its answer, or give the answer it got before.

    Of two requests that come at once the second waits at the unique key until the first has ended. What was refused
    has changed nothing and is not kept: it may be put right and sent again under the same key.
    """
    with transaction.atomic():
        sent = request.headers.get(HEADER)
        if sent is None:
            return work()
        row, is_new = _claim(request, sent)
        if not is_new:
            return _again(row, request)
        response = work()
        row.status, row.body = response.status_code, response.content.decode()
        row.headers = {name: response[name] for name in KEPT_HEADERS if name in response}
        row.save(update_fields=["status", "body", "headers"])
        return response


def _claim(request: ApiRequest, sent: str) -> tuple[ApiAnswer, bool]:
    if not KEY.fullmatch(sent):
        raise Problem("unreadable", _("An Idempotency-Key has 1 to 200 letters, digits and signs, without blanks."))
    now = timezone.now()
    ApiAnswer.objects.filter(made_at__lt=now - KEPT_FOR).delete()
    try:
        with transaction.atomic():
            row = ApiAnswer.objects.create(
                api_key=request.api_key, sent_key=sent, request_digest=_digest(request), status=0, made_at=now
            )
    except IntegrityError:
        return ApiAnswer.objects.get(api_key=request.api_key, sent_key=sent), False
    return row, True


def _again(row: ApiAnswer, request: ApiRequest) -> HttpResponse:
    if row.request_digest != _digest(request):
        raise Problem("key-reused", _("This Idempotency-Key stands for another request. Make a new one."))
    headers = {**row.headers, "Idempotency-Replayed": "true"}
    return HttpResponse(row.body, status=row.status, content_type="application/json", headers=headers)


def _digest(request: ApiRequest) -> str:
    """Return what tells two requests apart: what is asked, of what, with which words."""
    head = "\n".join((str(request.method), request.get_full_path(), request.headers.get("If-Match", ""), ""))
    return hashlib.sha256(head.encode() + request.body).hexdigest()
