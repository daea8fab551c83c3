"""The lists of the store: what lies there and is wanted, and every move of a material; and their columns in files."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.text import capfirst
from django.utils.translation import gettext as __
from django.utils.translation import gettext_lazy as _

from doors.exchange.columns import Column
from doors.exchange.kinds import Kind
from doors.models import StockMove
from doors.tables import NUMERIC, DayColumn, RegisterTable
from farm.formfields import plain
from farm.units import MISSING
from maintenance.stores.store import Need
from maintenance.words.said import person


class NeedTable(RegisterTable):
    """Materials with what lies in store and what is wanted."""

    code = tables.Column(verbose_name=_("code"), accessor="material__code", order_by="material__code")
    name = tables.Column(
        verbose_name=_("name"), accessor="material__name", order_by=("material__name", "material__code")
    )
    lies = tables.Column(verbose_name=_("lies there"), order_by=("lies", "material__code"), attrs=NUMERIC)
    least = tables.Column(
        verbose_name=_("at least"), accessor="material__least_stock", orderable=False, attrs=NUMERIC, default=MISSING
    )
    due = tables.Column(verbose_name=_("open jobs take"), order_by=("due", "material__code"), attrs=NUMERIC)
    failed = tables.Column(verbose_name=_("failed in a year"), order_by=("failed", "material__code"), attrs=NUMERIC)
    to_buy = tables.Column(verbose_name=_("to buy"), order_by=("-to_buy", "material__code"), attrs=NUMERIC)

    class Meta:
        template_name = "farm/table.html"
        empty_text = _("Nothing is lacking.")
        order_by = "code"
        per_page = 50

    def render_code(self, record: Need) -> SafeString:
        return self.link("store-material", record.material.pk, record.material.code)

    def render_lies(self, record: Need) -> SafeString | str:
        if record.lies < 0:
            return format_html('<span class="verdict verdict-blocked">{} {}</span>', plain(record.lies), __("count it"))
        if record.is_short:
            return format_html('<span class="verdict verdict-warn">{} {}</span>', plain(record.lies), __("too few"))
        return plain(record.lies)

    def render_least(self, value: Decimal) -> str:
        return plain(value)

    def render_due(self, value: Decimal) -> str:
        return plain(value) if value else MISSING

    def render_failed(self, value: Decimal) -> str:
        return plain(value) if value else MISSING

    def render_to_buy(self, value: Decimal) -> SafeString | str:
        return format_html("<strong>{}</strong>", plain(value)) if value else MISSING


class MoveTable(RegisterTable):
    """What came into the store and left it."""

    on = DayColumn(verbose_name=_("on"), order_by=("on", "pk"))
    quantity = tables.Column(verbose_name=_("quantity"), order_by=("quantity", "pk"), attrs=NUMERIC)
    reason = tables.Column(verbose_name=_("why"), order_by=("reason", "pk"))
    component = tables.Column(verbose_name=_("part"), orderable=False, default=MISSING)
    by = tables.Column(verbose_name=_("written down by"), orderable=False, default=MISSING)
    note = tables.Column(verbose_name=_("note"), orderable=False, default=MISSING)

    class Meta:
        template_name = "farm/table.html"
        empty_text = _("Nothing has come or gone yet.")
        order_by = "-on"
        per_page = 25

    def render_quantity(self, value: Decimal) -> str:
        return signed(value)

    def render_reason(self, record: StockMove) -> str:
        return capfirst(str(record.get_reason_display()))

    def render_component(self, record: StockMove) -> SafeString:
        part = record.component
        assert part is not None  # noqa: S101 - the library asks only where there is one
        return self.link("component", part.pk, capfirst(str(part)))

    def render_by(self, value: Any) -> str:
        return person(value)


def signed(quantity: Decimal) -> str:
    """Return a move with its sign; a minus that no line is broken after."""
    return f"+{plain(quantity)}" if quantity > 0 else f"−{plain(-quantity)}"


STORE = Kind(
    "store",
    _("Store"),
    (
        Column("code", read=lambda need: need.material.code),
        Column("name", read=lambda need: need.material.name),
        Column("lies_there", "lies"),
        Column("at_least", read=lambda need: need.material.least_stock),
        Column("open_jobs_take", "due"),
        Column("failed_in_a_year", "failed"),
        Column("to_buy", "to_buy"),
        Column("weeks_to_deliver", read=lambda need: need.material.lead_weeks),
    ),
    lambda _farm: {},
)

MOVES = Kind(
    "store-moves",
    _("Moves of the store"),
    (
        Column("on", "on"),
        Column("material", read=lambda move: move.material.code),
        Column("quantity", "quantity"),
        Column("why", read=lambda move: str(move.get_reason_display())),
        Column("part", read=lambda move: str(move.component) if move.component else None),
        Column("written_down_by", read=lambda move: person(move.by) if move.by else None),
        Column("note", "note"),
    ),
    lambda _farm: {},
)
