"""Django's entry to the maintenance app."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class MaintenanceConfig(AppConfig):
    """Seasons, storms and repairs."""

    name = "maintenance"
    verbose_name = _("Maintenance")
    default_auto_field = "django.db.models.BigAutoField"
