"""Django's entry to the farm app."""

from importlib import import_module

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class FarmConfig(AppConfig):
    """The base app: structures, people, and the composition root."""

    name = "farm"
    verbose_name = _("Farm")
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Load the Celery app here, so that importing the core never loads Celery."""
        import_module("farm.celery")
