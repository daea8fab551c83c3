"""Who may open a farm's pages: the one place roles are enforced."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, Literal, ParamSpec

from django.contrib.auth.base_user import AbstractBaseUser
from django.contrib.auth.decorators import login_required
from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponseBase
from django.utils import timezone, translation
from django.utils.translation import get_language

from farm.models import Farm, Membership

Parameters = ParamSpec("Parameters")
Role = Literal["viewer", "crew", "manager"]

RANK = {Membership.Role.VIEWER: 0, Membership.Role.CREW: 1, Membership.Role.MANAGER: 2}


class FarmRequest(HttpRequest):
    """A request for one farm's page by one of its members."""

    farm: Farm
    membership: Membership


def membership_on(person: AbstractBaseUser | AnonymousUser, farm_slug: str) -> Membership:
    """Return what somebody is on a farm; to anybody who is nothing there, the farm does not exist."""
    membership = Membership.objects.held_by(person).filter(farm__slug=farm_slug).first()
    if membership is None:
        raise Http404("There is no such farm, or you are not a member of it.")
    return membership


def require_role(membership: Membership, role: Role) -> None:
    """Refuse a member of less than ``role``."""
    if RANK[Membership.Role(membership.role)] < RANK[Membership.Role(role)]:
        raise PermissionDenied(f"This needs the role of {role}.")


def member(
    role: Role,
) -> Callable[
    [Callable[Concatenate[FarmRequest, Parameters], HttpResponseBase]],
    Callable[..., HttpResponseBase],
]:
    """Open a view only to the farm's members of at least ``role``; to anybody else the farm does not exist.

    The wrapped view is routed below ``<slug:farm_slug>`` and gets a request that carries ``farm`` and
    ``membership``; the slug itself is not passed on. It runs by the farm's clock, in the member's own language
    and units where the member chose any, and must have written its page when it returns: the zone and language
    of the thread are put back then, before the next farm's request.
    """

    def decorate(
        view: Callable[Concatenate[FarmRequest, Parameters], HttpResponseBase],
    ) -> Callable[..., HttpResponseBase]:
        @wraps(view)
        def guarded(
            request: FarmRequest, farm_slug: str, *args: Parameters.args, **kwargs: Parameters.kwargs
        ) -> HttpResponseBase:
            membership = membership_on(request.user, farm_slug)
            require_role(membership, role)
            request.farm, request.membership = membership.farm, membership
            request.farm.units = membership.units or request.farm.units  # as this member reads it; not to be saved
            with timezone.override(membership.farm.zone), translation.override(membership.language or get_language()):
                return view(request, *args, **kwargs)

        guarded.farm_role = role  # type: ignore[attr-defined]  # read by the test that walks every route
        return login_required(guarded)

    return decorate
