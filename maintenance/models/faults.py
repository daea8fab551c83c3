"""Faults that were found, what was done about them, and the answers of screw checks."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from doors.models import Component, FailureCause, FailureMode
from farm.models import EndWall, Farm, Opening, Tunnel, not_negative
from maintenance.models.upkeep import Job
from maintenance.querysets import RepairQuerySet, ScrewCheckQuerySet


class Repair(models.Model):
    """A fault at a place and its repair. ``tunnel`` is set for every place below a tunnel."""

    class State(models.TextChoices):
        OPEN = "open", _("open")
        TEMPORARY = "temporary", _("holds for now")
        DONE = "done", _("repaired")

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="repairs")
    tunnel = models.ForeignKey(Tunnel, models.CASCADE, null=True, blank=True, related_name="repairs")
    end_wall = models.ForeignKey(EndWall, models.CASCADE, null=True, blank=True, related_name="repairs")
    opening = models.ForeignKey(Opening, models.CASCADE, null=True, blank=True, related_name="repairs")
    part = models.CharField(_("part"), max_length=20, choices=Component.Kind, default=Component.Kind.OTHER)
    spot = models.CharField(_("where exactly"), max_length=80, blank=True)
    component = models.ForeignKey(
        Component, models.SET_NULL, null=True, blank=True, related_name="repairs", verbose_name=_("part in service")
    )
    mode = models.CharField(_("how it shows"), max_length=12, choices=FailureMode)
    cause = models.CharField(_("cause"), max_length=12, choices=FailureCause, blank=True)
    is_critical = models.BooleanField(_("cannot wait for the next wind"), default=False)
    is_danger = models.BooleanField(_("danger: keep out"), default=False)
    state = models.CharField(_("state"), max_length=10, choices=State, default=State.OPEN)
    found_at = models.DateTimeField(_("reported at"), null=True, blank=True)
    found_on = models.DateField(_("found on"))
    found_by = models.CharField(_("found by"), max_length=120, blank=True)
    mended_on = models.DateField(_("repaired on"), null=True, blank=True)
    mended_by = models.CharField(_("repaired by"), max_length=120, blank=True)
    minutes = models.PositiveIntegerField(_("minutes"), null=True, blank=True)
    cost = models.DecimalField(_("cost of parts"), max_digits=10, decimal_places=2, null=True, blank=True)
    note = models.TextField(_("note"), blank=True)
    job = models.OneToOneField(Job, models.SET_NULL, null=True, blank=True, related_name="repair")
    logged_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+")

    objects = RepairQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(state="open", mended_on__isnull=True)
                | Q(state__in=["temporary", "done"], mended_on__isnull=False),
                name="repair_mended_has_day",
            ),
            *not_negative("repair", "cost"),
        ]
        indexes = [models.Index(fields=["farm", "state"], name="repair_state_of_farm")]

    def __str__(self) -> str:
        return f"{self.get_part_display()} {self.spot}: {self.get_mode_display()}"


class NearMiss(models.Model):
    """What nearly hurt somebody. It can be told without a name; then nothing here leads to a person."""

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="near_misses")
    tunnel = models.ForeignKey(Tunnel, models.SET_NULL, null=True, blank=True, related_name="+")
    opening = models.ForeignKey(Opening, models.SET_NULL, null=True, blank=True, related_name="+")
    on = models.DateField(_("on"))
    what = models.TextField(_("what happened"))
    done = models.TextField(_("what was done about it"), blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+")
    closed_on = models.DateField(_("dealt with on"), null=True, blank=True)

    objects = models.Manager()

    def __str__(self) -> str:
        return f"near miss on {self.on}"


class ScrewCheck(models.Model):
    """What a screw check found at one spot of an opening."""

    class Outcome(models.TextChoices):
        TIGHT = "tight", _("tight")
        TURNED = "turned", _("turned")
        SPUN = "spun", _("spun")
        MISSING = "missing", _("missing")

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="screw_checks")
    opening = models.ForeignKey(Opening, models.CASCADE, related_name="screw_checks")
    job = models.ForeignKey(Job, models.SET_NULL, null=True, blank=True, related_name="screw_checks")
    spot = models.CharField(_("where exactly"), max_length=80)
    outcome = models.CharField(_("outcome"), max_length=8, choices=Outcome)
    on = models.DateField(_("on"))
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+")
    repair = models.ForeignKey(Repair, models.SET_NULL, null=True, blank=True, related_name="screw_checks")

    objects = ScrewCheckQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.spot}: {self.outcome}"
