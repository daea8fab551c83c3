"""One way to show a list: filtered, sorted, a page at a time, or the whole of it as a file."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers
from django.utils.functional import Promise
from django_tables2 import RequestConfig

from doors.exchange.columns import export_cell, header_text
from doors.exchange.kinds import Kind
from doors.exchange.spreadsheets import CONTENT_TYPES, Cell, Format, write_table
from doors.tables import RegisterTable
from doors.views.shared import today
from farm.access import FarmRequest
from farm.models import Farm

FORMATS: Final[Mapping[str, Format]] = {"csv": "csv", "xlsx": "xlsx"}


@dataclass(frozen=True, slots=True)
class Action:
    """A button above a list."""

    text: str | Promise
    url: str
    for_managers: bool = False


def list_page(
    request: FarmRequest, chosen: Any, table: RegisterTable, kind: Kind, *, what: str, actions: Sequence[Action] = (),
    **context: Any,
) -> HttpResponse:  # fmt: skip
    """Show the rows a filter chose; htmx gets the list alone, ``?export=csv`` or ``xlsx`` a file of every row."""
    RequestConfig(request, paginate={"per_page": 25}).configure(table)
    if wanted := FORMATS.get(request.GET.get("export", "")):
        return file_response(request.farm, kind, table.data.data, wanted)
    context |= {"filter": chosen, "table": table, "what": what, "actions": actions, "kind": kind}
    htmx: Any = getattr(request, "htmx", None)
    is_part = bool(htmx) and not htmx.history_restore_request
    response = render(request, "doors/_list.html" if is_part else "doors/list.html", context)
    patch_vary_headers(response, ["HX-Request"])
    return response


def file_response(farm: Farm, kind: Kind, rows: Iterable[Any], wanted: Format) -> HttpResponse:
    """Return rows as a file to keep, with the columns the import reads."""
    columns = kind.columns + kind.computed
    fields = kind.fields(farm)
    headers = [header_text(column, farm.units) for column in columns]
    cells: list[list[Cell]] = [
        [export_cell(column, row, fields.get(column.name), farm.units) for column in columns] for row in rows
    ]
    return download(write_table(headers, cells, wanted, kind.key), f"{kind.key}-{farm.slug}-{today(farm)}", wanted)


def download(content: bytes, name: str, wanted: Format) -> HttpResponse:
    """Return a file under a name."""
    response = HttpResponse(content, content_type=CONTENT_TYPES[wanted])
    response["Content-Disposition"] = f'attachment; filename="{name}.{wanted}"'
    return response
