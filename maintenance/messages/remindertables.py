"""Messages as lists: one's own, and whom the farm reaches."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.text import capfirst
from django.utils.timezone import localtime
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from doors.tables import NUMERIC, RegisterTable
from farm.models import Membership
from farm.units import MISSING
from maintenance.messages.contacts import email_of
from maintenance.models import Reminder
from maintenance.words.said import person


class MomentColumn(tables.Column):  # type: ignore[misc]  # the library is untyped
    """An instant by the farm's clock."""

    attrs = {"td": {"class": "day"}}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"attrs": self.attrs, "default": MISSING, **kwargs})

    def render(self, value: datetime) -> str:
        return f"{localtime(value):%Y-%m-%d %H:%M}"


class MessageTable(RegisterTable):
    """A person's last messages and how they fared."""

    subject = tables.Column(verbose_name=gettext_lazy("message"), orderable=False)
    way = tables.Column(verbose_name=gettext_lazy("way"), orderable=False)
    made_at = MomentColumn(verbose_name=gettext_lazy("written"), orderable=False)
    state = tables.Column(verbose_name=gettext_lazy("state"), orderable=False)
    tries = tables.Column(verbose_name=gettext_lazy("tries"), orderable=False, attrs=NUMERIC)
    error = tables.Column(
        verbose_name=gettext_lazy("last error"), orderable=False, default=MISSING, attrs={"td": {"class": "wide"}}
    )

    class Meta:
        template_name = "farm/table.html"
        empty_text = gettext_lazy("No message was written yet.")
        per_page = 20

    def render_way(self, record: Reminder) -> str:
        if record.subscription is not None and record.subscription.device:
            return record.subscription.device
        return capfirst(record.get_way_display())

    def render_state(self, record: Reminder) -> SafeString | str:
        state = capfirst(record.get_state_display())
        if record.sent_at is not None:
            return f"{state} {localtime(record.sent_at):%Y-%m-%d %H:%M}" + (_("; read") if record.seen_at else "")
        if record.state == Reminder.State.WAITING and record.not_before > record.made_at:
            when = f"{localtime(record.not_before):%Y-%m-%d %H:%M}"
            return _("%(state)s, not before %(when)s") % {"state": state, "when": when}
        return format_html("<strong>{}</strong>", state) if record.state == Reminder.State.FAILED else state

    def render_error(self, value: str) -> str:
        return _(value)  # what we say is translated here; what a server said is as it said it


class MemberTable(RegisterTable):
    """Everybody of the farm: where messages go, and how they fared lately."""

    person = tables.Column(verbose_name=gettext_lazy("person"), empty_values=(), orderable=False)
    role = tables.Column(verbose_name=gettext_lazy("role"), orderable=False)
    address = tables.Column(verbose_name=gettext_lazy("e-mail"), empty_values=(), orderable=False)
    device_count = tables.Column(verbose_name=gettext_lazy("devices"), orderable=False, attrs=NUMERIC)
    written_count = tables.Column(verbose_name=gettext_lazy("written"), orderable=False, attrs=NUMERIC)
    waiting_count = tables.Column(verbose_name=gettext_lazy("waiting"), orderable=False, attrs=NUMERIC)
    failed_count = tables.Column(verbose_name=gettext_lazy("failed"), orderable=False, attrs=NUMERIC)
    last_sent_at = MomentColumn(verbose_name=gettext_lazy("last sent"), orderable=False)
    last_seen_at = MomentColumn(verbose_name=gettext_lazy("last read"), orderable=False)

    class Meta:
        template_name = "farm/table.html"
        per_page = 25

    def render_person(self, record: Membership) -> str:
        return person(record.user)

    def render_role(self, record: Membership) -> str:
        return capfirst(record.get_role_display())

    def render_address(self, record: Membership) -> str:
        return email_of(record) or MISSING
