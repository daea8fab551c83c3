"""What a manager sees of the farm's people."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Max, Q, QuerySet

from farm.crew.keys import can_have_code, is_farms_own
from farm.models import CrewKey, Farm, KnownPhone, Membership


@dataclass(frozen=True, slots=True)
class Ways:
    """How a person comes in, and what a manager may give."""

    has_code: bool
    has_square: bool
    can_have_code: bool
    can_have_square: bool
    locked_until: datetime | None


def people_of(farm: Farm) -> QuerySet[Membership]:
    """A farm's people with their keys, their phones counted in ``phone_count`` and ``phone_seen_at``."""
    known = Q(user__known_phones__farm=farm, user__known_phones__revoked_at=None)
    return (
        Membership.objects.of(farm)
        .select_related("user", "crew_key")
        .annotate(
            phone_count=Count("user__known_phones", filter=known),
            phone_seen_at=Max("user__known_phones__seen_at", filter=Q(user__known_phones__farm=farm)),
        )
        .order_by("user__first_name", "user__username", "pk")
    )


def seen_at(membership: Membership) -> datetime | None:
    """Return when somebody of :func:`people_of` was last seen: on a phone, or logging in."""
    moments = [moment for moment in (membership.phone_seen_at, membership.user.last_login) if moment]  # type: ignore[attr-defined]
    return max(moments, default=None)


def key_of(membership: Membership) -> CrewKey | None:
    """Return a person's key where there is one."""
    try:
        return membership.crew_key
    except CrewKey.DoesNotExist:
        return None


def ways_of(membership: Membership, now: datetime) -> Ways:
    """Return how a person comes in."""
    key = key_of(membership)
    locked = key.locked_until if key and key.locked_until and key.locked_until > now else None
    return Ways(
        has_code=bool(key and key.code_hash), has_square=bool(key and key.token_hash),
        can_have_code=can_have_code(membership), can_have_square=is_farms_own(membership), locked_until=locked,
    )  # fmt: skip


def phones_of(membership: Membership) -> QuerySet[KnownPhone]:
    """The phones on which a person stays signed in, the last seen on top."""
    known = KnownPhone.objects.filter(farm=membership.farm_id, user=membership.user_id, revoked_at=None)
    return known.order_by("-seen_at", "-pk")
