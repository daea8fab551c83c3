"""Routines, the plans they make at each place, and the jobs that fall due."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from doors.models import Component, StockMove
from farm.models import EndWall, Farm, Opening, Tunnel
from maintenance.querysets import JobQuerySet, PlanQuerySet, RoutineQuerySet, TurnQuerySet


class Routine(models.Model):
    """A rule of upkeep as data: what is done, where, what brings it on, and what it takes.

    Words are kept by language: ``{"en": ..., "es": ...}``; lists of words the same way.
    """

    class Rhythm(models.TextChoices):
        """Three lists that are never mixed."""

        DAILY = "daily", _("daily round")
        EVENT = "event", _("after weather")
        CYCLE = "cycle", _("by date or age")

    class Target(models.TextChoices):
        FARM = "farm", _("the farm as a whole")
        TUNNEL = "tunnel", _("each tunnel")
        END_WALL = "end_wall", _("each end wall")
        OPENING = "opening", _("each opening")
        COMPONENT = "component", _("each part")

    class Trigger(models.TextChoices):
        AGE = "age", _("age of the part")
        DOSE = "dose", _("sunlight the part has taken")
        SEASON = "season", _("season of the year")
        CALENDAR = "calendar", _("day of the week or month")
        FITTED = "fitted", _("days after fitting")
        DONE = "done", _("days after it was last done")
        GUST = "gust", _("a gust")
        STORMS = "storms", _("number of storms")
        CYCLES = "cycles", _("number of openings and closings")
        CONDITION = "condition", _("something found")

    class Season(models.TextChoices):
        SPRING = "spring", _("spring")
        SUMMER = "summer", _("summer")
        AUTUMN = "autumn", _("autumn")
        WINTER = "winter", _("winter")

    class Answer(models.TextChoices):
        """What the person who did it is asked."""

        DONE = "done", _("done")
        SCREWS = "screws", _("each screw: tight, turned, spun or missing")
        REPLACED = "replaced", _("the new part")

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="routines")
    code = models.SlugField(_("code"), max_length=60)
    name = models.JSONField(_("name"))
    why = models.JSONField(_("why"), default=dict, blank=True)
    rhythm = models.CharField(_("rhythm"), max_length=8, choices=Rhythm, default=Rhythm.CYCLE)
    is_active = models.BooleanField(_("in use"), default=True)
    # where
    target = models.CharField(_("where"), max_length=12, choices=Target)
    kinds = models.JSONField(_("only these kinds"), default=list, blank=True)
    needs = models.JSONField(_("only places that have"), default=list, blank=True)
    # what brings it on
    trigger = models.CharField(_("brought on by"), max_length=12, choices=Trigger)
    season = models.CharField(_("season"), max_length=8, choices=Season, blank=True)
    offset_days = models.SmallIntegerField(_("days after the season begins"), default=0)
    every_years = models.PositiveSmallIntegerField(_("every so many years"), default=1)
    rule = models.CharField(_("calendar rule"), max_length=120, blank=True)  # RRULE of RFC 5545
    after_days = models.PositiveIntegerField(_("after days"), null=True, blank=True)
    gust_m_s = models.DecimalField(_("gust above"), max_digits=5, decimal_places=2, null=True, blank=True)
    after_count = models.PositiveIntegerField(_("after so many"), null=True, blank=True)
    window_days = models.PositiveIntegerField(_("may take days"), default=14)
    # what it takes
    minutes = models.PositiveIntegerField(_("minutes"), default=15)
    crew = models.PositiveSmallIntegerField(_("people"), default=1)
    tools = models.JSONField(_("tools"), default=dict, blank=True)
    parts = models.JSONField(_("parts"), default=list, blank=True)
    checklist = models.JSONField(_("checklist"), default=dict, blank=True)
    answer = models.CharField(_("answer asked"), max_length=8, choices=Answer, default=Answer.DONE)
    needs_dry = models.BooleanField(_("only when dry"), default=False)
    needs_daylight = models.BooleanField(_("only in daylight"), default=False)
    most_gust_m_s = models.DecimalField(_("only in gusts below"), max_digits=5, decimal_places=2, null=True, blank=True)
    least_temperature_k = models.DecimalField(
        _("only when warmer than"), max_digits=5, decimal_places=2, null=True, blank=True
    )
    waits_for = models.ManyToManyField("self", symmetrical=False, blank=True, related_name="comes_before")
    is_urgent = models.BooleanField(_("cannot wait for the morning's list"), default=False)
    source = models.CharField(_("where the rule comes from"), max_length=200, blank=True)

    objects = RoutineQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["farm", "code"], name="routine_code_once_per_farm"),
            models.CheckConstraint(condition=~Q(trigger="season") | ~Q(season=""), name="routine_season_is_named"),
            models.CheckConstraint(condition=~Q(trigger="calendar") | ~Q(rule=""), name="routine_calendar_has_rule"),
            models.CheckConstraint(
                condition=~Q(trigger__in=["fitted", "done"]) | Q(after_days__isnull=False),
                name="routine_days_are_given",
            ),
            models.CheckConstraint(
                condition=~Q(trigger__in=["storms", "cycles"]) | Q(after_count__gt=0), name="routine_count_is_given"
            ),
            models.CheckConstraint(condition=~Q(trigger="gust") | Q(gust_m_s__gt=0), name="routine_gust_is_given"),
            models.CheckConstraint(condition=Q(every_years__gte=1), name="routine_every_years_positive"),
        ]

    def __str__(self) -> str:
        return self.code

    def get_absolute_url(self) -> str:
        return reverse("routine", args=[self.farm.slug, self.pk])


class Plan(models.Model):
    """A routine at one place.

    ``tunnel`` is set for every place below a tunnel; the narrower place beside it says where exactly.
    """

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="plans")
    routine = models.ForeignKey(Routine, models.CASCADE, related_name="plans")
    key = models.CharField(max_length=60)  # the place, such as "opening-12", or a repair's own; once per routine
    tunnel = models.ForeignKey(Tunnel, models.CASCADE, null=True, blank=True, related_name="plans")
    end_wall = models.ForeignKey(EndWall, models.CASCADE, null=True, blank=True, related_name="plans")
    opening = models.ForeignKey(Opening, models.CASCADE, null=True, blank=True, related_name="plans")
    component = models.ForeignKey(Component, models.CASCADE, null=True, blank=True, related_name="plans")
    what = models.CharField(_("what"), max_length=200, blank=True)  # in place of the routine's name
    counted_from = models.DateField(_("counted from"))  # storms and cycles since this day bring it on
    ended_on = models.DateField(_("ended on"), null=True, blank=True)

    objects = PlanQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["routine", "key"], name="plan_once_per_place")]

    def __str__(self) -> str:
        return f"{self.routine_id} {self.key}"


class Turn(models.Model):
    """The next job of a plan; a plan without one waits for something to happen, or for the job it has.

    A table of its own and a narrow one: the nights move on every plan that was due.
    """

    plan = models.OneToOneField(Plan, models.CASCADE, primary_key=True, related_name="turn")
    due_on = models.DateField(_("next due on"), db_index=True)
    until_on = models.DateField(_("at the latest on"))
    cause = models.JSONField(_("what brings it on"), default=dict, blank=True)
    cadence = models.CharField(max_length=160, blank=True)  # how it recurs by itself: see maintenance/plans/cadence.py

    objects = TurnQuerySet.as_manager()

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(until_on__gte=F("due_on")), name="turn_until_after_due")]

    def __str__(self) -> str:
        return f"{self.plan_id} due {self.due_on}"


class PlanRound(models.Model):
    """When a farm's plans were last laid."""

    farm = models.OneToOneField(Farm, models.CASCADE, related_name="plan_round")
    laid_at = models.DateTimeField(_("plans laid at"))

    objects = models.Manager()

    def __str__(self) -> str:
        return f"plans of {self.farm_id} laid {self.laid_at:%Y-%m-%d %H:%M}"


