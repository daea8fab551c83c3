"""Pictures and spoken notes of phones: each once by the key its phone gave it, beside the entry it belongs to."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Callable
from datetime import datetime
from typing import Any, Final, TypeVar

from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, override

from farm.models import Farm
from maintenance.field.clocks import moment_of
from maintenance.field.taking import entry_of, own_key, retried
from maintenance.hands.photos import made_anew
from maintenance.models import FieldEntry, Photo, VoiceNote

MOST_PHOTOS: Final = 12  # of one entry
MOST_VOICES: Final = 4  # of one entry
MOST_VOICE_BYTES: Final = 5 * 1024 * 1024
SNIFFED: Final = 4096  # octets in which a recording says what it is
EBML: Final = b"\x1a\x45\xdf\xa3"  # begins Matroska and WebM, RFC 8794, 11.2.1
Kept = TypeVar("Kept", Photo, VoiceNote)


class FileError(Exception):
    """A file cannot be kept; the message says why and what to do."""


class NoEntryError(FileError):
    """The entry that a file belongs to has not come."""


class TooManyError(FileError):
    """An entry has as many files as one may have."""


def keep_picture(
    *, farm: Farm, user: User, key: uuid.UUID, entry: str, upload: UploadedFile[Any], moment: str,
    taken_at: datetime | None, now: datetime,
) -> Photo:  # fmt: skip
    """Keep a picture of an entry; a second time it is the first one.

    Raises
    ------
    PhotoError
        If the file is too large or no picture.
    FileError
        If its entry has not come, or has as many pictures as one may have.
    """
    row = _entry(farm, user, entry)
    if (kept := _kept(Photo, key, farm, user, row)) is not None:
        return kept
    _require_room(row.photos.count(), MOST_PHOTOS, _too_many_photos)
    data, size = made_anew(upload, keeps_data=farm.keeps_photo_data and row.by_id is not None)
    digest = hashlib.sha256(data).hexdigest()
    photo = Photo(
        farm=farm, width=size[0], height=size[1], sha256=digest, caption=_caption(row), entry=row,
        moment=moment if moment in Photo.Moment.values else "", by=row.by and user, repair=row.repair, job=row.job,
        task=row.task, storm=row.task.storm if row.task else None, taken_at=_at(row, taken_at, now),
    )  # fmt: skip
    return _put(photo, key, farm, user, row, f"{farm.pk}-{digest[:24]}.jpg", data)


def keep_voice(
    *, farm: Farm, user: User, key: uuid.UUID, entry: str, upload: UploadedFile[Any], made_at: datetime | None,
    now: datetime,
) -> VoiceNote:  # fmt: skip
    """Keep a spoken note of an entry; a second time it is the first one.

    Raises
    ------
    FileError
        If it is no recording of a known kind, too large, or its entry has not come.
    """
    row = _entry(farm, user, entry)
    if (kept := _kept(VoiceNote, key, farm, user, row)) is not None:
        return kept
    _require_room(row.voice_notes.count(), MOST_VOICES, _too_many_voices)
    if (upload.size or 0) > MOST_VOICE_BYTES:
        raise TooManyError(_("The recording is larger than %(most)d MB. Speak shorter.") % {"most": 5})
    data = upload.read()
    found = kind_of(data[:SNIFFED])
    if found is None:
        raise FileError(_("This is no recording that can be kept. Record it again, or write it."))
    media_type, ending = found
    digest = hashlib.sha256(data).hexdigest()
    note = VoiceNote(
        farm=farm, entry=row, repair=row.repair, media_type=media_type, sha256=digest, by=row.by and user,
        made_at=_at(row, made_at, now),
    )  # fmt: skip
    return _put(note, key, farm, user, row, f"{farm.pk}-{digest[:24]}.{ending}", data)


def kind_of(head: bytes) -> tuple[str, str] | None:
    """Return the media type of a recording and its file's ending, by its first octets; None for anything else.

    WebM: RFC 8794 and its document type; Ogg: RFC 3533, 6; MP4: ISO/IEC 14496-12, 4.3; WAV: RIFF of type WAVE;
    AAC: the sync word of an ADTS frame, ISO/IEC 14496-3, 1.A.2.
    """
    if head.startswith(EBML) and b"webm" in head[:64]:
        return "audio/webm", "webm"
    if head.startswith(b"OggS\x00"):
        return "audio/ogg", "ogg"
    if head[4:8] == b"ftyp" and int.from_bytes(head[:4]) >= 16:
        return "audio/mp4", "m4a"
    if head.startswith(b"RIFF") and head[8:12] == b"WAVE":
        return "audio/wav", "wav"
    if len(head) > 7 and head[0] == 0xFF and head[1] & 0xF6 == 0xF0:
        return "audio/aac", "aac"
    return None


def _entry(farm: Farm, user: User, name: str) -> FieldEntry:
    row = entry_of(farm, user, name)
    if row is None:
        raise NoEntryError(_("What this belongs to has not come yet. It is sent once that is here."))
    return row


def _kept(model: type[Kept], key: uuid.UUID, farm: Farm, user: User, row: FieldEntry) -> Kept | None:
    """Return what was kept under a key of this person's phone."""
    keys = [key, own_key(key, farm, row.by and user)]
    rows: Any = model._default_manager
    found: Kept | None = rows.filter(key__in=keys, farm=farm, entry=row).first()
    return found


def _require_room(count: int, most: int, words: Callable[[int], str]) -> None:
    if count >= most:
        raise TooManyError(words(most))


def _too_many_photos(most: int) -> str:
    return ngettext(
        "One entry may have %(most)d picture.", "One entry may have %(most)d pictures.", most
    ) % {"most": most}  # fmt: skip


def _too_many_voices(most: int) -> str:
    return ngettext(
        "One entry may have %(most)d recording.", "One entry may have %(most)d recordings.", most
    ) % {"most": most}  # fmt: skip


def _caption(row: FieldEntry) -> str:
    """Return what a picture is of, in the farm's language: many look at it."""
    with override(row.farm.language):
        place = row.opening or row.tunnel
        kind = str(row.get_kind_display())
    return f"{place}: {kind}"[:200] if place else kind


def _at(row: FieldEntry, said: datetime | None, now: datetime) -> datetime:
    """Return when it was made by our clock; of what has no name only the day is kept."""
    return moment_of(said, row.skew_s, now) if row.by_id is not None else row.received_at


def _put(thing: Kept, key: uuid.UUID, farm: Farm, user: User, row: FieldEntry, name: str, data: bytes) -> Kept:
    """Keep a file and its row; where somebody else's row has the key, under one of its own."""
    thing.file.save(name, ContentFile(data), save=False)
    try:
        for thing.key in (key, own_key(key, farm, row.by and user)):
            if retried(lambda: _inserted(thing)):
                return thing
    except Exception:
        thing.file.delete(save=False)
        raise
    thing.file.delete(save=False)
    kept = _kept(type(thing), key, farm, user, row)  # sent twice at the same moment: the other was quicker
    if kept is None:
        raise FileError(_("It could not be kept. It is sent again by itself."))
    return kept


def _inserted(thing: Photo | VoiceNote) -> bool:
    try:
        with transaction.atomic():
            thing.save(force_insert=True)
    except IntegrityError:
        return False
    return True
