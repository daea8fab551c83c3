"""Keys that let programs in, and the answers they were given."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _


class ApiKey(models.Model):
    """What a person's program shows to come in. The key itself is shown once; a hash of it is kept."""

    class Scope(models.TextChoices):
        READ = "read", _("read only")
        WRITE = "write", _("read and change")

    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="api_keys")
    name = models.CharField(_("name"), max_length=80)
    token_hash = models.CharField(max_length=64, unique=True)
    hint = models.CharField(_("ends in"), max_length=4)
    scope = models.CharField(_("may"), max_length=5, choices=Scope, default=Scope.READ)
    made_at = models.DateTimeField(_("made at"))
    expires_at = models.DateTimeField(_("ends at"))
    used_at = models.DateTimeField(_("last used"), null=True, blank=True)
    revoked_at = models.DateTimeField(_("taken back at"), null=True, blank=True)

    objects = models.Manager()

    def __str__(self) -> str:
        return self.name

    def is_live(self, now: datetime) -> bool:
        """Return whether the key still opens."""
        return self.revoked_at is None and now < self.expires_at


class ApiAnswer(models.Model):
    """What a request with an idempotency key was answered, to be given again for a day."""

    api_key = models.ForeignKey(ApiKey, models.CASCADE, related_name="answers")
    sent_key = models.CharField(max_length=200)
    request_digest = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField()
    headers = models.JSONField(default=dict)
    body = models.TextField(blank=True)
    made_at = models.DateTimeField(db_index=True)

    objects = models.Manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["api_key", "sent_key"], name="api_answer_once_per_key")]

    def __str__(self) -> str:
        return f"{self.status} to {self.sent_key}"
