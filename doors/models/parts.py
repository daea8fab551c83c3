"""Parts in service: what sits where, since when, how it ended."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from doors.models.book import Material
from doors.querysets import ComponentQuerySet, LayUpQuerySet
from farm.models import EndWall, Farm, Opening, Tunnel, positive


class FailureMode(models.TextChoices):
    """How the inability of a part shows (failure mode, EN 13306:2017, 5.2)."""

    LOOSE = "loose", _("loose")
    SPUN = "spun", _("spins, does not hold")
    MISSING = "missing", _("missing")
    BENT = "bent", _("bent")
    BROKEN = "broken", _("broken")
    TORN = "torn", _("torn")
    HOLED = "holed", _("holed")
    BRITTLE = "brittle", _("brittle or cracked")
    HAZY = "hazy", _("hazy")
    SLIPPED = "slipped", _("slipped")
    LEANING = "leaning", _("leaning")
    CORRODED = "corroded", _("rusted")
    ROTTEN = "rotten", _("rotten")
    JAMMED = "jammed", _("jams")
    CHAFED = "chafed", _("chafed")
    DEAD = "dead", _("does not run")
    OTHER = "other", _("other")


class FailureCause(models.TextChoices):
    """The circumstances that led to a failure (failure cause, EN 13306:2017, 5.4), wind and snow apart from use."""

    DESIGN = "design", _("design")
    MAKING = "making", _("the part as it was made")
    FITTING = "fitting", _("how it was fitted")
    USE = "use", _("how it was used")
    UPKEEP = "upkeep", _("upkeep left undone")
    AGE = "age", _("age and sun")
    WIND = "wind", _("wind")
    SNOW = "snow", _("snow or ice")
    UNKNOWN = "unknown", _("not known")


class Component(models.Model):
    """An installed part: in service from ``fitted_on`` up to, but excluding, ``removed_on``."""

    class Kind(models.TextChoices):
        ROOF_FILM = "roof_film", _("roof film")
        DOOR_FILM = "door_film", _("door film")
        WALL_FILM = "wall_film", _("end-wall film")
        TURNING_BAR = "turning_bar", _("turning bar")
        SILL_BAR = "sill_bar", _("sill bar")
        GUIDE_POST = "guide_post", _("guide post")
        ANTI_BILLOW_TUBE = "anti_billow_tube", _("anti-billow tube")
        CLAMP = "clamp", _("clamp")
        CLAMP_SCREW = "clamp_screw", _("clamp screw")
        CHANNEL = "channel", _("film channel")
        SPRING_WIRE = "spring_wire", _("spring wire")
        TIE_ROD = "tie_rod", _("tie rod")
        DRIVE = "drive", _("drive")
        CORD = "cord", _("anti-billow cord")
        HOLD_DOWN = "hold_down", _("hold-down")
        JAMB = "jamb", _("jamb stud")
        HEADER = "header", _("header")
        BRACE = "brace", _("brace")
        LEAF = "leaf", _("door leaf")
        LATCH = "latch", _("latch")
        SHADE = "shade", _("shade cloth")
        BLOWER = "blower", _("inflation blower")
        OTHER = "other", _("other")

    class Reason(models.TextChoices):
        WORN = "worn", _("worn or aged")
        BROKEN = "broken", _("broken")
        STORM = "storm", _("storm damage")
        LENT = "lent", _("moved elsewhere")
        SEASON = "season", _("taken down for the season")
        UPGRADE = "upgrade", _("replaced by a better part")
        ERROR = "error", _("entered by mistake")

    class PrintedSide(models.TextChoices):
        OUTSIDE = "outside", _("outside")
        INSIDE = "inside", _("inside")
        BETWEEN = "between", _("between the layers")

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="components")
    kind = models.CharField(_("part"), max_length=20, choices=Kind)
    tunnel = models.ForeignKey(Tunnel, models.CASCADE, null=True, blank=True, related_name="components")
    end_wall = models.ForeignKey(EndWall, models.CASCADE, null=True, blank=True, related_name="components")
    opening = models.ForeignKey(Opening, models.CASCADE, null=True, blank=True, related_name="components")
    spot = models.CharField(_("where exactly"), max_length=80, blank=True)
    quantity = models.DecimalField(_("quantity"), max_digits=9, decimal_places=2, default=1)
    material = models.ForeignKey(Material, models.RESTRICT, null=True, blank=True, related_name="components")
    fitted_on = models.DateField(_("fitted on"))
    removed_on = models.DateField(_("removed on"), null=True, blank=True)
    removal_reason = models.CharField(_("why removed"), max_length=10, choices=Reason, blank=True)
    failure_mode = models.CharField(_("how it failed"), max_length=12, choices=FailureMode, blank=True)
    failure_cause = models.CharField(_("cause of the failure"), max_length=12, choices=FailureCause, blank=True)
    replaces = models.OneToOneField(
        "self", models.SET_NULL, null=True, blank=True, related_name="replaced_by", verbose_name=_("replaces")
    )
    lot = models.CharField(_("roll or lot number"), max_length=60, blank=True)
    printed_side = models.CharField(_("printed side"), max_length=8, choices=PrintedSide, blank=True)
    notes = models.TextField(_("notes"), blank=True)

    objects = ComponentQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=(
                    Q(tunnel__isnull=False, end_wall__isnull=True, opening__isnull=True)
                    | Q(tunnel__isnull=True, end_wall__isnull=False, opening__isnull=True)
                    | Q(tunnel__isnull=True, end_wall__isnull=True, opening__isnull=False)
                ),
                name="component_has_one_place",
            ),
            models.CheckConstraint(
                condition=Q(removed_on__isnull=True) | Q(removed_on__gte=F("fitted_on")),
                name="component_removed_after_fitted",
            ),
            models.CheckConstraint(
                condition=Q(removed_on__isnull=True, removal_reason="")
                | Q(removed_on__isnull=False) & ~Q(removal_reason=""),
                name="component_removal_has_reason",
            ),
            models.CheckConstraint(
                condition=Q(removed_on__isnull=False) | Q(failure_mode="", failure_cause=""),
                name="component_failed_when_removed",
            ),
            *positive("component", "quantity"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.spot}".strip()

    def get_absolute_url(self) -> str:
        return reverse("component", args=[self.farm.slug, self.pk])


class LayUp(models.Model):
    """Days on which a part was off its structure and out of the sun; half-open, like a service."""

    component = models.ForeignKey(Component, models.CASCADE, related_name="lay_ups")
    off_on = models.DateField(_("taken down on"))
    back_on = models.DateField(_("put back on"), null=True, blank=True)

    objects = LayUpQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(back_on__isnull=True) | Q(back_on__gt=F("off_on")), name="lay_up_back_after_off"
            ),
            models.UniqueConstraint(
                fields=["component"], condition=Q(back_on__isnull=True), name="lay_up_one_at_a_time"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.component_id} off since {self.off_on}"
