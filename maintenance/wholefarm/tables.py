"""What goes along with a farm: a table for each model that hangs on it, and what stays behind and why."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from django.contrib.auth.models import User
from django.db import models
from django.db.models import Case, CharField, Exists, F, OuterRef, Q, QuerySet, Value, When

from doors import models as doors
from farm import models as farm
from maintenance import models as upkeep

Rows = QuerySet[Any]
FORM: Final = 1  # of the file; a number higher wherever an older file can no longer be read


@dataclass(frozen=True, slots=True)
class Table:
    """One file of rows: of which model, how these hang on their farm, and the columns that stay behind.

    ``columns`` names the only ones that go along; ``rows`` finds them where the path is not enough.
    """

    name: str
    model: type[models.Model]
    path: str = "farm"
    left_out: frozenset[str] = frozenset()
    columns: tuple[str, ...] = ()
    rows: Callable[[int, str], Rows] | None = None

    @property
    def fields(self) -> list[models.Field[Any, Any]]:
        """The columns of the file, without the number of the row."""
        every: list[Any] = list(self.model._meta.concrete_fields)
        if self.columns:
            return [field for field in every if field.name in self.columns]
        behind = {"farm", *self.left_out}
        return [field for field in every if field.name not in behind and not (field.primary_key and _is_counted(field))]

    @property
    def is_counted(self) -> bool:
        """Whether the database numbers the rows."""
        return _is_counted(self.model._meta.pk)

    def of(self, farm_id: int, using: str) -> Rows:
        """Return a farm's rows, in the order of the file."""
        found = self.rows(farm_id, using) if self.rows else self._hanging(farm_id, using)
        return found.order_by("pk")

    def _hanging(self, farm_id: int, using: str) -> Rows:
        return self.model._base_manager.using(using).filter(**{self.path: farm_id})


def _is_counted(field: Any) -> bool:
    return isinstance(field, models.AutoField)


def _farm(farm_id: int, using: str) -> Rows:
    return farm.Farm.objects.using(using).filter(pk=farm_id)


def _people(farm_id: int, using: str) -> Rows:
    """Return the members, and whoever else is named in a row; only of members the e-mail address goes along."""
    members = farm.Membership.objects.using(using).filter(farm=farm_id).values("user")
    named = {
        pk
        for table in TABLES[2:]
        for field in table.fields
        if field.related_model is User
        for pk in table.of(farm_id, using).order_by().values_list(field.attname, flat=True).distinct()
    }
    email = Case(When(pk__in=members, then=F("email")), default=Value(""), output_field=CharField())
    return User.objects.using(using).filter(pk__in=named - {None}).annotate(email_of_member=email)


def _forecasts(farm_id: int, using: str) -> Rows:
    """Return the forecasts typed in, and those of a service that a decision went by; each issue once."""
    looks = upkeep.StormLook.objects.using(using).filter(storm__farm=farm_id).values("forecast")
    ours = upkeep.Forecast.objects.using(using).filter(Q(farm=farm_id) | Q(pk__in=looks))
    same = ours.filter(source=OuterRef("source"), issued_at=OuterRef("issued_at"), pk__lt=OuterRef("pk"))
    return ours.exclude(Exists(same))


PEOPLE: Final = ("username", "first_name", "last_name", "email", "is_active")
TABLES: Final = (
    Table("farm", farm.Farm, rows=_farm),
    Table("people", User, columns=PEOPLE, rows=_people),
    Table("memberships", farm.Membership),
    Table("tunnels", farm.Tunnel),
    Table("end_walls", farm.EndWall),
    Table("openings", farm.Opening),
    Table("materials", doors.Material),
    Table("sizing_rules", doors.SizingRules),
    Table("sizings", doors.Sizing),
    Table("doors", doors.Door),
    Table("components", doors.Component),
    Table("lay_ups", doors.LayUp, "component__farm"),
    Table("stock_moves", doors.StockMove),
    Table("routines", upkeep.Routine),
    Table("routine_order", upkeep.Routine.waits_for.through, "from_routine__farm"),
    Table("plans", upkeep.Plan),
    Table("turns", upkeep.Turn, "plan__farm"),
    Table("plan_rounds", upkeep.PlanRound),
    Table("jobs", upkeep.Job),
    Table("job_order", upkeep.Job.waits_for.through, "from_job__farm"),
    Table("job_events", upkeep.JobEvent, "job__farm"),
    Table("job_parts", upkeep.JobPart, "job__farm"),
    Table("repairs", upkeep.Repair),
    Table("near_misses", upkeep.NearMiss),
    Table("screw_checks", upkeep.ScrewCheck),
    Table("wind_days", upkeep.WindDay),
    Table("sun_days", upkeep.SunDay),
    Table("climate", upkeep.Climate),
    Table("door_uses", upkeep.DoorUse),
    Table("weather_source", upkeep.WeatherSource, left_out=frozenset({"cell", "anemometer_hash", "error"})),
    Table("forecasts", upkeep.Forecast, left_out=frozenset({"cell"}), rows=_forecasts),
    Table("weather_alerts", upkeep.WeatherAlert),
    Table("wind_readings", upkeep.WindReading),
    Table("work_hours", upkeep.WorkHours),
    Table("storm_rules", upkeep.StormRules),
    Table("tunnel_factors", upkeep.TunnelFactor, "tunnel__farm"),
    Table("storms", upkeep.Storm),
    Table("storm_looks", upkeep.StormLook, "storm__farm"),
    Table("storm_people", upkeep.StormPerson, "storm__farm"),
    Table("storm_tasks", upkeep.StormTask, "storm__farm"),
    Table("film_decisions", upkeep.FilmDecision, "storm__farm"),
    Table("storm_findings", upkeep.StormFinding, "storm__farm"),
    Table("reopenings", upkeep.Reopening, "storm__farm"),
    Table("field_entries", upkeep.FieldEntry, left_out=frozenset({"phone"})),
    Table("photos", upkeep.Photo),
    Table("voice_notes", upkeep.VoiceNote),
    Table("labels", upkeep.Label),
    Table("contacts", upkeep.Contact, "membership__farm"),
)
BY_MODEL: Final = {table.model: table for table in TABLES}
# Models that hang on a farm and stay behind, each with the reason; the file says the same.
LEFT_OUT: Final = {
    farm.CrewKey: "Codes and squares of the crew are secrets. Make new ones.",
    farm.KnownPhone: "What makes a phone known is a secret. Each phone signs in again.",
    upkeep.PushSubscription: "Alerts hang on this server's key. Each phone turns them on again.",
    upkeep.CalendarFeed: "Addresses of calendars are secrets. Make new ones.",
    upkeep.Reminder: "Messages are sent by the server that wrote them, and by no other again.",
    doors.ImportDraft: "Tables that somebody was about to import; choose the file again.",
    upkeep.ClosingLine: "Worked out anew from the structures.",
    upkeep.StormRound: "Worked out anew from structures and forecasts.",
}
# Columns that stay behind, by table and name.
COLUMNS_LEFT_OUT: Final = {
    "people.password": "Passwords stay on their server. Whoever runs the new one gives new ones.",
    "weather_source.anemometer_hash": "The key of the anemometer is a secret. Make a new one.",
    "weather_source.cell": "The place is looked up anew at the weather service.",
    "weather_source.error": "An error of the server that asked last.",
    "forecasts.cell": "A service's forecast that a decision went by becomes the farm's own.",
    "field_entries.phone": "Which phone it was: phones stay behind.",
}
