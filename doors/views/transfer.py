"""Import of tunnels, openings, parts, materials and counts: choose a file, look at every row, then import."""

from __future__ import annotations

from datetime import timedelta
from typing import Final

from django.contrib import messages
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from doors.exchange.columns import header_text
from doors.exchange.importers import register_of
from doors.exchange.kinds import IMPORTED, Kind
from doors.exchange.spreadsheets import MOST_BYTES, MOST_ROWS, Format, SpreadsheetError, read_grid, write_table
from doors.exchange.transfer import ChangedError, Existing, Preview, import_rows, preview
from doors.models import ImportDraft
from doors.services import resize_openings
from doors.views.lists import FORMATS, download
from doors.views.shared import today
from farm.access import FarmRequest, member

GET_AND_POST = ["GET", "HEAD", "POST"]
KEPT_FOR: Final = timedelta(days=1)
LISTS: Final = {
    "tunnels": "tunnels", "openings": "doors", "components": "parts", "materials": "materials", "counts": "store",
}  # fmt: skip  # where what was imported is to be seen
SHOWN: Final = {"bad": 200, "good": 50}  # rows; the counts say how many there are


@member("manager")
@require_http_methods(GET_AND_POST)
def import_start(request: FarmRequest) -> HttpResponse:
    """Offer the templates, and take a file of one kind."""
    chosen = request.POST.get("kind") or request.GET.get("kind", "")
    if request.method != "POST":
        return _start_page(request, chosen)
    draft, problem = _take(request, IMPORTED.get(chosen) or IMPORTED["tunnels"])
    if draft is None:
        return _start_page(request, chosen, problem, status=422)
    url = reverse("import-preview", args=[request.farm.slug, draft.kind])
    return redirect(f"{url}?draft={draft.pk}")


@member("manager")
@require_http_methods(GET_AND_POST)
def import_preview(request: FarmRequest, kind: str) -> HttpResponse:
    """Show what a file would do, row by row; a POST imports it. ``?template=csv`` or ``xlsx`` is an empty table."""
    table = IMPORTED.get(kind)
    if table is None:
        raise Http404
    if wanted := FORMATS.get(request.GET.get("template", "")):
        return _template(request, table, wanted)
    given = request.POST if request.method == "POST" else request.GET
    draft = _draft(request, table, given.get("draft", ""))
    existing: Existing = "update" if given.get("existing") == "update" else "skip"
    if draft is None:
        return _start_page(request, kind, _("That file is no longer kept. Choose it again."), status=404)
    problem = ""
    if request.method == "POST":
        done, problem = _import(request, table, draft, existing)
        if done is not None:
            _say(request, done)
            return redirect(LISTS[kind], request.farm.slug)
    register = register_of(table, request.farm, today(request.farm), existing)
    shown = preview(table, request.farm, register, draft.grid, existing)
    context = {
        "what": _("Import: %(file)s") % {"file": draft.name}, "shown": shown, "draft": draft, "existing": existing,
        "bad": shown.bad[: SHOWN["bad"]], "good": shown.good[: SHOWN["good"]], "problem": problem,
    }  # fmt: skip
    return render(request, "doors/import_preview.html", context, status=422 if problem else 200)


def _start_page(request: FarmRequest, chosen: str, problem: str = "", *, status: int = 200) -> HttpResponse:
    context = {
        "what": _("Import"), "kinds": IMPORTED.values(), "chosen": chosen if chosen in IMPORTED else "",
        "problem": problem, "most_rows": MOST_ROWS, "most_mb": MOST_BYTES // 1024**2,
    }  # fmt: skip
    return render(request, "doors/import.html", context, status=status)


def _take(request: FarmRequest, kind: Kind) -> tuple[ImportDraft | None, str]:
    """Keep an uploaded file as a draft, or return a sentence about why it cannot be read."""
    upload = request.FILES.get("file")
    if upload is None:
        return None, _("Choose a file first.")
    if (upload.size or 0) > MOST_BYTES:
        return None, _("The file is larger than 5 MB. Split it, or leave out pictures and other sheets.")
    name = (upload.name or "")[-120:]
    try:
        grid = read_grid(name, upload.read())
    except SpreadsheetError as error:
        return None, str(error)
    ImportDraft.objects.older_than(timezone.now() - KEPT_FOR).delete()
    user_id = request.membership.user_id
    return ImportDraft.objects.create(farm=request.farm, user_id=user_id, kind=kind.key, name=name, grid=grid), ""


def _draft(request: FarmRequest, kind: Kind, text: str) -> ImportDraft | None:
    """Return the draft, which only who uploaded it may see; None where there is none."""
    if not (text.isascii() and text.isdecimal() and len(text) < 19):
        return None
    own = ImportDraft.objects.of(request.farm).filter(user_id=request.membership.user_id)
    return own.filter(kind=kind.key, pk=int(text)).first()


def _import(
    request: FarmRequest, kind: Kind, draft: ImportDraft, existing: Existing
) -> tuple[Preview | None, str]:  # fmt: skip
    """Import a draft, or return a sentence about why nothing was imported."""
    try:
        with transaction.atomic():
            by = request.user if isinstance(request.user, User) else None
            register = register_of(kind, request.farm, today(request.farm), existing, by)
            shown = preview(kind, request.farm, register, draft.grid, existing)
            openings = import_rows(shown, register=register, only_good=request.POST.get("take") == "good")
            draft.delete()
    except ChangedError:
        return None, _("Nothing was imported: some rows cannot be taken. Correct them, or take the good rows only.")
    except IntegrityError:
        return None, _("Nothing was imported: somebody changed the register just now. Look at the rows again.")
    if openings:
        resize_openings(farm=request.farm, opening_ids=openings)
    return shown, ""


def _say(request: FarmRequest, done: Preview) -> None:
    text = _("Imported: %(new)s added, %(updated)s updated, %(left)s left out.")
    left = len(done.bad) + len(done.skipped)
    messages.success(request, text % {"new": done.new_count, "updated": done.updated_count, "left": left})


def _template(request: FarmRequest, kind: Kind, wanted: Format) -> HttpResponse:
    """Return the columns with one row that shows how to fill them."""
    headers = [header_text(column, request.farm.units) for column in kind.columns]
    example = [column.example for column in kind.columns]
    content = write_table(headers, [example], wanted, kind.key)
    return download(content, f"{kind.key}-template", wanted)
