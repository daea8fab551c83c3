"""The structures of a farm and who may see them."""

from __future__ import annotations

from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.conf import settings
from django.contrib.sessions.backends.base import SessionBase
from django.contrib.sessions.base_session import AbstractBaseSession
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from farm.api.models import ApiAnswer as ApiAnswer  # Django finds the models of an app here
from farm.api.models import ApiKey as ApiKey
from farm.fields import BearingField, MillimetreField
from farm.querysets import EndWallQuerySet, MembershipQuerySet, OpeningQuerySet, TunnelQuerySet


def positive(name: str, *fields: str) -> list[models.CheckConstraint]:
    """Constraints that each of ``fields`` is above zero or not measured."""
    return [
        models.CheckConstraint(
            condition=Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__gt": 0}),
            name=f"{name}_{field}_positive",
        )
        for field in fields
    ]


def not_negative(name: str, *fields: str) -> list[models.CheckConstraint]:
    """Constraints that each of ``fields`` is zero, more, or not measured."""
    return [
        models.CheckConstraint(
            condition=Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__gte": 0}),
            name=f"{name}_{field}_not_negative",
        )
        for field in fields
    ]


class Farm(models.Model):
    """A farm: its place, its units and its language."""

    class Units(models.TextChoices):
        US = "us", _("feet and inches")
        METRIC = "metric", _("millimetres")

    class Exposure(models.TextChoices):
        """Terrain categories of ASCE 7, section 26.7."""

        B = "B", _("B: woods, suburbs, closely spaced obstructions")
        C = "C", _("C: open country with scattered obstructions")
        D = "D", _("D: flat, unobstructed land or water")

    class Soil(models.TextChoices):
        """Classes of ground of IBC 2021, Table 1806.2, as the trade calls them."""

        BEDROCK = "bedrock", _("solid bedrock")
        ROCK = "rock", _("layered rock")
        GRAVEL = "gravel", _("gravel or sandy gravel")
        SAND = "sand", _("sand, also silty or clayey sand")
        CLAY = "clay", _("clay or silt")

    name = models.CharField(_("name"), max_length=120)
    slug = models.SlugField(_("short name in addresses"), max_length=60, unique=True)
    units = models.CharField(_("units"), max_length=8, choices=Units, default=Units.US)
    time_zone = models.CharField(_("time zone"), max_length=64, default="UTC")
    language = models.CharField(_("language"), max_length=8, choices=settings.LANGUAGES, default="en")
    currency = models.CharField(_("currency"), max_length=3, default="USD")
    labour_rate = models.DecimalField(
        _("an hour of labour costs"), max_digits=8, decimal_places=2, null=True, blank=True,
        validators=[MinValueValidator(0)],
    )  # fmt: skip
    latitude_deg = models.DecimalField(
        _("latitude"), max_digits=8, decimal_places=5, null=True, blank=True,
        validators=[MinValueValidator(-90), MaxValueValidator(90)],
    )  # fmt: skip
    longitude_deg = models.DecimalField(
        _("longitude"), max_digits=8, decimal_places=5, null=True, blank=True,
        validators=[MinValueValidator(-180), MaxValueValidator(180)],
    )  # fmt: skip
    elevation_m = models.DecimalField(_("elevation"), max_digits=6, decimal_places=1, null=True, blank=True)
    exposure = models.CharField(_("terrain exposure"), max_length=1, choices=Exposure, default=Exposure.C)
    soil = models.CharField(_("soil"), max_length=8, choices=Soil, blank=True)
    storm_bearing_deg = BearingField(_("storm wind comes from"), null=True, blank=True)
    venting_bearing_deg = BearingField(_("venting wind comes from"), null=True, blank=True)
    keeps_photo_data = models.BooleanField(_("pictures keep where and with what they were taken"), default=False)
    created_at = models.DateTimeField(auto_now_add=True)

    objects = models.Manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(latitude_deg__isnull=True) | Q(latitude_deg__gte=-90, latitude_deg__lte=90),
                name="farm_latitude_range",
            ),
            models.CheckConstraint(
                condition=Q(longitude_deg__isnull=True) | Q(longitude_deg__gte=-180, longitude_deg__lte=180),
                name="farm_longitude_range",
            ),
            *not_negative("farm", "labour_rate"),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("plan", args=[self.slug])

    @property
    def zone(self) -> ZoneInfo:
        """The farm's time zone; UTC where this machine does not know the name."""
        try:
            return ZoneInfo(self.time_zone)
        except (ZoneInfoNotFoundError, ValueError, OSError):  # a folder's name, such as "America", is an OSError
            return ZoneInfo("UTC")


