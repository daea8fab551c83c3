"""People of the farm: made, changed, given a code or a printed square, let go. No e-mail, no phone number.

A code or a square opens the whole account, so only accounts that are this farm's alone can have one: a manager must
not come by somebody's place on another farm, or by the keeper's. Managers have no code; six digits are too few for
what they may do.
"""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime
from typing import Final

from django.contrib.auth.hashers import make_password
from django.contrib.auth.models import User
from django.db import transaction
from django.utils.text import slugify
from django.utils.translation import gettext as _

from farm.crew.names import folded, free_name
from farm.models import CrewKey, Farm, KnownPhone, Membership

DIGITS: Final = 6
SQUARE_BYTES: Final = 16
Role = Membership.Role


class CrewError(ValueError):
    """What was asked of the crew cannot be; the message says why, in the reader's language."""


def digest(token: str) -> str:
    """Return what is kept of a secret that is too long to be guessed."""
    return hashlib.sha256(token.encode()).hexdigest()


def is_farms_own(membership: Membership) -> bool:
    """Tell whether an account is this farm's alone, so that its managers may say who comes in by it."""
    user = membership.user
    elsewhere = Membership.objects.filter(user_id=membership.user_id).exclude(pk=membership.pk)
    return not (user.is_staff or user.is_superuser) and not elsewhere.exists()


def can_have_code(membership: Membership) -> bool:
    """Tell whether a person may come in with six digits."""
    return membership.role != Role.MANAGER and is_farms_own(membership)


def names_taken(farm: Farm, *, besides: Membership | None = None) -> set[str]:
    """Return the folded short names of a farm's people, but for one of them."""
    keys = CrewKey.objects.filter(farm=farm).exclude(membership=besides)
    return {folded(name) for name in keys.values_list("short_name", flat=True)}


@transaction.atomic
def make_person(
    *, farm: Farm, name: str, short_name: str, role: str, language: str, now: datetime
) -> tuple[Membership, str]:
    """Make a person with an account that has no password; return the place on the farm and the code, once.

    The code is empty for a manager, who gets a printed square instead.

    Raises
    ------
    CrewError
        If somebody bears the short name.
    """
    _lock(farm)
    _require_free(farm, short_name)
    user = User.objects.create_user(_account_name(farm, short_name), first_name=name)
    membership = Membership.objects.create(farm=farm, user=user, role=role, language=language)
    CrewKey.objects.create(farm=farm, membership=membership, short_name=short_name, made_at=now)
    return membership, new_code(membership=membership, now=now) if can_have_code(membership) else ""


@transaction.atomic
def change_person(
    *, membership: Membership, name: str, short_name: str, role: str, language: str, now: datetime
) -> None:
    """Change who a person is on the farm; whoever becomes a manager loses the code.

    Raises
    ------
    CrewError
        If somebody else bears the short name, or no manager would be left.
    """
    _lock(membership.farm)
    if role != Role.MANAGER:
        _require_other_manager(membership)
    if short_name:
        _require_free(membership.farm, short_name, besides=membership)
        CrewKey.objects.update_or_create(
            membership=membership, defaults={"short_name": short_name},
            create_defaults={"farm": membership.farm, "short_name": short_name, "made_at": now},
        )  # fmt: skip
    if role == Role.MANAGER:
        CrewKey.objects.filter(membership=membership).update(code_hash="")
    membership.role, membership.language = role, language
    membership.save(update_fields=["role", "language"])
    if name and name != membership.user.get_full_name() and is_farms_own(membership):
        membership.user.first_name, membership.user.last_name = name, ""
        membership.user.save(update_fields=["first_name", "last_name"])


@transaction.atomic
def new_code(*, membership: Membership, now: datetime) -> str:
    """Give a person a new code and return it, once; the one before is dead, phones that are known stay.

    Raises
    ------
    CrewError
        If this account cannot have a code.
    """
    if not can_have_code(membership):
        raise CrewError(_("This person comes in with a password. Only accounts of the crew can have a code."))
    code = "".join(secrets.choice("0123456789") for _digit in range(DIGITS))
    key = _key_of(membership, now)
    key.code_hash, key.made_at, key.failures, key.locked_until = make_password(code), now, 0, None
    key.save(update_fields=["code_hash", "made_at", "failures", "locked_until"])
    return code


@transaction.atomic
def new_square(*, membership: Membership, now: datetime) -> str:
    """Give a person a new printed square and return its token, once; the card before is dead.

    Raises
    ------
    CrewError
        If the account is not this farm's alone.
    """
    if not is_farms_own(membership):
        raise CrewError(_("This person has an account beyond this farm, and comes in with its password."))
    token = secrets.token_urlsafe(SQUARE_BYTES)
    key = _key_of(membership, now)
    key.token_hash, key.made_at = digest(token), now
    key.save(update_fields=["token_hash", "made_at"])
    return token


@transaction.atomic
def let_go(*, membership: Membership, now: datetime) -> None:
    """Take a person's place on the farm away: out at once, on every phone. What they did keeps their name.

    Raises
    ------
    CrewError
        If no manager would be left.
    """
    _lock(membership.farm)
    _require_other_manager(membership)
    KnownPhone.objects.filter(farm=membership.farm, user=membership.user_id, revoked_at=None).update(revoked_at=now)
    membership.delete()


def _key_of(membership: Membership, now: datetime) -> CrewKey:
    key = CrewKey.objects.filter(membership=membership).first()
    if key is not None:
        return key
    name = free_name(membership.user.get_full_name() or membership.user.get_username(), names_taken(membership.farm))
    return CrewKey.objects.create(farm=membership.farm, membership=membership, short_name=name, made_at=now)


def _lock(farm: Farm) -> None:
    """Let one change of a farm's people happen at a time; a database in a file does so anyway."""
    Farm.objects.select_for_update().get(pk=farm.pk)


def _require_free(farm: Farm, short_name: str, besides: Membership | None = None) -> None:
    if folded(short_name) in names_taken(farm, besides=besides):
        raise CrewError(_("Somebody here is called “%(name)s”. Add a letter or a number.") % {"name": short_name})


def _require_other_manager(membership: Membership) -> None:
    managers = Membership.objects.of(membership.farm).filter(role=Role.MANAGER, user__is_active=True)
    if not managers.exclude(pk=membership.pk).exists():
        raise CrewError(_("The farm would be left without a manager. Make somebody else a manager first."))


def _account_name(farm: Farm, short_name: str) -> str:
    """Return a free name for an account; nobody has to type it."""
    wanted = f"{slugify(short_name) or 'crew'}.{farm.slug}"[:140]
    taken = set(User.objects.filter(username__startswith=wanted).values_list("username", flat=True))
    return next(
        name for number in range(1, len(taken) + 2) if (name := f"{wanted}{number if number > 1 else ''}") not in taken
    )
