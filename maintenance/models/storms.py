"""A storm from its first forecast to the last repair: what was known, who did what, what it did."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from farm.models import Farm, Membership, Opening, Tunnel, not_negative
from maintenance.models.faults import Repair
from maintenance.models.weather import Forecast
from maintenance.querysets import StormQuerySet, StormTaskQuerySet


class StormRules(models.Model):
    """The farm's own storm rules, where they differ from common practice: levels, offsets, clock, minutes, weights."""

    farm = models.OneToOneField(Farm, models.CASCADE, related_name="storm_rules")
    changes = models.JSONField(_("changed rules"), default=dict, blank=True)

    objects = models.Manager()

    def __str__(self) -> str:
        return f"{len(self.changes)} changed"


class TunnelFactor(models.Model):
    """What gusts a tunnel sees against those forecast, learnt from what was seen; 1 until something was."""

    tunnel = models.OneToOneField(Tunnel, models.CASCADE, related_name="gust_factor")
    factor = models.DecimalField(_("gusts seen against forecast"), max_digits=4, decimal_places=2, default=1)
    observations = models.JSONField(_("seen and forecast"), default=list, blank=True)
    learnt_at = models.DateTimeField(_("learnt at"), null=True, blank=True)

    objects = models.Manager()

    def __str__(self) -> str:
        return f"{self.tunnel_id}: {self.factor}"


class Storm(models.Model):
    """One blow: a record that grows with every forecast and every deed, never a second one for the same wind."""

    class State(models.TextChoices):
        COMING = "coming", _("coming")
        BLOWING = "blowing", _("blowing")
        OVER = "over", _("over, to be looked at")
        CLOSED = "closed", _("closed")
        GONE = "gone", _("did not come")

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="storms")
    state = models.CharField(_("state"), max_length=8, choices=State, default=State.COMING)
    opened_at = models.DateTimeField(_("first seen at"))
    begins_at = models.DateTimeField(_("begins"))
    ends_at = models.DateTimeField(_("ends"))
    peak_at = models.DateTimeField(_("peak at"))
    peak_gust_m_s = models.DecimalField(_("highest gust forecast"), max_digits=5, decimal_places=2)
    level = models.PositiveSmallIntegerField(_("level"))
    deadline_at = models.DateTimeField(_("be done by"), null=True, blank=True)
    start_by_at = models.DateTimeField(_("start by"), null=True, blank=True)
    facts = models.JSONField(default=dict, blank=True)  # the last assessment in full: reasons, levels, margins
    assessed_at = models.DateTimeField(_("last worked out at"))
    actual_gust_m_s = models.DecimalField(
        _("highest gust that came"), max_digits=5, decimal_places=2, null=True, blank=True
    )
    cost = models.DecimalField(_("cost of the damage"), max_digits=10, decimal_places=2, null=True, blank=True)
    note = models.TextField(_("what we learnt"), blank=True)
    closed_at = models.DateTimeField(_("closed at"), null=True, blank=True)

    objects = StormQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["farm"], condition=Q(state__in=["coming", "blowing"]), name="storm_one_at_a_time"
            ),
            models.CheckConstraint(condition=Q(ends_at__gte=models.F("begins_at")), name="storm_ends_after_it_begins"),
            *not_negative("storm", "cost"),
        ]

    def __str__(self) -> str:
        return f"storm of {self.begins_at:%Y-%m-%d}"

    def get_absolute_url(self) -> str:
        return reverse("storm", args=[self.farm.slug, self.pk])


class StormLook(models.Model):
    """What was known of a storm at a moment at which something was decided; never changed."""

    storm = models.ForeignKey(Storm, models.CASCADE, related_name="looks")
    at = models.DateTimeField(_("at"))
    forecast = models.ForeignKey(Forecast, models.SET_NULL, null=True, blank=True, related_name="+")
    level = models.PositiveSmallIntegerField(_("level"))
    peak_at = models.DateTimeField(_("peak at"))
    peak_gust_m_s = models.DecimalField(_("highest gust"), max_digits=5, decimal_places=2)
    deadline_at = models.DateTimeField(_("be done by"), null=True, blank=True)
    start_by_at = models.DateTimeField(_("start by"), null=True, blank=True)
    open_minutes = models.PositiveIntegerField(_("minutes of work left"))
    people = models.PositiveSmallIntegerField(_("people"))
    what = models.CharField(_("what changed"), max_length=40)

    objects = models.Manager()

    def __str__(self) -> str:
        return f"{self.storm_id} at {self.at:%Y-%m-%d %H:%M}"


class StormPerson(models.Model):
    """Somebody who works before a storm, and until when."""

    storm = models.ForeignKey(Storm, models.CASCADE, related_name="people")
    membership = models.ForeignKey(Membership, models.CASCADE, related_name="+")
    is_here = models.BooleanField(_("is here"), default=True)
    works_until = models.TimeField(_("works until"), null=True, blank=True)
    skills = models.JSONField(_("may do"), default=list, blank=True)

    objects = models.Manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["storm", "membership"], name="storm_person_once")]

    def __str__(self) -> str:
        return f"{self.membership_id} in {self.storm_id}"


