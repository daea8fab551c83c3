"""Messages that cannot wait: a danger, and what somebody could not do."""

from __future__ import annotations

from collections.abc import Callable

from django.urls import reverse
from django.utils.translation import gettext as _

from farm.models import Membership
from maintenance.field.deeds import Deed
from maintenance.messages.contacts import addressees, reading_as
from maintenance.messages.outbox import LONGEST_SUBJECT, Notice, write
from maintenance.models import Reminder, Repair
from maintenance.words.places import place_of
from maintenance.words.said import person


def tell_of_danger(deed: Deed, repair: Repair) -> None:
    """Tell the managers of a place to keep out of."""
    path = reverse("repair", args=[deed.farm.slug, repair.pk])

    def words() -> tuple[str, str]:
        said = {"place": place_of(repair), "who": person(deed.by), "what": deed.entry.text or str(repair)}
        return (_("Danger: keep out of %(place)s") % said,
                _("%(who)s says: danger at %(place)s. %(what)s") % said)  # fmt: skip

    _tell(deed, f"danger-{repair.pk}-{deed.row.pk.hex}", path, words)


def tell_of_unread_danger(deed: Deed) -> None:
    """Tell the managers that a danger was reported which could not be understood: somebody has to ask."""
    path = reverse("field-beside", args=[deed.farm.slug])

    def words() -> tuple[str, str]:
        said = {"who": person(deed.by), "what": deed.entry.text}
        return (_("Danger, but it is not clear where"),
                _("%(who)s reports a danger. Ask where it is. %(what)s") % said)  # fmt: skip

    _tell(deed, f"danger-{deed.row.pk.hex}", path, words)


def tell_of_trouble(deed: Deed, reason: str) -> None:
    """Tell the managers that something cannot be done at a place, where no storm has a task of it."""
    path = reverse("opening", args=[deed.farm.slug, deed.opening.pk]) if deed.opening else deed.farm.get_absolute_url()

    def words() -> tuple[str, str]:
        said = {"place": str(deed.place or deed.farm), "who": person(deed.by), "why": reason}
        return (_("%(place)s cannot be done") % said,
                _("%(place)s: %(who)s cannot do it: %(why)s") % said)  # fmt: skip

    _tell(deed, f"cannot-{deed.row.pk.hex}", path, words, is_danger=False)


def _tell(deed: Deed, key: str, path: str, words: Callable[[], tuple[str, str]], *, is_danger: bool = True) -> None:
    """Write to every manager but the one who said it, each in the manager's own language."""
    managers = addressees().filter(farm=deed.farm, role=Membership.Role.MANAGER)
    notices = []
    for manager in managers.exclude(user=deed.by) if deed.by is not None else managers:
        with reading_as(manager):
            subject, body = words()
        notices.append(Notice(
            membership=manager, kind=Reminder.Kind.NOW, key=key, subject=subject[:LONGEST_SUBJECT], body=body,
            path=path, is_danger=is_danger,
        ))  # fmt: skip
    write(notices, now=deed.now)
