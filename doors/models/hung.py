"""The design of a door and the sizings it is built by."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from doors.models.book import Material
from doors.querysets import DoorQuerySet, SizingQuerySet
from farm.fields import MillimetreField
from farm.models import Farm, Opening, positive


class Sizing(models.Model):
    """One run of the sizing core, kept with its inputs and the version that made it."""

    class Verdict(models.TextChoices):
        PASS = "pass", _("fits")
        WARN = "warn", _("fits, with warnings")
        FAIL = "fail", _("refused")
        BLOCKED = "blocked", _("measurements missing")

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="sizings")
    opening = models.ForeignKey(Opening, models.CASCADE, related_name="sizings")
    number = models.PositiveIntegerField(_("revision"))
    core_version = models.CharField(_("version of the core"), max_length=20)
    inputs_digest = models.CharField(max_length=64)
    verdict = models.CharField(_("verdict"), max_length=8, choices=Verdict)
    turning_bar_mm = MillimetreField(_("turning bar"), null=True, blank=True)
    panel_width_mm = MillimetreField(_("film panel width"), null=True, blank=True)
    panel_height_mm = MillimetreField(_("film panel height"), null=True, blank=True)
    clear_width_mm = MillimetreField(_("clear width"), null=True, blank=True)
    clear_height_mm = MillimetreField(_("clear height"), null=True, blank=True)
    clamp_count = models.PositiveIntegerField(_("clamps"), default=0)
    made_at = models.DateTimeField(auto_now_add=True)
    # Last, because SQLite reads a row up to the column it wants: lists sort by the figures above.
    reason = models.JSONField(_("first reason"), default=dict, blank=True)
    inputs = models.JSONField(_("inputs"))
    result = models.JSONField(_("result"))

    objects = SizingQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["opening", "number"], name="sizing_number_once_per_opening")]
        # The plan counts verdicts over the whole farm: from the index alone, without reading past the stored sheets.
        indexes = [models.Index(fields=["farm", "verdict"], name="sizing_verdicts_of_farm")]

    def __str__(self) -> str:
        return f"{self.opening_id} rev {self.number}"


class Door(models.Model):
    """The design choices for one opening and the sizing in force."""

    class DriveSide(models.TextChoices):
        LEFT = "left", _("left")
        RIGHT = "right", _("right")

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="doors")
    opening = models.OneToOneField(Opening, models.CASCADE, related_name="door")
    drive_side = models.CharField(_("drive side, seen from outside"), max_length=5, choices=DriveSide, blank=True)
    turning_tube = models.ForeignKey(Material, models.RESTRICT, null=True, blank=True, related_name="+")
    sill_tube = models.ForeignKey(Material, models.RESTRICT, null=True, blank=True, related_name="+")
    post_tube = models.ForeignKey(Material, models.RESTRICT, null=True, blank=True, related_name="+")
    anti_billow_tube = models.ForeignKey(Material, models.RESTRICT, null=True, blank=True, related_name="+")
    film = models.ForeignKey(Material, models.RESTRICT, null=True, blank=True, related_name="+")
    channel = models.ForeignKey(Material, models.RESTRICT, null=True, blank=True, related_name="+")
    wire = models.ForeignKey(Material, models.RESTRICT, null=True, blank=True, related_name="+")
    rod = models.ForeignKey(Material, models.RESTRICT, null=True, blank=True, related_name="+")
    drive = models.ForeignKey(Material, models.RESTRICT, null=True, blank=True, related_name="+")
    hold_down_spacing_mm = MillimetreField(_("hold-downs, at most apart"), null=True, blank=True)
    hung_on = models.DateField(_("hung on"), null=True, blank=True)
    sizing = models.ForeignKey(Sizing, models.SET_NULL, null=True, blank=True, related_name="+")
    as_built = models.ForeignKey(
        Sizing,
        models.RESTRICT,
        null=True,
        blank=True,
        related_name="+",
        verbose_name=_("sheet it was hung by"),
    )

    objects = DoorQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(as_built__isnull=True) | Q(hung_on__isnull=False), name="door_as_built_has_date"
            ),
            *positive("door", "hold_down_spacing_mm"),
        ]

    def __str__(self) -> str:
        return f"door {self.opening_id}"
