"""Questions about doors, sizings, materials and components; every one starts from a farm."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from django.db.models import Q, QuerySet, Sum

from farm.querysets import FarmRowQuerySet

if TYPE_CHECKING:
    from datetime import date, datetime
    from decimal import Decimal

    from doors.models import Component, Door, ImportDraft, LayUp, Material, Sizing, StockMove
    from farm.models import Farm, Opening, Tunnel


class MaterialQuerySet(FarmRowQuerySet["Material"]):
    def in_book(self) -> Self:
        """Materials the farm still buys, by kind and code."""
        return self.filter(is_in_book=True).order_by("kind", "code")


class DoorQuerySet(FarmRowQuerySet["Door"]):
    def in_use(self) -> Self:
        """Doors of openings that are not retired, in tunnels that are not."""
        return self.filter(opening__retired_on=None).exclude(opening__end_wall__tunnel__status="retired")

    def for_schedule(self) -> Self:
        """Doors with the place and sizing a schedule row prints."""
        return self.in_use().select_related("opening__end_wall__tunnel", "sizing", "as_built")

    def for_plan(self) -> Self:
        """Doors with the verdict of their sizing, for marks on a drawing."""
        return self.in_use().select_related("sizing").defer("sizing__inputs", "sizing__result")

    def with_verdict(self, farm: Farm, verdict: str) -> Self:
        """Doors in use on ``farm`` whose sizing ends so, by the code of their opening.

        The sizings are looked up in their index first: their rows carry whole sheets and are slow to walk.
        """
        from doors.models import Sizing

        sizings = Sizing.objects.of(farm).filter(verdict=verdict).values("pk")
        return self.of(farm).in_use().filter(sizing__in=sizings).order_by("opening__code")

    def for_urgent(self) -> Self:
        """Doors with their opening and the reason of their sizing."""
        return self.select_related("opening", "sizing").defer("sizing__inputs", "sizing__result")

    def for_sheet(self) -> Self:
        """Doors with everything an opening sheet prints."""
        return self.select_related(
            "opening__end_wall__tunnel", "sizing", "as_built", "turning_tube", "sill_tube", "post_tube",
            "anti_billow_tube", "film", "channel", "wire", "rod", "drive",
        )  # fmt: skip

    def for_storm(self) -> Self:
        """Doors with what a storm's levels ask of them: the sheets' inputs, not their long results."""
        kept = self.select_related("opening__end_wall", "sizing", "as_built", "film")
        return kept.defer("sizing__result", "sizing__reason", "as_built__result", "as_built__reason")


class SizingQuerySet(FarmRowQuerySet["Sizing"]):
    def in_force(self, doors: DoorQuerySet) -> Self:
        """The sizings by which ``doors`` would be built today."""
        return self.filter(pk__in=doors.values("sizing_id"))

    def newest_first(self) -> Self:
        """Sizings with the newest revision on top."""
        return self.order_by("-number")

    def for_revisions(self) -> Self:
        """The revisions of a sheet without their contents, newest first."""
        return self.newest_first().defer("inputs", "result")


class ComponentQuerySet(FarmRowQuerySet["Component"]):
    def in_service(self, on: date) -> Self:
        """Components fitted by ``on`` and not yet removed on that day."""
        return self.filter(Q(removed_on=None) | Q(removed_on__gt=on), fitted_on__lte=on)

    def at_tunnel(self, tunnel: Tunnel | int) -> Self:
        """Components of a tunnel, of its end walls and of their openings."""
        return self.filter(Q(tunnel=tunnel) | Q(end_wall__tunnel=tunnel) | Q(opening__end_wall__tunnel=tunnel))

    def door_films_of(self, opening: Opening, on: date) -> Self:
        """The films in service in an opening on a day with their material, the newest first."""
        films = self.in_service(on).filter(opening=opening, kind="door_film")
        return films.select_related("material").order_by("-fitted_on", "-pk")

    def for_list(self) -> Self:
        """Components with the place and material a list row prints."""
        return self.select_related("tunnel", "end_wall__tunnel", "opening__end_wall__tunnel", "material")


class LayUpQuerySet(QuerySet["LayUp"]):
    def of(self, farm: Farm) -> Self:
        """Lay-ups of a farm's parts, in order."""
        return self.filter(component__farm=farm).order_by("component_id", "off_on")


class StockMoveQuerySet(FarmRowQuerySet["StockMove"]):
    def balances(self) -> dict[int, Decimal]:
        """Return what lies in store of each material that ever moved, by its id."""
        return dict(self.order_by().values_list("material_id").annotate(total=Sum("quantity")))

    def newest_first(self) -> Self:
        """Moves with their material, part and person, the newest on top."""
        return self.select_related("material", "component", "by").order_by("-on", "-pk")


class ImportDraftQuerySet(FarmRowQuerySet["ImportDraft"]):
    def older_than(self, moment: datetime) -> Self:
        """Drafts uploaded before a moment."""
        return self.filter(created_at__lt=moment)
