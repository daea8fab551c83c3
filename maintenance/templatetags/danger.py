"""Danger on every page: places to keep out of, and for managers what phones sent that waits for them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django import template
from django.db.models import Count, Exists, Subquery
from django.db.models.functions import Coalesce
from django.template import Context
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from farm.models import EndWall, Farm, Membership, Opening, Tunnel
from farm.paper import Drawing, Lettering, Path
from maintenance.field.beside import to_settle
from maintenance.field.dangers import Danger, dangerous, dangers_of

register = template.Library()


@register.inclusion_tag("maintenance/_danger_marks.html", takes_context=True)
def danger_marks(context: Context) -> dict[str, Any]:
    """Print the places to keep out of; nothing when there are none. Managers read how many entries wait for them."""
    request = context.get("request")
    farm = getattr(request, "farm", None)
    if farm is None or request is None:
        return {}
    waiting = 0
    if request.membership.role == Membership.Role.MANAGER:  # both at once: every page asks
        has_danger, waiting = _standing(farm)
        if not has_danger:
            request.farm_dangers = []
    return {"farm": farm, "dangers": _dangers(context), "waiting": waiting}


@register.inclusion_tag("maintenance/_danger_here.html", takes_context=True)
def danger_here(context: Context, place: Any) -> dict[str, Any]:
    """Print the danger at a place: an opening, an end wall, a tunnel, or a row that is at one of them."""
    return {"farm": context["request"].farm, "dangers": [one for one in _dangers(context) if _is_at(one, place)]}


@register.simple_tag(takes_context=True)
def with_dangers(context: Context, drawing: Drawing | None) -> Drawing | None:
    """Return the plan with the tunnels marked where somebody has to keep out."""
    dangers = _dangers(context)
    if drawing is None or not dangers:
        return drawing
    slug = context["request"].farm.slug
    marked = {reverse("tunnel", args=[slug, one.repair.tunnel_id]) for one in dangers if one.repair.tunnel_id}
    links = tuple(_marked(link) if link.href in marked else link for link in drawing.links)
    return replace(drawing, links=links)


def _marked(link: Any) -> Any:
    """Return a tunnel's part of the plan with its outline in red and the word under its code."""
    outline = Path(link.paths[0].d, "danger-outline")
    code = link.lettering[0]
    word = Lettering(code.x, str(float(code.y) + 5), _("danger"), "danger-word central")
    label = _("%(tunnel)s. Danger: keep out.") % {"tunnel": link.label}
    return replace(link, label=label, paths=(*link.paths, outline), lettering=(*link.lettering, word))


def _standing(farm: Farm) -> tuple[bool, int]:
    """Return whether there is danger on a farm, and how many entries wait for its managers, in one query."""
    waiting = to_settle(farm, timezone.now()).order_by().values("farm").annotate(count=Count("pk")).values("count")
    asked = {"has_danger": Exists(dangerous(farm)), "waiting": Coalesce(Subquery(waiting), 0)}
    found: tuple[bool, int] = Farm.objects.filter(pk=farm.pk).annotate(**asked).values_list(*asked).get()
    return found


def _dangers(context: Context) -> list[Danger]:
    """Return the farm's dangers, looked up once for a page."""
    request = context["request"]
    if not hasattr(request, "farm_dangers"):
        request.farm_dangers = dangers_of(request.farm)
    found: list[Danger] = request.farm_dangers
    return found


def _is_at(danger: Danger, place: Any) -> bool:
    """Tell whether a danger concerns a place: the door itself, or the tunnel or wall around it."""
    repair = danger.repair
    opening, wall, tunnel = _columns(place)
    if repair.opening_id is not None and opening is not None:
        return bool(repair.opening_id == opening)
    if repair.end_wall_id is not None and wall is not None:
        return bool(repair.end_wall_id == wall)
    return repair.tunnel_id is not None and bool(repair.tunnel_id == tunnel)


def _columns(place: Any) -> tuple[int | None, int | None, int | None]:
    """Return the opening, end wall and tunnel that something is at."""
    if isinstance(place, Opening):
        return place.pk, place.end_wall_id, place.end_wall.tunnel_id
    if isinstance(place, EndWall):
        return None, place.pk, place.tunnel_id
    if isinstance(place, Tunnel):
        return None, None, place.pk
    return (getattr(place, "opening_id", None), getattr(place, "end_wall_id", None), getattr(place, "tunnel_id", None))
