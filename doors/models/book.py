"""The farm's book of materials and its own rules, and what lies in store."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from doors.querysets import MaterialQuerySet, StockMoveQuerySet
from farm.fields import MillimetreField
from farm.models import Farm, not_negative, positive


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
    rated_dose_kly = models.DecimalField(
        _("rated life, kilolangleys"), max_digits=6, decimal_places=1, null=True, blank=True
    )
    price = models.DecimalField(_("price"), max_digits=10, decimal_places=2, null=True, blank=True)
    price_per = models.CharField(_("price is per"), max_length=20, choices=PricePer, blank=True)
    least_stock = models.DecimalField(
        _("keep at least in store"), max_digits=10, decimal_places=2, null=True, blank=True
    )
    lead_weeks = models.PositiveSmallIntegerField(_("weeks from order to delivery"), null=True, blank=True)
    is_in_book = models.BooleanField(_("in use"), default=True)
    notes = models.TextField(_("notes"), blank=True)

    objects = MaterialQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["farm", "code"], name="material_code_once_per_farm"),
            *positive(
                "material", "diameter_mm", "wall_mm", "stock_length_mm", "thickness_mm", "nut_height_mm",
                "washer_thickness_mm", "gear_ratio", "rated_life_years", "rated_dose_kly",
            ),
            *not_negative("material", "price", "least_stock"),
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


class StockMove(models.Model):
    """Pieces that came into the store or left it; what lies there is their sum. Never changed, only reversed."""

    class Reason(models.TextChoices):
        BOUGHT = "bought", _("bought")
        COUNTED = "counted", _("counted")
        USED = "used", _("used")
        RETURNED = "returned", _("put back")
        SCRAPPED = "scrapped", _("thrown away")

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="stock_moves")
    material = models.ForeignKey(Material, models.RESTRICT, related_name="stock_moves")
    quantity = models.DecimalField(_("quantity"), max_digits=10, decimal_places=2)
    on = models.DateField(_("on"))
    reason = models.CharField(_("why"), max_length=10, choices=Reason)
    component = models.ForeignKey("doors.Component", models.SET_NULL, null=True, blank=True, related_name="stock_moves")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+")
    note = models.CharField(_("note"), max_length=200, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)

    objects = StockMoveQuerySet.as_manager()

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(quantity=0), name="stock_move_moves_something")]

    def __str__(self) -> str:
        return f"{self.quantity:+f} {self.material_id}"
