"""Tables on their way into the register."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from doors.querysets import ImportDraftQuerySet
from farm.models import Farm


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
