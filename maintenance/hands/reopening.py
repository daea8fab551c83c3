"""When tunnels that were closed before a storm are opened again, and by whom: a closed tunnel cooks."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from django.contrib.auth.models import User
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from farm.models import Membership
from maintenance.blow.facts import facts_from_json
from maintenance.blow.rules import rules_of
from maintenance.messages.contacts import addressees, reading_as
from maintenance.messages.outbox import Notice, write
from maintenance.models import Reminder, Reopening, Storm, StormTask
from maintenance.skies.latest import daylight_of

CLOSES: Final = frozenset(
    {
        StormTask.Kind.SIDE, StormTask.Kind.FILM_DOOR, StormTask.Kind.WIDE_FILM_DOOR, StormTask.Kind.SLIDING_DOOR,
        StormTask.Kind.OTHER_DOOR,
    }
)  # fmt: skip
FORGETS: Final = timedelta(days=14)  # nobody is reminded of an older storm
OVER: Final = (Storm.State.OVER, Storm.State.CLOSED)


class ReopeningError(Exception):
    """A tunnel cannot be marked as open again; the message says why."""


def propose(*, storm: Storm) -> int:
    """Give every tunnel that was closed a time to be opened again; return how many are new.

    The owner is whoever closed it last; a manager may name another.
    """
    closed = storm.tasks.filter(state=StormTask.State.DONE, kind__in=CLOSES, done_by__isnull=False)
    owner = dict(closed.order_by("done_at", "pk").values_list("tunnel_id", "done_by_id"))
    known = set(storm.reopenings.values_list("tunnel_id", flat=True))
    due_at = opens_at(storm)
    new = [
        Reopening(storm=storm, tunnel_id=tunnel, owner_id=user, due_at=due_at)
        for tunnel, user in owner.items()
        if tunnel not in known
    ]
    Reopening.objects.bulk_create(new, ignore_conflicts=True)
    return len(new)


def opens_at(storm: Storm) -> datetime:
    """Return the first daylight after the calm that follows a storm, as last worked out or by its end."""
    rules = rules_of(storm.farm).reopen
    calm = storm.ends_at + timedelta(seconds=rules.calm)
    for fact in facts_from_json(storm.facts.get("reopen", ())):
        if fact.key == "closed_tunnel_heats" and fact.at is not None:
            return max(fact.at, calm)
    day = calm.astimezone(storm.farm.zone).date()
    light = daylight_of(farm=storm.farm, start=day - timedelta(days=1), days=3)
    return min((max(calm, dawn) for dawn, dusk in light if dusk > calm), default=calm)


def change(*, reopening: Reopening, owner: User | None, due_at: datetime) -> None:
    """Name another owner or another time, as long as the tunnel is closed."""
    found = Reopening.objects.filter(pk=reopening.pk, done_at=None)
    if not found.update(owner=owner, due_at=due_at):
        raise ReopeningError(_("%(tunnel)s is already open again.") % {"tunnel": reopening.tunnel.code})


def done(*, reopening: Reopening, by: User, now: datetime) -> None:
    """Mark a tunnel as open again."""
    if not Reopening.objects.filter(pk=reopening.pk, done_at=None).update(done_at=now, done_by=by):
        raise ReopeningError(_("%(tunnel)s is already open again.") % {"tunnel": reopening.tunnel.code})


def remind(*, now: datetime) -> None:
    """Propose times for storms that are over, and tell the owners whose time has come; each once."""
    for storm in Storm.objects.filter(state__in=OVER, ends_at__gt=now - FORGETS).select_related("farm"):
        propose(storm=storm)
    due = Reopening.objects.filter(done_at=None, due_at__lte=now, due_at__gt=now - FORGETS, storm__state__in=OVER)
    notices = [
        _notice(each, member)
        for each in due.select_related("tunnel", "storm__farm").order_by("pk")
        for member in _told(each)
    ]
    write(notices, now=now)


def _told(reopening: Reopening) -> list[Membership]:
    """Return the owner, or the managers where nobody owns it."""
    farm = reopening.storm.farm
    owner = Q(user=reopening.owner_id) if reopening.owner_id else Q(role=Membership.Role.MANAGER)
    return list(addressees().filter(owner, farm=farm))


def _notice(reopening: Reopening, member: Membership) -> Notice:
    storm, tunnel = reopening.storm, reopening.tunnel
    with reading_as(member):
        due = date_format(timezone.localtime(reopening.due_at), "D Y-m-d H:i")
        subject = _("%(tunnel)s: open it again") % {"tunnel": tunnel.code}
        body = _("%(tunnel)s was closed before the storm. Since %(due)s it can be opened: a closed tunnel gets hot "
                 "and damp within hours. First look from outside that nothing hangs or leans.") % {
            "tunnel": tunnel.code, "due": due,
        }  # fmt: skip
    return Notice(
        membership=member, kind=Reminder.Kind.NOW, key=f"storm-{storm.pk}-reopen-{tunnel.pk}", subject=subject,
        body=body, path=reverse("storm-reopen", args=[storm.farm.slug, storm.pk]),
    )  # fmt: skip