class Membership(models.Model):
    """What one person may do on one farm."""

    class Role(models.TextChoices):
        MANAGER = "manager", _("manager")
        CREW = "crew", _("crew")
        VIEWER = "viewer", _("viewer")

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="memberships")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="memberships")
    role = models.CharField(_("role"), max_length=8, choices=Role, default=Role.VIEWER)
    language = models.CharField(_("language"), max_length=8, choices=settings.LANGUAGES, blank=True)
    units = models.CharField(_("units"), max_length=8, choices=Farm.Units, blank=True)

    objects = MembershipQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["farm", "user"], name="membership_once_per_farm")]

    def __str__(self) -> str:
        return f"{self.user_id} {self.role}"


class CrewKey(models.Model):
    """How a member of the crew comes in without a password: a short name and a code, or a printed square."""

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="crew_keys")
    membership = models.OneToOneField(Membership, models.CASCADE, related_name="crew_key")
    short_name = models.CharField(_("short name"), max_length=20)
    code_hash = models.CharField(max_length=128, blank=True)
    token_hash = models.CharField(max_length=64, unique=True, null=True, blank=True)
    made_at = models.DateTimeField(_("made at"))
    failures = models.PositiveSmallIntegerField(_("wrong codes in a row"), default=0)
    locked_until = models.DateTimeField(_("locked until"), null=True, blank=True)

    objects = models.Manager()

    class Meta:
        constraints = [models.UniqueConstraint(Lower("short_name"), "farm", name="crew_key_name_once_per_farm")]

    def __str__(self) -> str:
        return self.short_name


