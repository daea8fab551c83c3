"""The weather that was and that is forecast, as far as upkeep depends on it; how often the doors were used."""

from __future__ import annotations

from datetime import time

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.fields import BearingField
from farm.models import Farm, Opening
from maintenance.querysets import ForecastQuerySet, SunDayQuerySet, WindDayQuerySet


class WindDay(models.Model):
    """The highest gust of a day on the farm."""

    class Source(models.TextChoices):
        SEEN = "seen", _("seen or felt")
        MEASURED = "measured", _("measured on the farm")
        STATION = "station", _("a weather station nearby")
        FORECAST = "forecast", _("the forecast")

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="wind_days")
    on = models.DateField(_("on"))
    gust_m_s = models.DecimalField(_("highest gust"), max_digits=5, decimal_places=2)
    source = models.CharField(_("known from"), max_length=10, choices=Source, default=Source.SEEN)
    note = models.CharField(_("note"), max_length=200, blank=True)

    objects = WindDayQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["farm", "on"], name="wind_day_once_per_farm"),
            models.CheckConstraint(condition=Q(gust_m_s__gte=0, gust_m_s__lte=120), name="wind_day_gust_range"),
        ]

    def __str__(self) -> str:
        return f"{self.on}: {self.gust_m_s} m/s"


class SunDay(models.Model):
    """The solar radiation measured on a day, on the level. [MJ/m²]"""

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="sun_days")
    on = models.DateField(_("on"))
    radiation_mj_m2 = models.DecimalField(_("solar radiation"), max_digits=5, decimal_places=2)

    objects = SunDayQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["farm", "on"], name="sun_day_once_per_farm"),
            models.CheckConstraint(
                condition=Q(radiation_mj_m2__gte=0, radiation_mj_m2__lte=50), name="sun_day_radiation_range"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.on}: {self.radiation_mj_m2} MJ/m²"


class Climate(models.Model):
    """The farm's sunshine by month: actual over possible hours of sun, January first."""

    farm = models.OneToOneField(Farm, models.CASCADE, related_name="climate")
    sunshine = models.JSONField(_("relative sunshine, by month"))
    source = models.CharField(_("where the figures come from"), max_length=200, blank=True)

    objects = models.Manager()

    def __str__(self) -> str:
        return f"sunshine of {self.farm_id}"


class DoorUse(models.Model):
    """How often a door was opened and closed between the entry before and this day."""

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="door_uses")
    opening = models.ForeignKey(Opening, models.CASCADE, related_name="uses")
    on = models.DateField(_("counted on"))
    cycles = models.PositiveIntegerField(_("openings and closings"))

    objects = models.Manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["opening", "on"], name="door_use_once_per_day")]

    def __str__(self) -> str:
        return f"{self.opening_id} {self.on}: {self.cycles}"


class WeatherCell(models.Model):
    """A place for which one weather service gives one forecast: farms in the same cell share what is fetched."""

    class Kind(models.TextChoices):
        NWS = "nws", _("US National Weather Service")
        OPEN_METEO = "open_meteo", _("Open-Meteo")

    kind = models.CharField(_("service"), max_length=12, choices=Kind)
    key = models.CharField(_("cell"), max_length=60)
    latitude_deg = models.DecimalField(max_digits=8, decimal_places=5)
    longitude_deg = models.DecimalField(max_digits=8, decimal_places=5)
    validators = models.JSONField(default=dict, blank=True)  # for conditional requests, by address
    asked_at = models.DateTimeField(_("last asked"), null=True, blank=True)
    heard_at = models.DateTimeField(_("last heard"), null=True, blank=True)
    failures = models.PositiveIntegerField(_("failures in a row"), default=0)
    error = models.CharField(_("last error"), max_length=300, blank=True)

    objects = models.Manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kind", "key"], name="weather_cell_once")]

    def __str__(self) -> str:
        return f"{self.kind} {self.key}"


