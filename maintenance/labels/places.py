"""Every place of a farm with its label, tunnel by tunnel, as the lists and the sheets print it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from farm.models import EndWall, Farm, Opening, Tunnel
from farm.naming import point
from maintenance.models import Label


@dataclass(frozen=True, slots=True)
class Place:
    """A place, what it is called in words, and its label where it has one."""

    code: str
    what: str
    label: Label | None


@dataclass(frozen=True, slots=True)
class Group:
    """A tunnel with all its places: the tunnel itself, its end walls, their openings."""

    tunnel: Tunnel
    places: tuple[Place, ...]

    @property
    def missing(self) -> int:
        """How many places have no label."""
        return sum(place.label is None for place in self.places)


def places_of(farm: Farm, *, tunnel: int | None = None) -> list[Group]:
    """Return a farm's tunnels in use, or one of them, with every place and its label."""
    tunnels = Tunnel.objects.of(farm).for_plan()
    if tunnel is not None:
        tunnels = tunnels.filter(pk=tunnel)
    labels = {
        (label.tunnel_id, label.end_wall_id, label.opening_id): label
        for label in Label.objects.filter(farm=farm, revoked_at=None)
    }
    return [Group(one, tuple(_places(one, labels))) for one in tunnels]


def _places(tunnel: Tunnel, labels: dict[tuple[int | None, int | None, int | None], Label]) -> Iterator[Place]:
    """Yield the places in the order somebody hangs their labels: the tunnel, then wall by wall."""
    yield Place(tunnel.code, _("tunnel"), labels.get((tunnel.pk, None, None)))
    for wall in tunnel.end_walls.all():
        code = f"{tunnel.code}-{point(wall.bearing_deg, wall.end)}"
        yield Place(code, _("end wall"), labels.get((None, wall.pk, None)))
        for opening in wall.openings.all():
            yield Place(opening.code, opening.get_kind_display(), labels.get((None, None, opening.pk)))


def place_in_use(label: Label) -> Tunnel | EndWall | Opening | None:
    """Return the place of a label; None where it is retired, or its tunnel is. All three columns must be loaded."""
    place = label.opening or label.end_wall or label.tunnel
    wall = label.opening.end_wall if label.opening else label.end_wall
    tunnel = wall.tunnel if wall else label.tunnel
    is_retired = (tunnel is not None and tunnel.status == Tunnel.Status.RETIRED) or (
        label.opening is not None and label.opening.retired_on is not None
    )
    return None if is_retired else place
