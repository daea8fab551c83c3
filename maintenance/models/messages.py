"""How people are told: their wishes, their devices, and every message on its way."""

from __future__ import annotations

from datetime import time

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models import Farm, Membership
from maintenance.models.upkeep import Job
from maintenance.querysets import ReminderQuerySet


class Contact(models.Model):
    """How one member wants to be told; times are of the farm's clock."""

    membership = models.OneToOneField(Membership, models.CASCADE, related_name="contact")
    email = models.EmailField(_("e-mail"), blank=True)
    by_email = models.BooleanField(_("by e-mail"), default=True)
    by_push = models.BooleanField(_("on this person's phones"), default=True)
    digest_at = models.TimeField(_("morning list at"), default=time(5))
    has_digest = models.BooleanField(_("morning list"), default=True)
    quiet_from = models.TimeField(_("quiet from"), default=time(21))
    quiet_until = models.TimeField(_("quiet until"), default=time(5))

    objects = models.Manager()

    def __str__(self) -> str:
        return f"contact of {self.membership_id}"


class PushSubscription(models.Model):
    """A browser that shows messages (Push API); dropped when its push service says that it is gone."""

    membership = models.ForeignKey(Membership, models.CASCADE, related_name="push_subscriptions")
    endpoint = models.URLField(max_length=1000)
    p256dh = models.CharField(max_length=200)
    auth = models.CharField(max_length=100)
    device = models.CharField(_("device"), max_length=120, blank=True)
    created_at = models.DateTimeField()
    last_sent_at = models.DateTimeField(null=True, blank=True)

    objects = models.Manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["membership", "endpoint"], name="push_subscription_once")]

    def __str__(self) -> str:
        return f"{self.device or 'device'} of {self.membership_id}"


class CalendarFeed(models.Model):
    """A secret address at which a calendar program reads a person's jobs; only its hash is kept."""

    membership = models.ForeignKey(Membership, models.CASCADE, related_name="calendar_feeds")
    token_hash = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_read_at = models.DateTimeField(null=True, blank=True)

    objects = models.Manager()

    def __str__(self) -> str:
        return f"feed of {self.membership_id}"


class Reminder(models.Model):
    """A message to one person by one way, written in the transaction that made it necessary.

    ``key`` says what it is about, so that nobody is told the same thing twice. A sender claims a row by turning it
    from waiting to sending; a claim that grew old is sent again under the same message id.
    """

    class Kind(models.TextChoices):
        DIGEST = "digest", _("morning list")
        NOW = "now", _("cannot wait")

    class Way(models.TextChoices):
        EMAIL = "email", _("e-mail")
        PUSH = "push", _("phone")

    class State(models.TextChoices):
        WAITING = "waiting", _("waiting")
        SENDING = "sending", _("being sent")
        SENT = "sent", _("sent")
        FAILED = "failed", _("failed")

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="reminders")
    membership = models.ForeignKey(Membership, models.CASCADE, related_name="reminders")
    kind = models.CharField(_("kind"), max_length=8, choices=Kind)
    way = models.CharField(_("way"), max_length=6, choices=Way)
    key = models.CharField(max_length=120)
    job = models.ForeignKey(Job, models.SET_NULL, null=True, blank=True, related_name="reminders")
    subscription = models.ForeignKey(PushSubscription, models.CASCADE, null=True, blank=True, related_name="reminders")
    subject = models.CharField(_("subject"), max_length=200)
    body = models.TextField(_("text"))
    path = models.CharField(_("page that closes the loop"), max_length=300)
    made_at = models.DateTimeField(_("written at"))
    not_before = models.DateTimeField(_("not before"))
    expires_at = models.DateTimeField(_("of no use after"), null=True, blank=True)
    state = models.CharField(_("state"), max_length=8, choices=State, default=State.WAITING)
    tries = models.PositiveSmallIntegerField(_("tries"), default=0)
    claimed_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(_("sent at"), null=True, blank=True)
    seen_at = models.DateTimeField(_("read at"), null=True, blank=True)  # its person said so on the page it leads to
    error = models.CharField(_("last error"), max_length=300, blank=True)

    objects = ReminderQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["membership", "key"], condition=Q(way="email"), name="reminder_once_by_email"
            ),
            models.UniqueConstraint(
                fields=["subscription", "key"], condition=Q(way="push"), name="reminder_once_per_device"
            ),
            models.CheckConstraint(
                condition=Q(way="email", subscription__isnull=True) | Q(way="push", subscription__isnull=False),
                name="reminder_push_has_device",
            ),
        ]
        indexes = [
            models.Index(fields=["not_before"], condition=Q(state__in=["waiting", "sending"]), name="reminder_to_send")
        ]

    def __str__(self) -> str:
        return self.subject
