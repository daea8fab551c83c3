"""The pictures and recordings of a fault or a job: before and after side by side."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import zip_longest

from django.db.models import Q

from maintenance.models import Job, Photo, Repair, VoiceNote


@dataclass(frozen=True, slots=True)
class Pictures:
    """Pictures as a page prints them: the first before beside the first after, and those that say neither."""

    pairs: tuple[tuple[Photo | None, Photo | None], ...]
    others: tuple[Photo, ...]


def pictures_of_repair(repair: Repair) -> Pictures:
    """Return the pictures of a fault and of the job that mends it."""
    return _sorted(Q(repair=repair) | Q(job=repair.job_id) if repair.job_id else Q(repair=repair))


def pictures_of_job(job: Job) -> Pictures:
    """Return the pictures of a job and of the fault it mends."""
    return _sorted(Q(job=job) | Q(repair__job=job))


def voices_of_repair(repair: Repair) -> list[VoiceNote]:
    """Return what was spoken about a fault, the first first."""
    return _voices(Q(repair=repair) | Q(entry__repair=repair))


def voices_of_job(job: Job) -> list[VoiceNote]:
    """Return what was spoken about a job, the first first."""
    return _voices(Q(entry__job=job) | Q(repair__job=job))


def pair(photos: Iterable[Photo]) -> Pictures:
    """Put pictures side by side, in their order."""
    rows = list(photos)
    before, after = ([row for row in rows if row.moment == moment] for moment in Photo.Moment)
    return Pictures(tuple(zip_longest(before, after)), tuple(row for row in rows if not row.moment))


def _sorted(about: Q) -> Pictures:
    return pair(Photo.objects.filter(about).select_related("by").order_by("taken_at", "pk").distinct())


def _voices(about: Q) -> list[VoiceNote]:
    return list(VoiceNote.objects.filter(about).select_related("by").order_by("made_at", "pk").distinct())
