"""Pictures and voices of a farm's file: each looked at by its content, then kept under a name of its own."""

from __future__ import annotations

import hashlib
import io
import warnings
from typing import Any

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils.translation import gettext as _
from PIL import Image, UnidentifiedImageError

from maintenance.field.pictures import MOST_VOICE_BYTES, SNIFFED, kind_of
from maintenance.hands.photos import MOST_PIXELS
from maintenance.models import Photo, VoiceNote
from maintenance.wholefarm.errors import FarmFileError
from maintenance.wholefarm.looking import FILE_NAME, Opened

END_OF_IMAGE = b"\xff\xd9"  # ITU-T T.81, B.1.1.3
UNREADABLE = (
    UnidentifiedImageError, OSError, SyntaxError, ValueError, EOFError, Image.DecompressionBombWarning,
    Image.DecompressionBombError,
)  # fmt: skip


class Files:
    """The files taken in so far, to be removed again where the farm is refused."""

    def __init__(self, source: Opened) -> None:
        self.source, self.kept = source, list[str]()

    def keep(self, row: Photo | VoiceNote, name: str) -> str:
        """Keep the file of a row and return its name in the storage; one that was missing stays missing."""
        match = FILE_NAME.fullmatch(name)
        if match is None or (match[1] or match[2]) != row.sha256 or bool(match[1]) != isinstance(row, Photo):
            raise FarmFileError(_("“%(name)s” is no name of a picture or a voice here.") % {"name": name[:100]})
        field: Any = row._meta.get_field("file")
        wanted = field.generate_filename(row, f"{row.farm_id}-{row.sha256[:24]}.{name.rpartition('.')[2]}")
        if name in self.source.missing:
            return str(wanted)
        if name not in self.source.pack.NameToInfo:
            raise FarmFileError(_("%(name)s is missing. Take the file as it was made.") % {"name": name})
        data = self.source.read(name)
        check_picture(row, data) if isinstance(row, Photo) else check_voice(row, data)
        kept = default_storage.save(wanted, ContentFile(data))
        self.kept.append(kept)
        return kept

    def remove(self) -> None:
        """Remove what was kept."""
        for name in self.kept:
            default_storage.delete(name)


def check_picture(row: Photo, data: bytes) -> None:
    """Refuse what is not a plain JPEG of the size its row says, without anything a camera wrote."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=("JPEG",)) as picture:
                fits = picture.size == (row.width, row.height) and picture.width * picture.height <= MOST_PIXELS
                is_bare = not picture.getexif() and data.endswith(END_OF_IMAGE)
                if fits and is_bare:
                    picture.load()
    except UNREADABLE as error:
        raise _refused(row.sha256) from error
    if not (fits and is_bare) or hashlib.sha256(data).hexdigest() != row.sha256:
        raise _refused(row.sha256)


def check_voice(row: VoiceNote, data: bytes) -> None:
    """Refuse what is no recording of the kind its row says."""
    found = kind_of(data[:SNIFFED])
    if found is None or found[0] != row.media_type or len(data) > MOST_VOICE_BYTES:
        raise _refused(row.sha256)


def _refused(sha256: str) -> FarmFileError:
    text = _("The file %(name)s… is no picture or recording as this program keeps them. It was not taken in.")
    return FarmFileError(text % {"name": sha256[:12]})
