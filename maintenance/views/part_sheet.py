"""The sheet of one part: what it is, how old it is in every measure, and its life on a scale of time."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe

from doors.models import Component
from doors.places import place_key
from doors.tables import place_name
from doors.views.shared import today
from farm.access import FarmRequest, member
from farm.paper import Drawing
from maintenance.ages.lives import History, by_year, histories, life_of
from maintenance.drawn.lifeline import EXPECTED, MarkKind, legend_mark, life_line
from maintenance.words import ages as words

LAID_UP = frozenset({Component.Kind.SHADE, Component.Kind.ROOF_FILM, Component.Kind.WALL_FILM})


@member("viewer")
@require_safe
def component(request: FarmRequest, pk: int) -> HttpResponse:
    """Show one part."""
    farm, day = request.farm, today(request.farm)
    rows = Component.objects.of(farm).for_list().select_related("farm", "replaces", "replaced_by")
    part = get_object_or_404(rows, pk=pk)
    lived = histories(part=part, on=day, units=farm.units)
    own = next(history for history in lived if history.part.pk == pk)
    down = part.lay_ups.filter(back_on=None).first()
    drawing = _drawing(lived, own, day)
    context = {
        "part": part, "place": place_name(part), "place_key": place_key(part), "what": str(part), "down": down,
        "measures": words.measures(part, own.age, day, farm.units), "used": words.used(own.age),
        "ends": words.ends(own.age, day), "light": words.light(own.age), "lacking": words.lacking(part, own.age),
        "lived": [(history.part, by_year(history.events)) for history in lived[::-1]],
        "drawing": drawing, "has_range": any(path.style == EXPECTED for path in drawing.paths),
        "legend": _legend(lived), "can_be_laid_up": down is not None or part.kind in LAID_UP,
        "replaced_by": getattr(part, "replaced_by", None),
    }  # fmt: skip
    return render(request, "maintenance/component.html", context)


def _drawing(lived: list[History], own: History, on: date) -> Drawing:
    lives = [
        life_of(each, on=on, expected=words.expected_span(own.age), is_this=True)
        if each is own
        else life_of(each, on=on)
        for each in lived
    ]
    count = len(own.events)
    said: dict[str, Any] = {"day": own.part.fitted_on, "count": count}
    text = ngettext(
        "In service since %(day)s; %(count)s event, in the table below.",
        "In service since %(day)s; %(count)s events, in the table below.",
        count,
    )
    title = _("Life of %(part)s") % {"part": capfirst(str(own.part))}
    return life_line(lives, title=title, description=text % said)


def _legend(lived: list[History]) -> list[Drawing]:
    """Return the marks that stand in the drawing."""
    drawn = {event.mark for history in lived for event in history.events}
    return [legend_mark(kind) for kind in MarkKind if kind in drawn]
