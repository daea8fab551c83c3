"""The list of routines."""

from __future__ import annotations

from typing import Any

import django_tables2 as tables
from django.utils.safestring import SafeString
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _

from doors.exchange.columns import Column
from doors.exchange.kinds import Kind
from doors.tables import NUMERIC, RegisterTable
from maintenance.models import Routine
from maintenance.words.routines import brought_on, where
from maintenance.words.said import routine_name


class RoutineTable(RegisterTable):
    """Routines of one rhythm."""

    name = tables.Column(verbose_name=_("routine"), accessor="code", order_by="code")
    where = tables.Column(verbose_name=_("where"), accessor="target", order_by=("target", "code"))
    trigger = tables.Column(verbose_name=_("brought on by"), order_by=("trigger", "code"))
    minutes = tables.Column(verbose_name=_("minutes × people"), order_by=("minutes", "code"), attrs=NUMERIC)
    place_count = tables.Column(verbose_name=_("places"), order_by=("place_count", "code"), attrs=NUMERIC)
    is_active = tables.BooleanColumn(verbose_name=_("in use"), order_by=("-is_active", "code"))

    class Meta:
        template_name = "farm/table.html"
        empty_text = _("None of this rhythm.")
        order_by = "code"

    def render_name(self, record: Routine) -> SafeString:
        return self.link("routine", record.pk, capfirst(routine_name(record, self.farm.units)))

    def render_where(self, record: Routine) -> str:
        return capfirst(where(record))

    def render_trigger(self, record: Routine) -> str:
        return brought_on(record, self.farm.units)

    def render_minutes(self, record: Any) -> str:
        return f"{record.minutes} × {record.crew}"


ROUTINES = Kind(
    "routines",
    _("Routines"),
    (
        Column("code", "code"),
        Column("routine", read=lambda row: str(routine_name(row, row.farm.units))),
        Column("list", read=lambda row: str(row.get_rhythm_display())),
        Column("where", read=lambda row: str(where(row))),
        Column("brought_on_by", read=lambda row: str(brought_on(row, row.farm.units))),
        Column("may_take_days", "window_days"),
        Column("minutes", "minutes"),
        Column("people", "crew"),
        Column("places", "place_count"),
        Column("in_use", read=lambda row: "yes" if row.is_active else "no"),
        Column("rule_comes_from", "source"),
    ),
    lambda _farm: {},
)
