"""The record of a storm as tables: what was known when, who did what, what broke, what it cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from django.db.models import Q, Sum
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from farm.models import Tunnel
from maintenance.aftermath.gusts import Gust, gust_of
from maintenance.aftermath.register import register_of
from maintenance.aftermath.tables import Column, Table
from maintenance.models import Forecast, Photo, Repair, Storm
from maintenance.words.places import place_code
from maintenance.words.said import person
from maintenance.words.storm import STATES, side_text


@dataclass(frozen=True, slots=True)
class EventFile:
    """Everything that is known of a storm; ``tunnel`` where it is narrowed to one."""

    storm: Storm
    tunnel: Tunnel | None
    gust: Gust
    cost: Decimal | None
    tables: Sequence[Table]
    before: Sequence[Photo]
    after: Sequence[Photo]
    forecasts: Sequence[Forecast]


def gather(*, storm: Storm, tunnel: Tunnel | None = None) -> EventFile:
    """Return the record of a storm, or what of it concerns one tunnel."""
    of_tunnel = Q(tunnel=tunnel) if tunnel else Q()
    photos = list(_photos(storm, tunnel))
    repairs = list(_repairs(storm, tunnel))
    looks = list(
        storm.looks.select_related("forecast").defer("forecast__original", "forecast__spells").order_by("at", "pk")
    )
    used = Forecast.objects.filter(pk__in={look.forecast_id for look in looks if look.forecast_id})
    tables = (
        _looks(looks), _tasks(storm, of_tunnel), _film(storm, of_tunnel), _findings(storm, of_tunnel),
        _damage(repairs), _pictures(storm, photos), *register_of(storm, tunnel),
    )  # fmt: skip
    return EventFile(
        storm=storm, tunnel=tunnel, gust=gust_of(storm), tables=tables,
        cost=_total(repairs) if tunnel or storm.cost is None else storm.cost,
        before=[photo for photo in photos if photo.taken_at < storm.begins_at],
        after=[photo for photo in photos if photo.taken_at >= storm.begins_at],
        forecasts=[] if tunnel else list(used.order_by("issued_at", "pk")),
    )  # fmt: skip


def cost_of(storm: Storm) -> Decimal | None:
    """Return what the repairs of a storm cost so far; None where nobody wrote down any cost."""
    total: Decimal | None = Repair.objects.filter(_of(storm)).aggregate(total=Sum("cost"))["total"]
    return total


# What was known and done ----------------------------------------------------------

LOOKS: Final = (
    Column("at", _("at"), "time"), Column("what_changed", _("what changed")), Column("level", _("level"), "number"),
    Column("peak_at", _("peak at"), "time"), Column("highest_gust_m_s", _("highest gust"), "gust"),
    Column("be_done_by", _("be done by"), "time"), Column("start_by", _("start by"), "time"),
    Column("person_minutes_left", _("person-minutes left"), "number"), Column("people", _("people"), "number"),
    Column("forecast", _("forecast")), Column("forecast_issued_at", _("forecast issued at"), "time"),
)  # fmt: skip


def _looks(looks: Sequence[Any]) -> Table:
    rows = [
        (
            look.at, _changed(look.what), look.level, look.peak_at, look.peak_gust_m_s, look.deadline_at,
            look.start_by_at, look.open_minutes, look.people, look.forecast.source if look.forecast else "",
            look.forecast.issued_at if look.forecast else None,
        )
        for look in looks
    ]  # fmt: skip
    return Table("looks", _("What was known, and when"), LOOKS, rows)


def _changed(what: str) -> str:
    return ", ".join(str(STATES.get(key, key)) for key in what.split(","))


TASKS: Final = (
    Column("where", _("where")), Column("what", _("what")), Column("side", _("side")), Column("state", _("state")),
    Column("at", _("at"), "time"), Column("done_by", _("by")), Column("assigned_to", _("given to")),
    Column("second_person", _("with")), Column("why_not", _("why not")),
    Column("checked_by", _("looked at by a second person")), Column("checked_at", _("looked at at"), "time"),
    Column("minutes_planned", _("minutes planned"), "number"), Column("minutes_taken", _("minutes taken"), "number"),
)  # fmt: skip


def _tasks(storm: Storm, narrowed: Q) -> Table:
    rows = [
        (
            _where(task), task.get_kind_display(), _side(task), task.get_state_display(), task.done_at,
            _who(task.done_by), _who(task.assigned_to), _who(task.second), task.reason, _who(task.checked_by),
            task.checked_at, task.minutes, task.minutes_spent,
        )
        for task in storm.tasks.for_list().filter(narrowed)
    ]  # fmt: skip
    return Table("tasks", _("What was done before it"), TASKS, rows)


def _side(task: Any) -> str:
    return side_text(task.side, task.tunnel.axis_bearing_deg) if task.side else ""


FILM: Final = (
    Column("tunnel", _("tunnel")), Column("decision", _("decision")), Column("at", _("at"), "time"),
    Column("by", _("by")), Column("insurer_told_before", _("insurer told before")), Column("note", _("note")),
)  # fmt: skip


def _film(storm: Storm, narrowed: Q) -> Table:
    rows = [
        (
            row.tunnel.code, row.get_choice_display(), row.at, _who(row.by), _yes(row.insurer_told), row.note
        )
        for row in storm.film_decisions.filter(narrowed).select_related("tunnel", "by").order_by("at", "pk")
    ]  # fmt: skip
    return Table("film_decisions", _("What was decided about film"), FILM, rows)


# What it did ----------------------------------------------------------------------

FINDINGS: Final = (
    Column("order", _("order"), "number"), Column("where", _("where")), Column("outcome", _("outcome")),
    Column("at", _("at"), "time"), Column("by", _("by")), Column("gust_seen_m_s", _("gust as seen"), "gust"),
    Column("gust_there_m_s", _("gust there, about"), "gust"), Column("forecast_only", _("forecast only")),
    Column("stands_m_s", _("stands, about"), "gust"), Column("note", _("note")),
)  # fmt: skip


def _findings(storm: Storm, narrowed: Q) -> Table:
    rows = [
        (
            row.rank, _where(row), row.get_outcome_display() or _("not looked at"), row.at, _who(row.by),
            row.gust_seen_m_s, _speed(row.facts.get("gust")), _yes(row.facts.get("is_forecast", True)),
            _speed(row.facts.get("limit")), row.note,
        )
        for row in storm.findings.filter(narrowed).select_related("tunnel", "opening", "by").order_by("rank", "pk")
    ]  # fmt: skip
    return Table("findings", _("What was found after it"), FINDINGS, rows)


REPAIRS: Final = (
    Column("where", _("where")), Column("part", _("part")), Column("where_exactly", _("where exactly")),
    Column("how_it_shows", _("how it shows")), Column("cannot_wait", _("cannot wait")),
    Column("found_on", _("found on"), "day"), Column("found_by", _("found by")), Column("state", _("state")),
    Column("repaired_on", _("repaired on"), "day"), Column("repaired_by", _("repaired by")),
    Column("person_minutes", _("person-minutes"), "number"), Column("cost_of_parts", _("cost of parts"), "money"),
    Column("note", _("note")),
)  # fmt: skip


def _damage(repairs: Sequence[Repair]) -> Table:
    rows = [
        (
            place_code(row), row.get_part_display(), row.spot, row.get_mode_display(), _yes(row.is_critical),
            row.found_on, row.found_by, row.get_state_display(), row.mended_on, row.mended_by, row.minutes, row.cost,
            row.note,
        )
        for row in repairs
    ]  # fmt: skip
    return Table("repairs", _("Damage, repairs and their cost"), REPAIRS, rows)


PICTURES: Final = (
    Column("file", _("file")), Column("taken_at", _("taken at"), "time"), Column("when", _("before or after")),
    Column("where", _("where")), Column("caption", _("caption")), Column("by", _("by")),
    Column("sha256", "SHA-256", "sum"),
)  # fmt: skip


def photo_name(photo: Photo) -> str:
    """Return the name of a picture in the files."""
    return f"photos/{photo.pk}.jpg"


def _pictures(storm: Storm, photos: Sequence[Photo]) -> Table:
    rows = [
        (
            photo_name(row), row.taken_at, _("before") if row.taken_at < storm.begins_at else _("after"),
            _photo_place(row), row.caption, _who(row.by), row.sha256,
        )
        for row in photos
    ]  # fmt: skip
    return Table("photos", _("Pictures"), PICTURES, rows)


def _photo_place(photo: Photo) -> str:
    for row in (photo.finding, photo.task):
        if row is not None:
            return _where(row)
    return place_code(photo.repair) if photo.repair else ""


def _photos(storm: Storm, tunnel: Tunnel | None) -> Any:
    rows = Photo.objects.filter(farm=storm.farm, storm=storm).select_related(
        "by", "finding__tunnel", "finding__opening", "task__tunnel", "task__opening", "repair__tunnel",
        "repair__end_wall__tunnel", "repair__opening",
    )  # fmt: skip
    if tunnel:
        rows = rows.filter(Q(finding__tunnel=tunnel) | Q(task__tunnel=tunnel) | Q(repair__tunnel=tunnel))
    return rows.order_by("taken_at", "pk")


def _of(storm: Storm) -> Q:
    """Return the condition for the faults that a storm's inspection logged, and those put right before it."""
    found = storm.findings.exclude(repair=None).values("repair")
    before = storm.tasks.exclude(repair=None).values("repair")
    return Q(farm=storm.farm_id) & (Q(pk__in=found) | Q(pk__in=before))


def _repairs(storm: Storm, tunnel: Tunnel | None) -> Any:
    rows = Repair.objects.filter(_of(storm)).for_list().order_by("found_on", "pk")
    return rows.filter(tunnel=tunnel) if tunnel else rows


def _where(row: Any) -> str:
    return str(row.opening.code if row.opening else row.tunnel.code)


def _who(user: Any) -> str:
    return person(user) if user else ""


def _yes(is_so: bool) -> str | Promise:
    return _("yes") if is_so else _("no")


def _speed(value: float | None) -> Decimal | None:
    return None if value is None else Decimal(repr(round(value, 2)))


def _total(repairs: Sequence[Repair]) -> Decimal | None:
    known = [repair.cost for repair in repairs if repair.cost is not None]
    return sum(known, Decimal()) if known else None
