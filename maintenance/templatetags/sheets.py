"""The index of a farm's sheets: a few subjects, and under the one that is open its own sheets."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from django import template
from django.template import Context
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise as Text

register = template.Library()


@dataclass(frozen=True, slots=True)
class Subject:
    """Sheets that belong together: each by the name of its route; the first one stands for them all.

    ``parts`` are beginnings of the names of further routes, such as those of a single row.
    """

    sheets: tuple[tuple[str, Text], ...]
    parts: tuple[str, ...] = ()

    def holds(self, page: str) -> bool:
        """Tell whether a page belongs here."""
        return page in dict(self.sheets) or page.startswith(self.parts)


SUBJECTS: Final = (
    Subject((("plan", _("Plan")),)),
    Subject((("field", _("Crew page")),)),
    Subject(
        (("due", _("Due")), ("repairs", _("Faults and repairs")), ("repeats", _("What keeps failing")),
         ("near-misses", _("Near misses")), ("near-miss-new", _("Tell of a near miss")),
         ("job-cards", _("Job cards")), ("paper", _("Type in paper")),
         ("year", _("Year")), ("routines", _("Routines")), ("field-beside", _("From phones"))),
        ("job", "repair", "routine", "field-beside", "near-miss", "paper"),
    ),
    Subject(
        (("storms", _("Wind")), ("weather", _("Forecast")), ("gusts", _("Gusts")), ("storm-rules", _("Storm rules"))),
        ("storm", "weather", "gust", "aftermath", "event"),
    ),
    Subject((("tunnels", _("Tunnels")),), ("tunnel", "end-wall")),
    Subject((("doors", _("Door schedule")),), ("door-", "opening", "sheet")),
    Subject(
        (("parts", _("Parts")), ("film-plan", _("Film plan")), ("sun", _("Sun"))), ("component", "film", "sun")
    ),
    Subject((("store", _("Store")), ("materials", _("Materials"))), ("store", "material")),
    Subject(
        (("sizing-rules", _("Rules")), ("farm-change", _("Farm")), ("import", _("Import")),
         ("farm-file", _("Take along")), ("reminders", _("Messages")), ("crew", _("Crew")),
         ("labels", _("Labels"))),
        ("import", "farm-file", "reminders", "crew-", "label"),
    ),
)  # fmt: skip
FOR_MANAGERS: Final = frozenset(
    {"farm-change", "import", "storm-rules", "crew", "labels", "field-beside", "near-misses", "paper", "farm-file"}
)
FOR_WORKERS: Final = frozenset({"job-cards"})
FOR_CREWS: Final = frozenset({"near-miss-new"})


@register.inclusion_tag("farm/_nav.html", takes_context=True)
def sheet_index(context: Context) -> dict[str, Any]:
    """Print the index, with the sheets of the open page's subject under it."""
    request = context["request"]
    match = request.resolver_match
    page = match.url_name if match else ""
    current = next((subject for subject in SUBJECTS if subject.holds(page)), None)
    entries = [_entry(request, subject.sheets[0], page, is_part=subject is current) for subject in SUBJECTS]
    under = list(_under(context, request, current, page)) if current else []
    return {"entries": entries, "under": under if len(under) > 1 else []}


def _under(context: Context, request: Any, subject: Subject, page: str) -> Iterator[dict[str, Any]]:
    for sheet in subject.sheets:
        if _may_see(context, sheet[0]):
            yield _entry(request, sheet, page, is_part=False)


def _may_see(context: Context, name: str) -> bool:
    """Tell whether a sheet stands in the reader's index; a manager reaches what only crews see from another sheet."""
    if name in FOR_MANAGERS:
        return bool(context.get("can_edit"))
    if name in FOR_WORKERS:
        return bool(context.get("can_log"))
    return name not in FOR_CREWS or bool(context.get("can_log") and not context.get("can_edit"))


def _entry(request: Any, sheet: tuple[str, Text], page: str, *, is_part: bool) -> dict[str, Any]:
    name, text = sheet
    current = "page" if name == page else "true" if is_part else ""
    return {"text": text, "url": reverse(name, args=[request.farm.slug]), "current": current}
