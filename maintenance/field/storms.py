"""Entries about tasks before a storm: which task is meant, and when it is too late to say anything of it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from django.utils.translation import gettext as _

from maintenance.field.deeds import Beside, Deed
from maintenance.hands.ticking import TickError
from maintenance.models import Storm, StormTask

Kind, State = StormTask.Kind, StormTask.State
AT_TUNNEL: Final = (Kind.WALK, Kind.SIDE, Kind.INFLATION)  # what “the tunnel is secured” can mean
PAST: Final = (Storm.State.CLOSED, Storm.State.GONE)


def task_at(deed: Deed, state: StormTask.State) -> StormTask | None:
    """Return the task that an entry about a place means; None where no storm comes or it has nothing to do there.

    One that is in ``state`` is meant first. Of a tunnel with several, nobody can know which.
    """
    if deed.place is None:
        return None
    found = StormTask.objects.for_list().select_related("storm__farm")
    found = found.filter(storm__farm=deed.farm, storm__state__in=("coming", "blowing"), repair=None)
    if deed.opening is not None:
        tasks = list(found.filter(opening=deed.opening))
    else:
        tasks = list(found.filter(tunnel=deed.tunnel, opening=None, kind__in=AT_TUNNEL))
    wanted = [task for task in tasks if task.state == state]
    if state == State.DONE:
        wanted = [task for task in wanted if task.checked_at is None] or wanted
    if len(wanted) > 1 and deed.opening is None:
        raise Beside(_("Several things are to do at this tunnel. Say on the storm sheet which of them was meant."))
    return next(iter(wanted or tasks), None)


@contextmanager
def at_task(deed: Deed, task: StormTask, *, changes: bool = True) -> Iterator[None]:
    """Say something of a task; the same said once more by the same person is no disagreement."""
    deed.task = task
    if task.storm.state in PAST:
        raise Beside(_("This storm is closed. What was noted is kept, and its sheet stays as it was."))
    try:
        yield
    except TickError:
        task.refresh_from_db()
        if changes and task.state == State.DONE and task.done_by_id == deed.user.pk and deed.entry.kind == "secured":
            return
        raise
    if changes:
        deed.storms[task.storm_id] = task.storm
