"""Questions about routines, plans, jobs, faults, weather and messages; every one starts from a farm."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING, Self

from django.db.models import Exists, OuterRef, Q, QuerySet

from farm.querysets import FarmRowQuerySet

if TYPE_CHECKING:
    from farm.models import Farm
    from maintenance.models import (
        Forecast,
        Job,
        Plan,
        Reminder,
        Repair,
        Routine,
        ScrewCheck,
        Storm,
        StormTask,
        SunDay,
        Turn,
        WindDay,
    )

UNDONE = ("open", "started")


class RoutineQuerySet(FarmRowQuerySet["Routine"]):
    def in_use(self) -> Self:
        """Routines that still make plans."""
        return self.filter(is_active=True)

    def for_list(self) -> Self:
        """Routines by rhythm and code."""
        return self.order_by("rhythm", "code")


class PlanQuerySet(FarmRowQuerySet["Plan"]):
    def running(self) -> Self:
        """Plans that have not ended."""
        return self.filter(ended_on=None)

    def waiting(self, routine: Routine) -> Self:
        """Running plans of a routine with neither a next job nor one to do."""
        from maintenance.models import Job

        undone = Job.objects.undone().filter(plan=OuterRef("pk"))
        return self.filter(~Exists(undone), routine=routine, ended_on=None, turn=None)


class TurnQuerySet(QuerySet["Turn"]):
    def of(self, farm: Farm) -> Self:
        """The next jobs of a farm's plans."""
        return self.filter(plan__farm=farm)

    def due(self, on: date) -> Self:
        """The next jobs that are due by a day."""
        return self.filter(due_on__lte=on)


class JobQuerySet(FarmRowQuerySet["Job"]):
    def undone(self) -> Self:
        """Jobs that are open or begun."""
        return self.filter(state__in=UNDONE)

    def late(self, on: date) -> Self:
        """Undone jobs whose last day has passed."""
        return self.undone().filter(until_on__lt=on)

    def with_hold(self) -> Self:
        """Jobs that say in ``is_held`` whether one that comes before them is undone."""
        from maintenance.models import Job

        before = Job.objects.undone().filter(holds_up=OuterRef("pk"))
        return self.annotate(is_held=Exists(before))

    def for_list(self) -> Self:
        """Jobs with all that a list row prints: routine, place, part, fault, person, whether they wait."""
        return self.with_hold().select_related(
            "assigned_to", "plan__routine", "plan__tunnel", "plan__end_wall__tunnel", "plan__opening__end_wall__tunnel",
            "plan__component__material", "plan__component__opening", "plan__component__end_wall__tunnel",
            "plan__component__tunnel", "repair",
        )  # fmt: skip


class RepairQuerySet(FarmRowQuerySet["Repair"]):
    def unmended(self) -> Self:
        """Faults that are open, or hold for now."""
        return self.exclude(state="done")

    def for_list(self) -> Self:
        """Repairs with the place and part a list row prints."""
        return self.select_related("tunnel", "end_wall__tunnel", "opening__end_wall__tunnel", "component", "job")


class ScrewCheckQuerySet(FarmRowQuerySet["ScrewCheck"]):
    def bad(self) -> Self:
        """Checks that found a screw spun or missing."""
        return self.filter(outcome__in=("spun", "missing"))


class WindDayQuerySet(FarmRowQuerySet["WindDay"]):
    def of_at_least(self, gust_m_s: float) -> Self:
        """Days with a gust of at least so much."""
        return self.filter(gust_m_s__gte=gust_m_s).order_by("on")


class SunDayQuerySet(FarmRowQuerySet["SunDay"]):
    def between(self, start: date, end: date) -> Self:
        """Measured days from ``start`` up to, but excluding, ``end``."""
        return self.filter(on__gte=start, on__lt=end).order_by("on")


class ForecastQuerySet(FarmRowQuerySet["Forecast"]):
    def latest_first(self) -> Self:
        """Forecasts, the last issued on top."""
        return self.order_by("-issued_at", "-fetched_at")


class StormQuerySet(FarmRowQuerySet["Storm"]):
    def ahead(self) -> Self:
        """The storm that comes or blows; a farm has one at a time."""
        return self.filter(state__in=("coming", "blowing"))

    def newest_first(self) -> Self:
        """Storms, the last on top."""
        return self.order_by("-begins_at", "-pk")


class StormTaskQuerySet(QuerySet["StormTask"]):
    def for_list(self) -> Self:
        """Tasks in their order with all that a row prints."""
        return self.select_related(
            "tunnel", "opening__end_wall__tunnel", "repair", "assigned_to", "second", "done_by", "checked_by"
        ).order_by("position", "pk")


class ReminderQuerySet(FarmRowQuerySet["Reminder"]):
    def to_send(self, now: datetime, claims_before: datetime) -> Self:
        """Messages whose time has come and that nobody is sending: waiting, or claimed before ``claims_before``."""
        free = Q(state="waiting") | Q(state="sending", claimed_at__lt=claims_before)
        return self.filter(free, not_before__lte=now).order_by("not_before", "pk")
