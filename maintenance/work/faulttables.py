"""Faults, gusts, and what comes back, as tables; and the columns of faults in files."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date
from typing import Any, Final

import django_tables2 as tables
from django.db.models import BooleanField, Case, Count, IntegerField, OuterRef, Subquery, Value, When
from django.db.models.functions import Coalesce
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _

from doors.exchange.columns import Column
from doors.exchange.kinds import Kind
from doors.tables import NUMERIC, DayColumn, RegisterTable
from farm.units import MISSING, gust_html
from maintenance.models import Job, Photo, Repair
from maintenance.querysets import RepairQuerySet, WindDayQuerySet
from maintenance.words.places import place_code

LOOKS: Final = {"open": "warn", "temporary": "blocked", "done": "pass"}


def repairs_for_table(repairs: RepairQuerySet, repeats: Mapping[int, int]) -> RepairQuerySet:
    """Faults with their place, its code to sort and search by, whether they cannot wait, how often they came back.

    ``repeats`` are the failures within 24 months of those that come back, by fault.
    """
    urgent = Case(When(is_critical=True, state=Repair.State.OPEN, then=Value(True)), default=Value(False),
                  output_field=BooleanField())  # fmt: skip
    by_count: dict[int, list[int]] = defaultdict(list)
    for pk, count in repeats.items():
        by_count[count].append(pk)
    times = Case(*(When(pk__in=pks, then=Value(count)) for count, pks in by_count.items()), default=Value(0),
                 output_field=IntegerField())  # fmt: skip
    pictures = Photo.objects.filter(repair=OuterRef("pk")).order_by().values("repair")
    return repairs.for_list().annotate(
        place_code=Coalesce("opening__code", "tunnel__code"), is_urgent=urgent, times=times,
        pictures=Coalesce(Subquery(pictures.annotate(number=Count("pk")).values("number")), 0),
    )  # fmt: skip


def gusts_for_table(days: WindDayQuerySet) -> WindDayQuerySet:
    """Days with the number of jobs that their gust brought on."""
    jobs = Job.objects.filter(farm=OuterRef("farm"), due_on=OuterRef("on"), plan__routine__trigger="gust")
    counted = jobs.order_by().values("farm").annotate(number=Count("pk")).values("number")
    return days.annotate(brought=Coalesce(Subquery(counted), 0))


class RepairTable(RegisterTable):
    """Faults and what was done about them."""

    fault = tables.Column(verbose_name=_("fault"), accessor="part", order_by=("part", "mode", "pk"))
    place = tables.Column(verbose_name=_("on"), accessor="pk", order_by=("place_code", "spot", "pk"))
    state = tables.Column(verbose_name=_("state"), order_by=("-is_urgent", "-state", "pk"))
    times = tables.Column(verbose_name=_("comes back"), order_by=("-times", "pk"))
    found_on = tables.Column(verbose_name=_("found"), order_by=("found_on", "pk"))
    mended_on = tables.Column(verbose_name=_("repaired"), order_by=("mended_on", "pk"), default=MISSING)
    minutes = tables.Column(verbose_name=_("minutes"), order_by=("minutes", "pk"), attrs=NUMERIC, default=MISSING)
    cost = tables.Column(verbose_name=_("cost of parts"), order_by=("cost", "pk"), attrs=NUMERIC, default=MISSING)
    pictures = tables.Column(verbose_name=_("pictures"), order_by=("-pictures", "pk"), attrs=NUMERIC)
    of = tables.Column(verbose_name=_("belongs to"), accessor="pk", orderable=False)

    class Meta:
        template_name = "farm/table.html"
        empty_text = _("No fault fits. Clear the filter, or report one.")
        order_by = "state"
        per_page = 25

    def render_fault(self, record: Repair) -> SafeString:
        text = f"{capfirst(record.get_part_display())}: {record.get_mode_display()}"
        return self.link("repair", record.pk, text)

    def render_place(self, record: Repair) -> str:
        code = place_code(record)
        return f"{code}, {record.spot}" if record.spot else code

    def render_state(self, record: Repair) -> SafeString:
        return state_html(record)

    def render_found_on(self, record: Repair) -> SafeString:
        return _day_and_person(record.found_on, record.found_by)

    def render_mended_on(self, record: Repair) -> SafeString:
        return _day_and_person(record.mended_on, record.mended_by)

    def render_times(self, value: int) -> SafeString | str:
        if not value:
            return MISSING
        return format_html('<a href="{}">{}</a>', reverse("repeats", args=[self.farm.slug]), f"{value} ×")

    def render_cost(self, value: Any) -> str:
        return f"{value} {self.farm.currency}"

    def render_pictures(self, value: int) -> str:
        return str(value or MISSING)

    def render_of(self, record: Repair) -> SafeString | str:
        """Return the ways to the part in service and to the job that mends it."""
        links = []
        if record.component_id:
            links.append(("component", record.component_id, str(_("part in service"))))
        if record.job_id:
            links.append(("job", record.job_id, str(_("job"))))
        return format_html_join(" ", "{}", ((self.link(page, pk, text),) for page, pk, text in links)) or MISSING


class GustTable(RegisterTable):
    """The highest gust of each day that was recorded."""

    on = DayColumn(verbose_name=_("day"), order_by=("on",))
    gust_m_s = tables.Column(verbose_name=_("highest gust"), order_by=("gust_m_s", "on"), attrs=NUMERIC)
    source = tables.Column(verbose_name=_("known from"), order_by=("source", "on"))
    brought = tables.Column(verbose_name=_("jobs it brought on"), order_by=("brought", "on"), attrs=NUMERIC)
    note = tables.Column(verbose_name=_("note"), order_by=("note", "on"), default=MISSING)

    class Meta:
        template_name = "farm/table.html"
        empty_text = _("No gust is recorded yet. Record the highest gust of a windy day.")
        order_by = "-on"
        per_page = 25

    def render_gust_m_s(self, value: Any) -> SafeString:
        return gust_html(value, self.farm.units)

    def render_brought(self, record: Any) -> SafeString | str:
        if not record.brought:
            return MISSING
        return format_html('<a href="{}">{}</a>', reverse("due", args=[self.farm.slug]), record.brought)


def state_html(repair: Repair) -> SafeString:
    """Return how a fault stands, in a word with a shape; the sharpest for a danger and one that cannot wait."""
    if repair.state != Repair.State.DONE and repair.is_danger:
        return format_html('<span class="verdict verdict-fail">{}</span>', _("danger: keep out"))
    if repair.state == Repair.State.OPEN and repair.is_critical:
        return format_html('<span class="verdict verdict-fail">{}</span>', _("cannot wait"))
    return format_html(
        '<span class="verdict verdict-{}">{}</span>', LOOKS[repair.state], repair.get_state_display()
    )  # fmt: skip


def _day_and_person(day: date | None, name: str) -> SafeString:
    """Return a day, and below it who it was."""
    if day is None:
        return format_html("{}", MISSING)
    return format_html('<span class="nowrap">{}</span> <small>{}</small>', day.isoformat(), name)


REPAIRS: Final = Kind(
    "repairs",
    _("Faults and repairs"),
    (
        Column("tunnel", "tunnel", read=lambda row: row.tunnel.code if row.tunnel else ""),
        Column("place", "place", read=place_code),
        Column("part", "part", read=lambda row: str(row.get_part_display())),
        Column("where_exactly", "spot"),
        Column("how_it_shows", "mode", read=lambda row: str(row.get_mode_display())),
        Column("cause", "cause", read=lambda row: str(row.get_cause_display())),
        Column("cannot_wait", "is_critical", read=lambda row: "yes" if row.is_critical else "no"),
        Column("danger", "is_danger", read=lambda row: "yes" if row.is_danger else "no"),
        Column("state", "state", read=lambda row: str(row.get_state_display())),
        Column("failures_in_24_months", "times", read=lambda row: row.times or ""),
        Column("found_on", "found_on"),
        Column("found_by", "found_by"),
        Column("repaired_on", "mended_on"),
        Column("repaired_by", "mended_by"),
        Column("minutes", "minutes"),
        Column("cost_of_parts", "cost"),
        Column("part_in_service", "component", read=lambda row: str(row.component) if row.component else ""),
        Column("job", "job_id", read=lambda row: row.job_id or ""),
        Column("pictures", "pictures"),
        Column("note", "note"),
    ),
    lambda _farm: {},
)
GUSTS: Final = Kind(
    "gusts",
    _("Gusts"),
    (
        Column("day", "on"),
        Column("highest_gust_m_s", "gust_m_s"),
        Column("known_from", "source", read=lambda row: str(row.get_source_display())),
        Column("note", "note"),
    ),
    lambda _farm: {},
)