class LoginSession(AbstractBaseSession):
    """A log-in that lasts: whose it is and on what, so that it can be listed and ended."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, null=True, related_name="login_sessions")
    agent = models.CharField(_("on"), max_length=200, blank=True)
    began_at = models.DateTimeField(_("since"), null=True)
    seen_at = models.DateTimeField(_("last seen"), null=True)

    class Meta(AbstractBaseSession.Meta):
        abstract = False

    @classmethod
    def get_session_store_class(cls) -> type[SessionBase]:
        """Return the store that writes these rows."""
        from farm.sessions import SessionStore

        return SessionStore


class KnownPhone(models.Model):
    """A phone that stays signed in for its person until a manager, or the person, takes that back."""

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="known_phones")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="known_phones")
    token_hash = models.CharField(max_length=64, unique=True)
    name = models.CharField(_("phone"), max_length=80, blank=True)
    made_at = models.DateTimeField(_("known since"))
    seen_at = models.DateTimeField(_("last seen"))
    revoked_at = models.DateTimeField(_("taken back at"), null=True, blank=True)

    objects = models.Manager()

    def __str__(self) -> str:
        return self.name or f"phone {self.pk}"


class Tunnel(models.Model):
    """A film-covered tunnel. Only the name is needed to begin; the rest is asked when it is needed."""

    class Shape(models.TextChoices):
        ROUND = "round", _("round arch")
        GOTHIC = "gothic", _("gothic arch")
        MEASURED = "measured", _("measured profile")

    class Shelter(models.TextChoices):
        OPEN = "open", _("open")
        HALF = "half", _("half sheltered")
        SHELTERED = "sheltered", _("sheltered")

    class Posture(models.TextChoices):
        CLOSED = "closed", _("closed tight")
        CLOSED_FAN = "closed_fan", _("closed, exhaust fan on")
        FILM_OFF = "film_off", _("film off")
        OTHER = "other", _("other, see notes")

    class Status(models.TextChoices):
        PLANNED = "planned", _("planned")
        IN_USE = "in_use", _("in use")
        RETIRED = "retired", _("retired")

    class End(models.TextChoices):
        A = "A", _("tail end of the axis")
        B = "B", _("head end of the axis")

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="tunnels")
    code = models.CharField(_("code"), max_length=20)
    name = models.CharField(_("name"), max_length=120)
    shape = models.CharField(_("shape"), max_length=10, choices=Shape, blank=True)
    width_mm = MillimetreField(_("width"), null=True, blank=True)
    length_mm = MillimetreField(_("length"), null=True, blank=True)
    ridge_mm = MillimetreField(_("ridge height"), null=True, blank=True)
    side_mm = MillimetreField(_("side height"), null=True, blank=True)
    profile_mm = models.JSONField(_("measured profile"), default=list, blank=True)
    bow_spacing_mm = MillimetreField(_("bow spacing"), null=True, blank=True)
    axis_bearing_deg = BearingField(_("direction of the long axis"), null=True, blank=True)
    east_mm = MillimetreField(_("middle, east of the plan's origin"), null=True, blank=True)
    north_mm = MillimetreField(_("middle, north of the plan's origin"), null=True, blank=True)
    film_layers = models.PositiveSmallIntegerField(_("film layers"), null=True, blank=True)
    left_operator_end = models.CharField(_("operator of the left roll-up side"), max_length=1, choices=End, blank=True)
    right_operator_end = models.CharField(
        _("operator of the right roll-up side"), max_length=1, choices=End, blank=True
    )
    has_left_rollup = models.BooleanField(_("left side rolls up"), null=True, blank=True)
    has_right_rollup = models.BooleanField(_("right side rolls up"), null=True, blank=True)
    operator_travel_mm = MillimetreField(_("top of the side operator's travel"), null=True, blank=True)
    shelter = models.CharField(_("shelter"), max_length=10, choices=Shelter, blank=True)
    storm_posture = models.CharField(_("storm posture"), max_length=12, choices=Posture, default=Posture.CLOSED)
    status = models.CharField(_("status"), max_length=8, choices=Status, default=Status.IN_USE)
    retired_on = models.DateField(_("retired on"), null=True, blank=True)
    notes = models.TextField(_("notes"), blank=True)

    objects = TunnelQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["farm", "code"], name="tunnel_code_once_per_farm"),
            *positive("tunnel", "width_mm", "length_mm", "ridge_mm", "bow_spacing_mm", "operator_travel_mm"),
            *not_negative("tunnel", "side_mm"),
            models.CheckConstraint(
                condition=Q(ridge_mm__isnull=True) | Q(side_mm__isnull=True) | Q(ridge_mm__gt=models.F("side_mm")),
                name="tunnel_ridge_above_side",
            ),
            models.CheckConstraint(
                condition=Q(axis_bearing_deg__isnull=True) | Q(axis_bearing_deg__gte=0, axis_bearing_deg__lt=360),
                name="tunnel_axis_range",
            ),
            models.CheckConstraint(
                condition=Q(film_layers__isnull=True) | Q(film_layers__gte=0, film_layers__lte=2),
                name="tunnel_film_layers_range",
            ),
            models.CheckConstraint(
                condition=~Q(status="retired") | Q(retired_on__isnull=False), name="tunnel_retired_has_date"
            ),
        ]

    def __str__(self) -> str:
        return self.code if self.name in ("", self.code) else f"{self.code} {self.name}"

    def get_absolute_url(self) -> str:
        return reverse("tunnel", args=[self.farm.slug, self.pk])


class EndWall(models.Model):
    """A closing wall at one end of a tunnel, seen from outside."""

    class Covering(models.TextChoices):
        FILM = "film", _("film, single")
        FILM_DOUBLE = "film_double", _("film, double")
        SHEET = "sheet", _("rigid sheet")
        BOARDS = "boards", _("boards or plywood")
        NONE = "none", _("none")

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="end_walls")
    tunnel = models.ForeignKey(Tunnel, models.CASCADE, related_name="end_walls")
    end = models.CharField(_("end"), max_length=1, choices=Tunnel.End)
    bearing_deg = BearingField(_("faces"), null=True, blank=True)
    covering = models.CharField(_("covering"), max_length=12, choices=Covering, blank=True)
    stud_face_mm = MillimetreField(_("stud face, seen from outside"), null=True, blank=True)
    stud_depth_mm = MillimetreField(_("stud depth, through the wall"), null=True, blank=True)
    header_thickness_mm = MillimetreField(_("header thickness, through the wall"), null=True, blank=True)
    is_tied_to_bows = models.BooleanField(_("tied to the bows"), null=True, blank=True)
    notes = models.TextField(_("notes"), blank=True)

    objects = EndWallQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["tunnel", "end"], name="end_wall_once_per_end"),
            *positive("end_wall", "stud_face_mm", "stud_depth_mm", "header_thickness_mm"),
            models.CheckConstraint(
                condition=Q(bearing_deg__isnull=True) | Q(bearing_deg__gte=0, bearing_deg__lt=360),
                name="end_wall_bearing_range",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.tunnel_id}-{self.end}"


class Opening(models.Model):
    """A framed hole in an end wall; offsets run from the wall's left corner seen from outside."""

    class Kind(models.TextChoices):
        MID_BAR = "mid_bar", _("film roll-up, mid-height bar")
        BOTTOM_BAR = "bottom_bar", _("film roll-up, bottom bar")
        PERSON = "person", _("person door")
        HINGED_PAIR = "hinged_pair", _("hinged pair")
        SLIDING_PAIR = "sliding_pair", _("sliding pair")
        COIL = "coil", _("steel roll-up coil")
        LIFT_OUT = "lift_out", _("lift-out panel")

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="openings")
    end_wall = models.ForeignKey(EndWall, models.CASCADE, related_name="openings")
    code = models.CharField(_("code"), max_length=30)
    kind = models.CharField(_("kind of door"), max_length=12, choices=Kind, default=Kind.MID_BAR)
    rough_width_mm = MillimetreField(_("rough width"))
    rough_height_mm = MillimetreField(_("rough height"))
    offset_mm = MillimetreField(_("offset from the wall's left corner"), null=True, blank=True)
    threshold_mm = MillimetreField(_("threshold above grade"), null=True, blank=True)
    header_depth_mm = MillimetreField(_("header depth"), null=True, blank=True)
    diagonal_1_mm = MillimetreField(_("one diagonal"), null=True, blank=True)
    diagonal_2_mm = MillimetreField(_("the other diagonal"), null=True, blank=True)
    machine = models.CharField(_("what must pass"), max_length=120, blank=True)
    machine_width_mm = MillimetreField(_("its width"), null=True, blank=True)
    machine_height_mm = MillimetreField(_("its height"), null=True, blank=True)
    retired_on = models.DateField(_("retired on"), null=True, blank=True)
    notes = models.TextField(_("notes"), blank=True)

    objects = OpeningQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["farm", "code"], name="opening_code_once_per_farm"),
            *positive(
                "opening", "rough_width_mm", "rough_height_mm", "header_depth_mm", "machine_width_mm",
                "machine_height_mm", "diagonal_1_mm", "diagonal_2_mm",
            ),
            *not_negative("opening", "offset_mm", "threshold_mm"),
        ]  # fmt: skip

    def __str__(self) -> str:
        return self.code

    def get_absolute_url(self) -> str:
        return reverse("opening", args=[self.farm.slug, self.pk])
