"""What comes in from the field: entries of phones, pictures and voices, and the labels at the doors."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models import EndWall, Farm, KnownPhone, Opening, Tunnel
from maintenance.models.faults import NearMiss, Repair
from maintenance.models.storms import Storm, StormFinding, StormTask
from maintenance.models.upkeep import Job


class FieldEntry(models.Model):
    """One thing that somebody noted on a phone, taken once, whatever became of it and however often it came."""

    class Kind(models.TextChoices):
        SECURED = "secured", _("secured")
        CANNOT = "cannot", _("cannot be done")
        CHECKED = "checked", _("looked at by a second person")
        FIXED = "fixed", _("fixed")
        NEEDS_PART = "needs_part", _("needs a part")
        DANGER = "danger", _("danger: keep out")
        JOB_DONE = "job_done", _("job done")
        DETAILS = "details", _("details")
        NEAR_MISS = "near_miss", _("near miss")

    class State(models.TextChoices):
        TAKEN = "taken", _("taken")
        BESIDE = "beside", _("kept beside what stood there already")
        UNREAD = "unread", _("kept, but not understood")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)  # made on the phone
    farm = models.ForeignKey(Farm, models.CASCADE, related_name="field_entries")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+")
    phone = models.ForeignKey(KnownPhone, models.SET_NULL, null=True, blank=True, related_name="entries")
    kind = models.CharField(_("what"), max_length=12, choices=Kind)
    tunnel = models.ForeignKey(Tunnel, models.SET_NULL, null=True, blank=True, related_name="+")
    opening = models.ForeignKey(Opening, models.SET_NULL, null=True, blank=True, related_name="+")
    payload = models.JSONField(default=dict, blank=True)  # as it came
    made_at = models.DateTimeField(_("by the phone's clock"))
    skew_s = models.FloatField(_("the phone's clock is ahead by"), null=True, blank=True)  # seconds
    received_at = models.DateTimeField(_("received at"))
    state = models.CharField(_("state"), max_length=6, choices=State, default=State.TAKEN)
    reason = models.CharField(_("why it stands beside"), max_length=300, blank=True)
    seen_at = models.DateTimeField(_("settled by a manager at"), null=True, blank=True)
    parent = models.ForeignKey("self", models.SET_NULL, null=True, blank=True, related_name="details")
    task = models.ForeignKey(StormTask, models.SET_NULL, null=True, blank=True, related_name="entries")
    repair = models.ForeignKey(Repair, models.SET_NULL, null=True, blank=True, related_name="entries")
    job = models.ForeignKey(Job, models.SET_NULL, null=True, blank=True, related_name="entries")
    near_miss = models.ForeignKey(NearMiss, models.SET_NULL, null=True, blank=True, related_name="+")

    objects = models.Manager()

    class Meta:
        indexes = [
            models.Index(fields=["farm", "-received_at"], name="entry_of_farm"),
            models.Index(fields=["farm", "state"], name="entry_state_of_farm"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.pk}"


class Photo(models.Model):
    """A picture of a place, made anew without what the camera wrote into it."""

    class Moment(models.TextChoices):
        BEFORE = "before", _("before")
        AFTER = "after", _("after")

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="photos")
    file = models.FileField(_("picture"), upload_to="photos/%Y/%m")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    key = models.UUIDField(null=True, blank=True, unique=True)  # made on the phone
    moment = models.CharField(_("before or after"), max_length=6, choices=Moment, blank=True)
    taken_at = models.DateTimeField(_("taken at"))
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+")
    caption = models.CharField(_("caption"), max_length=200, blank=True)
    entry = models.ForeignKey(FieldEntry, models.SET_NULL, null=True, blank=True, related_name="photos")
    storm = models.ForeignKey(Storm, models.CASCADE, null=True, blank=True, related_name="photos")
    task = models.ForeignKey(StormTask, models.SET_NULL, null=True, blank=True, related_name="photos")
    finding = models.ForeignKey(StormFinding, models.SET_NULL, null=True, blank=True, related_name="photos")
    repair = models.ForeignKey(Repair, models.SET_NULL, null=True, blank=True, related_name="photos")
    job = models.ForeignKey(Job, models.SET_NULL, null=True, blank=True, related_name="photos")

    objects = models.Manager()

    def __str__(self) -> str:
        return self.caption or f"picture {self.pk}"


class VoiceNote(models.Model):
    """A few words spoken into a phone, for whoever would rather not type."""

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="voice_notes")
    key = models.UUIDField(unique=True)  # made on the phone
    entry = models.ForeignKey(FieldEntry, models.SET_NULL, null=True, blank=True, related_name="voice_notes")
    repair = models.ForeignKey(Repair, models.SET_NULL, null=True, blank=True, related_name="voice_notes")
    file = models.FileField(_("recording"), upload_to="voices/%Y/%m")
    media_type = models.CharField(max_length=40)
    sha256 = models.CharField(max_length=64)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+")
    made_at = models.DateTimeField(_("at"))

    objects = models.Manager()

    def __str__(self) -> str:
        return f"voice note {self.pk}"


class Label(models.Model):
    """A square at a tunnel, an end wall or a door that a phone reads; a lost one is taken back and replaced."""

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="labels")
    token = models.CharField(_("short address"), max_length=10, unique=True)
    tunnel = models.ForeignKey(Tunnel, models.CASCADE, null=True, blank=True, related_name="labels")
    end_wall = models.ForeignKey(EndWall, models.CASCADE, null=True, blank=True, related_name="labels")
    opening = models.ForeignKey(Opening, models.CASCADE, null=True, blank=True, related_name="labels")
    made_at = models.DateTimeField(_("made at"))
    revoked_at = models.DateTimeField(_("taken back at"), null=True, blank=True)

    objects = models.Manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(tunnel__isnull=False, end_wall__isnull=True, opening__isnull=True)
                | Q(tunnel__isnull=True, end_wall__isnull=False, opening__isnull=True)
                | Q(tunnel__isnull=True, end_wall__isnull=True, opening__isnull=False),
                name="label_has_one_place",
            ),
            *(
                models.UniqueConstraint(
                    fields=[place], condition=Q(revoked_at__isnull=True), name=f"label_once_per_{place}"
                )
                for place in ("tunnel", "end_wall", "opening")
            ),
        ]

    def __str__(self) -> str:
        return self.token
