"""Paper, where a phone is no use: job cards to carry, and the desk's page to type sheets in again."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.contrib.auth.models import User
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe

from doors.views.shared import today
from farm.access import FarmRequest, member
from farm.models import Membership, Tunnel
from maintenance.views.jobs import user_of
from maintenance.words.said import person
from maintenance.work import paperrows, typingin
from maintenance.work.papercards import cards_by_person, cards_by_place, members_who_work
from maintenance.work.paperforms import HeadForm, RowForm, WhichForm
from maintenance.work.paperrows import MOST_ROWS, PaperRow
from maintenance.work.sheetnumbers import SheetNumber
from maintenance.work.typingin import RowError

GET_AND_POST = ["GET", "HEAD", "POST"]


@member("crew")
@require_safe
def job_cards(request: FarmRequest) -> HttpResponse:
    """Show job cards to print: a page for each person, or for each place."""
    farm, day = request.farm, today(request.farm)
    members = members_who_work(farm)
    tunnels = list(Tunnel.objects.of(farm).standing().for_list())
    by_place = request.GET.get("by") == "place"
    wanted = _number(request.GET.get("only", ""))
    if by_place:
        places = [None, *tunnels]
        cards = cards_by_place(farm=farm, day=day, wanted=[row for row in places if _is_wanted(row, wanted)])
        names = [(0, _("the farm as a whole")), *((tunnel.pk, tunnel.code) for tunnel in tunnels)]
    else:
        people = [*members, None]
        cards = cards_by_person(farm=farm, day=day, wanted=[row for row in people if _is_wanted(row, wanted)])
        names = [*((each.pk, person(each.user)) for each in members), (0, _("nobody yet"))]
    context = {
        "what": _("Job cards"), "cards": cards, "by_place": by_place, "names": names, "only": wanted, "day": day,
        "boxes": range(3),
    }  # fmt: skip
    return render(request, "maintenance/paper_cards.html", context)


@member("manager")
@require_http_methods(GET_AND_POST)
def paper(request: FarmRequest) -> HttpResponse:
    """Type paper sheets in: choose one, and say of each of its rows what became of it."""
    farm, day = request.farm, today(request.farm)
    members = members_who_work(farm)
    which = WhichForm(
        request.GET or None, people=[(each.pk, person(each.user)) for each in members], today=day,
        initial={"day": day},
    )  # fmt: skip
    is_valid = which.is_valid()
    number: SheetNumber | None = which.cleaned_data.get("sheet") if is_valid else None
    if request.method == "POST":
        return _typed(request, which, number, members)
    rows = _rows(request, which, number, members) if is_valid else []
    proposed = _proposed(request, which, number, members, rows) if is_valid else {}
    people = [each.user for each in members]
    head = HeadForm(people=people, today=day, initial={**proposed, "nonce": uuid.uuid4()})
    forms_ = [RowForm(row=row, people=people) for row in rows]
    return _page(request, which, number, head, forms_, is_asked=is_valid and bool(request.GET))


def _typed(
    request: FarmRequest, which: WhichForm, number: SheetNumber | None, members: list[Membership]
) -> HttpResponse:
    """Keep what was typed; where something cannot be, all of it comes back as it was written."""
    farm, people = request.farm, [each.user for each in members]
    rows = paperrows.rows_by_key(farm=farm, keys=request.POST.getlist("row"))
    head = HeadForm(request.POST, people=people, today=today(farm))
    forms_ = [RowForm(request.POST, row=row, people=people) for row in rows]
    are_valid = [form.is_valid() for form in forms_]
    if not head.is_valid() or not all(are_valid):
        return _page(request, which, number, head, forms_, is_asked=True)
    on, by = head.cleaned_data["on"], User.objects.get(pk=head.cleaned_data["by"])
    written = [(form.row.key, form.written(farm=farm, on=on, by=by)) for form in forms_ if form.cleaned_data["outcome"]]
    sheet = typingin.Sheet(number=str(number or on), typed_by=user_of(request), on=on, nonce=head.cleaned_data["nonce"])
    if not written:
        messages.info(request, _("No row says anything yet: choose done or cannot where something was written."))
        return redirect(request.get_full_path())
    try:
        kept = typingin.keep_sheet(farm=farm, sheet=sheet, written=written, now=timezone.now())
    except RowError as error:
        next(form for form in forms_ if form.row.key == error.key).add_error(None, str(error))
        return _page(request, which, number, head, forms_, is_asked=True)
    said = ngettext("%(count)d row is kept.", "%(count)d rows are kept.", kept.count)
    messages.success(request, said % {"count": kept.count})
    for row in paperrows.rows_by_key(farm=farm, keys=[row.key for row in kept.beside]):
        words = {"place": row.where, "what": row.what, "standing": row.standing}
        messages.warning(request, _("%(place)s, %(what)s: %(standing)s. That stands; the paper is noted beside it.")
                         % words)  # fmt: skip
    return redirect(request.get_full_path() if number else reverse("paper", args=[farm.slug]))


def _rows(
    request: FarmRequest, which: WhichForm, number: SheetNumber | None, members: list[Membership]
) -> list[PaperRow]:
    farm = request.farm
    if number is not None:
        return paperrows.rows_of_sheet(farm=farm, number=number, today=today(farm))
    if not which.cleaned_data["day"]:
        return []
    whose = next((each for each in members if each.pk == which.cleaned_data["person"]), None)
    return paperrows.rows_of_day(farm=farm, day=which.cleaned_data["day"], member=whose)[:MOST_ROWS]


def _proposed(
    request: FarmRequest, which: WhichForm, number: SheetNumber | None, members: list[Membership], rows: list[PaperRow]
) -> dict[str, Any]:
    """Return the day and the person that a sheet says by itself."""
    farm, day = request.farm, which.cleaned_data["day"] or today(request.farm)
    member = which.cleaned_data["person"]
    if number is not None and number.kind == "S":
        member = number.second
        storm = next((row.task.storm for row in rows if row.task is not None), None)
        if storm is not None:
            day = min(today(farm), (storm.deadline_at or storm.begins_at).astimezone(farm.zone).date())
    elif number is not None:
        day = number.day(today(farm))
        member = number.first if number.kind == "P" else None
    return {"on": day, "by": next((each.user_id for each in members if each.pk == member), None)}


def _page(
    request: FarmRequest, which: WhichForm, number: SheetNumber | None, head: HeadForm, forms_: list[RowForm],
    *, is_asked: bool,
) -> HttpResponse:  # fmt: skip
    refused = any(form.is_bound and form.errors for form in (head, *forms_))
    _focus(which, forms_)
    context = {
        "what": _("Type in paper sheets"), "which": which, "number": number, "head": head, "rows": forms_,
        "is_asked": is_asked, "refused": refused, "open": any(form.row.is_open for form in forms_),
    }  # fmt: skip
    return render(request, "maintenance/paper.html", context, status=422 if refused else 200)


def _focus(which: WhichForm, forms_: list[RowForm]) -> None:
    """Let the keyboard begin where it is needed: at the first mistake, else the first open row, else the number."""
    wrong = next((form for form in forms_ if form.is_bound and form.errors), None)
    first = wrong or next((form for form in forms_ if form.row.is_open and form.outcome_is_asked), None)
    name = next((name for name in wrong.errors if name in wrong.fields), "outcome") if wrong else "outcome"
    field = first.fields[name] if first else which.fields["sheet"]
    field.widget.attrs["autofocus"] = True


def _is_wanted(row: Membership | Tunnel | None, wanted: int | None) -> bool:
    return wanted is None or (row.pk if row else 0) == wanted


def _number(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 18 else None