class WeatherSource(models.Model):
    """Where a farm's forecast comes from, how old it may get, and who may post readings."""

    class Kind(models.TextChoices):
        TYPED = "typed", _("typed in or from a file")
        NWS = "nws", _("US National Weather Service")
        OPEN_METEO = "open_meteo", _("Open-Meteo")

    farm = models.OneToOneField(Farm, models.CASCADE, related_name="weather_source")
    kind = models.CharField(_("forecast from"), max_length=12, choices=Kind, default=Kind.TYPED)
    cell = models.ForeignKey(WeatherCell, models.SET_NULL, null=True, blank=True, related_name="sources")
    cap_url = models.URLField(_("address of warnings (CAP 1.2)"), max_length=500, blank=True)
    poll_minutes = models.PositiveSmallIntegerField(_("ask every so many minutes"), default=30)
    oldest_hours = models.PositiveSmallIntegerField(_("too old after hours"), default=6)
    acts_on_upper = models.BooleanField(_("act on the upper value"), default=False)
    gust_factor = models.DecimalField(
        _("farm's gusts against the forecast's"), max_digits=4, decimal_places=2, default=1
    )
    anemometer_hash = models.CharField(max_length=64, blank=True)
    error = models.CharField(_("last error"), max_length=300, blank=True)

    objects = models.Manager()

    def __str__(self) -> str:
        return f"weather of {self.farm_id} from {self.kind}"


class Forecast(models.Model):
    """A forecast as it was when it came, for a cell or typed in for one farm: spells in SI, null where not known."""

    farm = models.ForeignKey(Farm, models.CASCADE, null=True, blank=True, related_name="forecasts")
    cell = models.ForeignKey(WeatherCell, models.CASCADE, null=True, blank=True, related_name="forecasts")
    source = models.CharField(_("source"), max_length=40)
    issued_at = models.DateTimeField(_("issued at"))
    fetched_at = models.DateTimeField(_("came at"))
    spells = models.JSONField(_("spells"))
    remarks = models.JSONField(_("remarks"), default=list, blank=True)
    original = models.BinaryField(_("as it came"), null=True, blank=True)  # compressed with zlib

    objects = ForecastQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["farm", "source", "issued_at"], name="forecast_once_per_issue"),
            models.UniqueConstraint(fields=["cell", "issued_at"], name="forecast_once_per_cell"),
            models.CheckConstraint(
                condition=Q(farm__isnull=True, cell__isnull=False) | Q(farm__isnull=False, cell__isnull=True),
                name="forecast_of_farm_or_cell",
            ),
        ]
        indexes = [models.Index(fields=["cell", "-fetched_at"], name="forecast_latest_of_cell")]

    def __str__(self) -> str:
        return f"{self.source} {self.issued_at:%Y-%m-%d %H:%M}"


class WeatherAlert(models.Model):
    """An official warning that concerns a farm."""

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="weather_alerts")
    ident = models.CharField(max_length=300)
    event = models.CharField(_("warning"), max_length=120)
    headline = models.CharField(_("in words"), max_length=500, blank=True)
    severity = models.CharField(_("severity"), max_length=12, blank=True)
    onset = models.DateTimeField(_("from"), null=True, blank=True)
    ends = models.DateTimeField(_("until"), null=True, blank=True)
    fetched_at = models.DateTimeField(_("came at"))
    gone_at = models.DateTimeField(_("withdrawn or replaced at"), null=True, blank=True)

    objects = models.Manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["farm", "ident"], name="weather_alert_once_per_farm")]

    def __str__(self) -> str:
        return self.event


class WindReading(models.Model):
    """What an instrument on the farm measured."""

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="wind_readings")
    at = models.DateTimeField(_("at"))
    gust_m_s = models.DecimalField(_("gust"), max_digits=5, decimal_places=2)
    mean_m_s = models.DecimalField(_("mean wind"), max_digits=5, decimal_places=2, null=True, blank=True)
    bearing_deg = BearingField(_("from"), null=True, blank=True)

    objects = models.Manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["farm", "at"], name="wind_reading_once")]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M}: {self.gust_m_s} m/s"


class WorkHours(models.Model):
    """When the crew works, by the farm's clock."""

    farm = models.OneToOneField(Farm, models.CASCADE, related_name="work_hours")
    work_from = models.TimeField(_("work begins"), default=time(7))
    work_until = models.TimeField(_("work ends"), default=time(17))

    objects = models.Manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(work_until__gt=models.F("work_from")), name="work_ends_after_it_begins")
        ]

    def __str__(self) -> str:
        return f"{self.work_from:%H:%M} to {self.work_until:%H:%M}"