class Job(models.Model):
    """A piece of work that fell due: opened once for its plan and day."""

    class State(models.TextChoices):
        OPEN = "open", _("to do")
        STARTED = "started", _("begun")
        DONE = "done", _("done")
        SKIPPED = "skipped", _("skipped")
        LAPSED = "lapsed", _("not done in time")

    # The unique pair and the index below begin with these two.
    farm = models.ForeignKey(Farm, models.CASCADE, related_name="jobs", db_index=False)
    plan = models.ForeignKey(Plan, models.CASCADE, related_name="jobs", db_index=False)
    due_on = models.DateField(_("due on"))
    until_on = models.DateField(_("at the latest on"))
    cause = models.JSONField(_("what brought it on"), default=dict, blank=True)
    state = models.CharField(_("state"), max_length=8, choices=State, default=State.OPEN)
    assigned_to = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="jobs"
    )
    waits_for = models.ManyToManyField("self", symmetrical=False, blank=True, related_name="holds_up")
    opened_at = models.DateTimeField(_("opened at"))
    ended_on = models.DateField(_("ended on"), null=True, blank=True)
    minutes_spent = models.PositiveIntegerField(_("minutes spent"), null=True, blank=True)
    ticks = models.JSONField(_("checklist"), default=list, blank=True)  # the numbers of the lines ticked
    note = models.TextField(_("note"), blank=True)

    objects = JobQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["plan", "due_on"], name="job_once_per_plan_and_day"),
            models.CheckConstraint(
                condition=Q(state__in=["open", "started"], ended_on__isnull=True)
                | Q(state__in=["done", "skipped", "lapsed"], ended_on__isnull=False),
                name="job_ended_has_day",
            ),
        ]
        indexes = [models.Index(fields=["farm", "state", "until_on"], name="job_open_on_farm")]

    def __str__(self) -> str:
        return f"{self.plan_id} {self.due_on}"

    def get_absolute_url(self) -> str:
        return reverse("job", args=[self.farm.slug, self.pk])


class JobEvent(models.Model):
    """What somebody did with a job and when; never changed. ``facts`` holds what an undo needs."""

    class Kind(models.TextChoices):
        ASSIGNED = "assigned", _("assigned")
        STARTED = "started", _("begun")
        DONE = "done", _("done")
        SKIPPED = "skipped", _("skipped")
        UNDONE = "undone", _("taken back")
        MOVED = "moved", _("put off")

    job = models.ForeignKey(Job, models.CASCADE, related_name="events")
    kind = models.CharField(_("what"), max_length=10, choices=Kind)
    at = models.DateTimeField(_("at"))
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+")
    note = models.TextField(_("note"), blank=True)
    facts = models.JSONField(default=dict, blank=True)

    objects = models.Manager()

    def __str__(self) -> str:
        return f"{self.job_id} {self.kind}"


class JobPart(models.Model):
    """A part that a job used, with the move that took it out of the store."""

    job = models.ForeignKey(Job, models.CASCADE, related_name="parts")
    move = models.OneToOneField(StockMove, models.CASCADE, related_name="+")

    objects = models.Manager()

    def __str__(self) -> str:
        return f"{self.job_id} {self.move_id}"
