"""What hangs in the openings: design choices, sizings, the farm's book of materials, parts in service."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from doors.querysets import (
    ComponentQuerySet,
    DoorQuerySet,
    ImportDraftQuerySet,
    MaterialQuerySet,
    SizingQuerySet,
)
from farm.fields import MillimetreField
from farm.models import EndWall, Farm, Opening, Tunnel, not_negative, positive


class Material(models.Model):
    """One line of the farm's book of materials; real sizes, with the trade's name beside them."""

    class Kind(models.TextChoices):
        TUBE = "tube", _("tube")
        FILM = "film", _("film")
        CLAMP = "clamp", _("clamp")
        CHANNEL = "channel", _("film channel")
        WIRE = "wire", _("spring wire")
        ROD = "rod", _("threaded rod")
        FASTENER = "fastener", _("fastener")
        DRIVE = "drive", _("drive")
        TIMBER = "timber", _("timber")
        DOOR = "door", _("door bought complete")
        OTHER = "other", _("other")

    class PricePer(models.TextChoices):
        EACH = "each", _("piece")
        STOCK = "stock", _("stock length")
        M = "m", _("metre")
        FT = "ft", _("foot")
        M2 = "m2", _("square metre")
        FT2 = "ft2", _("square foot")

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="materials")
    kind = models.CharField(_("kind"), max_length=10, choices=Kind)
    code = models.CharField(_("code"), max_length=40)
    name = models.CharField(_("name"), max_length=120)
    trade_name = models.CharField(_("name in the trade"), max_length=120, blank=True)
    diameter_mm = MillimetreField(_("outer diameter"), null=True, blank=True)
    wall_mm = MillimetreField(_("wall"), null=True, blank=True)
    stock_length_mm = MillimetreField(_("stock length"), null=True, blank=True)
    thickness_mm = MillimetreField(_("film thickness"), null=True, blank=True)
    roll_widths_mm = models.JSONField(_("roll widths"), default=list, blank=True)
    nut_height_mm = MillimetreField(_("nut height"), null=True, blank=True)
    washer_thickness_mm = MillimetreField(_("washer thickness"), null=True, blank=True)
    gear_ratio = models.DecimalField(
        _("crank turns per turn of the bar"), max_digits=6, decimal_places=2, null=True, blank=True
    )
    rated_life_years = models.DecimalField(
        _("rated life, years"), max_digits=4, decimal_places=1, null=True, blank=True
    )
    price = models.DecimalField(_("price"), max_digits=10, decimal_places=2, null=True, blank=True)
    price_per = models.CharField(_("price is per"), max_length=20, choices=PricePer, blank=True)
    is_in_book = models.BooleanField(_("in use"), default=True)
    notes = models.TextField(_("notes"), blank=True)

    objects = MaterialQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["farm", "code"], name="material_code_once_per_farm"),
            *positive(
                "material", "diameter_mm", "wall_mm", "stock_length_mm", "thickness_mm", "nut_height_mm",
                "washer_thickness_mm", "gear_ratio", "rated_life_years",
            ),
            *not_negative("material", "price"),
            models.CheckConstraint(
                condition=Q(wall_mm__isnull=True) | Q(diameter_mm__isnull=True) | Q(diameter_mm__gt=F("wall_mm") * 2),
                name="material_wall_within_tube",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return self.name


class SizingRules(models.Model):
    """The farm's own sizing rules and planning values of strength, where they differ from common practice."""

    farm = models.OneToOneField(Farm, models.CASCADE, related_name="sizing_rules")
    changes = models.JSONField(_("changed rules"), default=dict, blank=True)
    strengths = models.JSONField(_("changed strengths"), default=dict, blank=True)

    objects = models.Manager()

    def __str__(self) -> str:
        return f"{len(self.changes)} changed"


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
            *positive("component", "quantity"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.spot}".strip()

    def get_absolute_url(self) -> str:
        return reverse("component", args=[self.farm.slug, self.pk])


class ImportDraft(models.Model):
    """A table somebody uploaded, kept between its preview and its import, at most a day."""

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="+")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    kind = models.CharField(max_length=20)
    name = models.CharField(_("file"), max_length=120)
    grid = models.JSONField()
    created_at = models.DateTimeField(auto_now_add=True)

    objects = ImportDraftQuerySet.as_manager()

    def __str__(self) -> str:
        return self.name
