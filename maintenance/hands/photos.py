"""Pictures: looked at by their content, turned upright and made anew, so that nothing the camera wrote is kept."""

from __future__ import annotations

import hashlib
import io
import warnings
from datetime import datetime
from pathlib import Path
from typing import Any, Final

import pillow_heif
from django.conf import settings
from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _
from PIL import Image, ImageOps, UnidentifiedImageError

from farm.models import Farm
from maintenance.models import Photo, Storm, StormFinding, StormTask
from maintenance.models.faults import Repair

MOST_BYTES: Final = 12 * 1024 * 1024
MOST_PIXELS: Final = 60_000_000
LONGEST_EDGE: Final = 2000  # pixels
SMALL_EDGE: Final = 480  # pixels
QUALITY: Final = 82
FORMATS: Final = ("JPEG", "PNG", "WEBP", "HEIF")

pillow_heif.register_heif_opener(thumbnails=False)


class PhotoError(Exception):
    """A file is no picture that can be kept; the message says why and what to do."""


def keep_photo(
    *,
    farm: Farm,
    upload: UploadedFile[Any],
    by: User,
    now: datetime,
    storm: Storm | None = None,
    task: StormTask | None = None,
    finding: StormFinding | None = None,
    repair: Repair | None = None,
    caption: str = "",
) -> Photo:
    """Keep a picture of a place; the same picture of the same thing a second time is the first one."""
    data, size = made_anew(upload)
    digest = hashlib.sha256(data).hexdigest()
    about: dict[str, Any] = {"storm": storm, "task": task, "finding": finding, "repair": repair}
    if same := Photo.objects.filter(farm=farm, sha256=digest, **about).first():
        return same
    photo = Photo(
        farm=farm, width=size[0], height=size[1], sha256=digest, taken_at=now, by=by, caption=caption[:200], **about
    )
    photo.file.save(f"{farm.pk}-{digest[:24]}.jpg", ContentFile(data), save=False)
    try:
        photo.save()
    except Exception:
        photo.file.delete(save=False)
        raise
    return photo


def made_anew(upload: UploadedFile[Any]) -> tuple[bytes, tuple[int, int]]:
    """Return a picture as a plain upright JPEG of at most 2000 pixels, and its size.

    Raises
    ------
    PhotoError
        If the file is too large, no picture, or of more pixels than any camera here takes.
    """
    if (upload.size or 0) > MOST_BYTES:
        raise PhotoError(_("The picture is larger than %(most)d MB. Take it with a lower resolution.") % {"most": 12})
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(upload, formats=FORMATS) as picture:
                if picture.width * picture.height > MOST_PIXELS:
                    raise PhotoError(_("The picture has more than %(most)d million pixels. Take a smaller one.")
                                     % {"most": MOST_PIXELS // 1_000_000})  # fmt: skip
                return _drawn(picture, LONGEST_EDGE)
    except (Image.DecompressionBombWarning, Image.DecompressionBombError) as error:
        raise PhotoError(_("The picture has more than %(most)d million pixels. Take a smaller one.")
                         % {"most": MOST_PIXELS // 1_000_000}) from error  # fmt: skip
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, EOFError) as error:
        raise PhotoError(
            _("This file is no picture that can be read. Send a photo as JPEG, PNG, WebP or HEIC, whole.")
        ) from error


def bytes_of(photo: Photo, *, is_small: bool) -> bytes:
    """Return a picture, or a small one that is made at the first look and kept."""
    if not is_small:
        with photo.file.open("rb") as file:
            return bytes(file.read())
    kept = Path(settings.MEDIA_ROOT) / "small" / f"{photo.pk}-{photo.sha256[:24]}.jpg"
    if kept.is_file():
        return kept.read_bytes()
    with photo.file.open("rb") as file, Image.open(file, formats=("JPEG",)) as picture:
        data, _size = _drawn(picture, SMALL_EDGE)
    kept.parent.mkdir(parents=True, exist_ok=True)
    draft = kept.with_suffix(f".{hashlib.sha256(data).hexdigest()[:8]}")
    draft.write_bytes(data)
    draft.replace(kept)
    return data


def _drawn(picture: Image.Image, edge: int) -> tuple[bytes, tuple[int, int]]:
    """Return the bare pixels on white, upright: a new picture has no metadata to lose."""
    picture.draft("RGB", (edge, edge))
    upright = ImageOps.exif_transpose(picture)
    upright.thumbnail((edge, edge))
    seen = upright.convert("RGBA")
    paper = Image.new("RGB", seen.size, "white")
    paper.paste(seen, mask=seen.getchannel("A"))
    out = io.BytesIO()
    paper.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue(), paper.size
