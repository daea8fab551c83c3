"""Django's entry to the doors app."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class DoorsConfig(AppConfig):
    """What hangs in the openings."""

    name = "doors"
    verbose_name = _("Doors")
    default_auto_field = "django.db.models.BigAutoField"
