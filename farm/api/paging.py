"""Lists a page at a time, by a cursor: rows that come or go meanwhile neither repeat nor hide others."""

from __future__ import annotations

import base64
import binascii
import hashlib
from collections.abc import Callable
from typing import Annotated, Any, TypeVar

from django.db.models import Model, QuerySet
from django.utils.translation import gettext as _
from pydantic import BaseModel, Field

from farm.api.entry import ApiRequest
from farm.api.problems import Problem, Wrong
from farm.api.shapes import MOST_ID

Row = TypeVar("Row", bound=Model)
PageOf = TypeVar("PageOf", bound="Page")


class PageQuery(BaseModel):
    """What every list takes."""

    limit: Annotated[int, Field(ge=1, le=200, description="How many at most.")] = 50
    cursor: Annotated[str, Field(max_length=100, description="The next_cursor of the page before.")] = ""


class Page(BaseModel):
    """What every list answers; ``next_cursor`` is null on the last page."""

    items: list[Any]
    next_cursor: str | None


def page_of(
    kind: type[PageOf], request: ApiRequest, rows: QuerySet[Row], query: PageQuery, show: Callable[[Row], BaseModel]
) -> PageOf:
    """Return one page of rows, in the order in which they were made."""
    mark = _mark(query)
    after = _after(query.cursor, mark)
    found = list(rows.order_by("pk").filter(pk__gt=after)[: query.limit + 1])
    shown, more = found[: query.limit], len(found) > query.limit
    cursor = _cursor(shown[-1].pk, mark) if more else None
    if cursor is not None:
        asked = request.GET.copy()
        asked["cursor"] = cursor
        request.headers_out["Link"] = f'<{request.build_absolute_uri(request.path)}?{asked.urlencode()}>; rel="next"'
    return kind(items=[show(row) for row in shown], next_cursor=cursor)


def _mark(query: PageQuery) -> str:
    """Return what ties a cursor to the list it was made for: the filters must stay as they were."""
    asked = query.model_dump_json(exclude={"limit", "cursor"})
    return hashlib.sha256(f"{type(query).__name__}{asked}".encode()).hexdigest()[:8]


def _cursor(after: int, mark: str) -> str:
    return base64.urlsafe_b64encode(f"{after}.{mark}".encode()).decode().rstrip("=")


def _after(cursor: str, mark: str) -> int:
    if not cursor:
        return 0
    try:
        text = base64.b64decode(cursor + "=" * (-len(cursor) % 4), altchars=b"-_", validate=True).decode("ascii")
    except (ValueError, binascii.Error):
        text = ""
    number, _dot, given = text.partition(".")
    if given != mark or not number.isdecimal() or len(number) > 19 or int(number) > MOST_ID:
        said = _("This cursor is not of this list. Start without one, and keep the filters while you follow it.")
        raise Problem("unreadable", said, errors=[Wrong(said, parameter="cursor")])
    return int(number)
