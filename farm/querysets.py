"""Questions about the structures; every one of them starts from a farm."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self, TypeVar

from django.db.models import Exists, Model, OuterRef, Prefetch, QuerySet

if TYPE_CHECKING:
    from django.contrib.auth.models import AbstractBaseUser, AnonymousUser

    from farm.models import EndWall, Farm, Membership, Opening, Tunnel

Row = TypeVar("Row", bound=Model)


class FarmRowQuerySet(QuerySet[Row]):
    """Rows that belong to one farm."""

    def of(self, farm: Farm) -> Self:
        """Rows of ``farm``; every page starts here, so another farm's row is never found."""
        return self.filter(farm=farm)


class MembershipQuerySet(FarmRowQuerySet["Membership"]):
    def held_by(self, user: AbstractBaseUser | AnonymousUser) -> Self:
        """The farms a person may open, with the farm loaded."""
        return self.filter(user_id=user.pk).select_related("farm").order_by("farm__name", "pk")


class TunnelQuerySet(FarmRowQuerySet["Tunnel"]):
    def standing(self) -> Self:
        """Tunnels that are not retired."""
        return self.exclude(status="retired")

    def for_list(self) -> Self:
        """Tunnels in code order."""
        return self.order_by("code")

    def for_plan(self) -> Self:
        """Standing tunnels with the end walls and openings the site plan draws."""
        return self.standing().for_list().prefetch_related(*_walls_with_openings())

    def without_exit(self) -> Self:
        """Standing tunnels that have openings, but no person door among them."""
        from farm.models import Opening

        openings = Opening.objects.in_use().filter(end_wall__tunnel=OuterRef("pk"))
        return self.standing().filter(Exists(openings), ~Exists(openings.filter(kind=Opening.Kind.PERSON))).for_list()

    def for_sheet(self) -> Self:
        """Tunnels with the end walls and openings a tunnel sheet draws."""
        return self.prefetch_related(*_walls_with_openings())


class EndWallQuerySet(FarmRowQuerySet["EndWall"]):
    def for_sheet(self) -> Self:
        """End walls with their tunnel and openings."""
        return self.select_related("tunnel").prefetch_related("openings")


class OpeningQuerySet(FarmRowQuerySet["Opening"]):
    def in_use(self) -> Self:
        """Openings that are not retired."""
        return self.filter(retired_on=None)

    def with_place(self) -> Self:
        """Openings with their end wall and tunnel."""
        return self.select_related("end_wall__tunnel")


def _walls_with_openings() -> list[Prefetch[Any]]:
    from farm.models import EndWall, Opening

    openings = Opening.objects.in_use().order_by("offset_mm", "pk")
    return [Prefetch("end_walls", EndWall.objects.order_by("end").prefetch_related(Prefetch("openings", openings)))]
