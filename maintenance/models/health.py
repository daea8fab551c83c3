"""Signs of life of the background processes."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Heartbeat(models.Model):
    """When a background process last proved that it works."""

    name = models.CharField(_("name"), max_length=40, unique=True)
    beat_at = models.DateTimeField(_("last sign of life"))

    objects = models.Manager()

    def __str__(self) -> str:
        return f"{self.name} {self.beat_at:%Y-%m-%d %H:%M:%S}"
