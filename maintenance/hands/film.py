"""What is decided about a tunnel's film before a storm: written down, with who and when, before anybody cuts."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _

from farm.models import Tunnel
from maintenance.models import FilmDecision, Storm, StormTask

OPEN: Final = (Storm.State.COMING, Storm.State.BLOWING)


class FilmError(Exception):
    """A decision cannot be kept; the message says why and what to do."""


def decide(
    *, storm: Storm, tunnel: Tunnel, choice: str, by: User, now: datetime, insurer_told: bool = False, note: str = ""
) -> FilmDecision:
    """Keep a decision about a tunnel's film; an earlier one stays in the record, and the last one counts.

    Film that is cut is a loss that insurers ask about, so a cut needs a reason in words.
    """
    if tunnel.farm_id != storm.farm_id:
        raise FilmError(_("That tunnel is on another farm."))
    if storm.state not in OPEN:
        raise FilmError(_("This storm is over. Log what happened to the film on the page of the days after."))
    if choice == FilmDecision.Choice.CUT and not note.strip():
        raise FilmError(_("Write down why the film is cut: your insurer will ask."))
    with transaction.atomic():
        kept = FilmDecision.objects.create(
            storm=storm, tunnel=tunnel, choice=choice, by=by, at=now, insurer_told=insurer_told, note=note.strip()
        )
        asked = storm.tasks.filter(kind=StormTask.Kind.FILM, tunnel=tunnel, state=StormTask.State.OPEN)
        asked.update(state=StormTask.State.DONE, done_at=now, done_by=by, is_left_out=False)
    return kept


def decisions_of(storm: Storm) -> list[FilmDecision]:
    """Return all decisions of a storm, the last first."""
    return list(storm.film_decisions.select_related("tunnel", "by").order_by("-at", "-pk"))