class StormTask(models.Model):
    """One thing to do before a storm, at one place."""

    class Kind(models.TextChoices):
        WALK = "walk", _("walk round")
        SIDE = "side", _("close a side")
        FILM_DOOR = "film_door", _("close a film door")
        WIDE_FILM_DOOR = "wide_film_door", _("close a wide film door")
        PERSON_DOOR = "person_door", _("latch a person door")
        SLIDING_DOOR = "sliding_door", _("pin a sliding door")
        OTHER_DOOR = "other_door", _("close a door")
        INFLATION = "inflation", _("set the inflation")
        SHADE = "shade", _("take the shade cloth off")
        REPAIR = "repair", _("repair")
        FILM = "film", _("decide on the film")

    class State(models.TextChoices):
        OPEN = "open", _("to do")
        DONE = "done", _("done")
        CANNOT = "cannot", _("cannot be done")

    storm = models.ForeignKey(Storm, models.CASCADE, related_name="tasks")
    key = models.CharField(max_length=60)  # kind and place; once per storm
    kind = models.CharField(_("what"), max_length=16, choices=Kind)
    tunnel = models.ForeignKey(Tunnel, models.CASCADE, related_name="+")
    opening = models.ForeignKey(Opening, models.CASCADE, null=True, blank=True, related_name="+")
    repair = models.ForeignKey(Repair, models.CASCADE, null=True, blank=True, related_name="+")
    side = models.CharField(_("side"), max_length=12, blank=True)
    minutes = models.PositiveSmallIntegerField(_("minutes"))
    people = models.PositiveSmallIntegerField(_("people"), default=1)
    is_windward = models.BooleanField(_("windward"), default=False)
    is_critical = models.BooleanField(_("critical"), default=False)
    assigned_to = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="storm_tasks"
    )
    second = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+")
    position = models.PositiveSmallIntegerField(_("in the order"), default=0)
    begins_at = models.DateTimeField(_("planned from"), null=True, blank=True)
    is_pinned = models.BooleanField(_("placed by hand"), default=False)
    is_left_out = models.BooleanField(_("does not fit in the time"), default=False)
    state = models.CharField(_("state"), max_length=6, choices=State, default=State.OPEN)
    done_at = models.DateTimeField(_("at"), null=True, blank=True)
    done_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+")
    reason = models.CharField(_("why not"), max_length=300, blank=True)
    checked_at = models.DateTimeField(_("looked at by a second person at"), null=True, blank=True)
    checked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+")
    minutes_spent = models.PositiveSmallIntegerField(_("minutes it took"), null=True, blank=True)

    objects = StormTaskQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["storm", "key"], name="storm_task_once"),
            models.CheckConstraint(
                condition=Q(state="open", done_at__isnull=True)
                | Q(state__in=["done", "cannot"], done_at__isnull=False),
                name="storm_task_ended_has_time",
            ),
            models.CheckConstraint(condition=~Q(state="cannot") | ~Q(reason=""), name="storm_task_cannot_has_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.storm_id} {self.key}"


class FilmDecision(models.Model):
    """What was decided about a tunnel's film before a storm: written down before anybody cuts."""

    class Choice(models.TextChoices):
        KEEP = "keep", _("film stays on")
        PULL = "pull", _("film pulled down")
        ROLL = "roll", _("film rolled up")
        CUT = "cut", _("film cut free")

    storm = models.ForeignKey(Storm, models.CASCADE, related_name="film_decisions")
    tunnel = models.ForeignKey(Tunnel, models.CASCADE, related_name="+")
    choice = models.CharField(_("decision"), max_length=6, choices=Choice)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+")
    at = models.DateTimeField(_("at"))
    insurer_told = models.BooleanField(_("insurer told before"), default=False)
    note = models.TextField(_("note"), blank=True)

    objects = models.Manager()

    def __str__(self) -> str:
        return f"{self.tunnel_id}: {self.choice}"


class StormFinding(models.Model):
    """What was found at a tunnel or door after a storm."""

    class Outcome(models.TextChoices):
        SOUND = "sound", _("sound")
        DAMAGED = "damaged", _("damaged")

    storm = models.ForeignKey(Storm, models.CASCADE, related_name="findings")
    tunnel = models.ForeignKey(Tunnel, models.CASCADE, related_name="+")
    opening = models.ForeignKey(Opening, models.CASCADE, null=True, blank=True, related_name="+")
    rank = models.PositiveSmallIntegerField(_("in the order"), default=0)
    outcome = models.CharField(_("outcome"), max_length=8, choices=Outcome, blank=True)
    gust_seen_m_s = models.DecimalField(_("gust as seen here"), max_digits=5, decimal_places=2, null=True, blank=True)
    repair = models.ForeignKey(Repair, models.SET_NULL, null=True, blank=True, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+")
    at = models.DateTimeField(_("at"), null=True, blank=True)
    note = models.TextField(_("note"), blank=True)
    facts = models.JSONField(default=dict, blank=True)  # why it stands where it does in the order

    objects = models.Manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["storm", "opening"], condition=Q(opening__isnull=False), name="finding_once_per_door"
            ),
            models.UniqueConstraint(
                fields=["storm", "tunnel"], condition=Q(opening__isnull=True), name="finding_once_per_tunnel"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.storm_id} {self.tunnel_id} {self.outcome}"


class Reopening(models.Model):
    """When a closed tunnel is to be opened again and by whom: a closed tunnel cooks."""

    storm = models.ForeignKey(Storm, models.CASCADE, related_name="reopenings")
    tunnel = models.ForeignKey(Tunnel, models.CASCADE, related_name="+")
    owner = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+")
    due_at = models.DateTimeField(_("open again at"))
    done_at = models.DateTimeField(_("opened at"), null=True, blank=True)
    done_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+")

    objects = models.Manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["storm", "tunnel"], name="reopening_once_per_tunnel")]

    def __str__(self) -> str:
        return f"{self.tunnel_id} again at {self.due_at:%Y-%m-%d %H:%M}"
