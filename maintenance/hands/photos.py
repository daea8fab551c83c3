"""Pictures: looked at by their content, turned upright and made anew, so that nothing the camera wrote is kept."""

from __future__ import annotations

import hashlib
import io
import uuid
import warnings
from datetime import datetime
from pathlib import Path
from typing import Any, Final

import pillow_heif
from django.conf import settings
from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _
from PIL import Image, ImageOps, UnidentifiedImageError
from PIL.ExifTags import IFD, Base

from farm.models import Farm
from maintenance.models import FieldEntry, Job, Photo, Repair, Storm, StormFinding, StormTask

MOST_BYTES: Final = 12 * 1024 * 1024
MOST_PIXELS: Final = 60_000_000
LONGEST_EDGE: Final = 2000  # pixels
SMALL_EDGE: Final = 480  # pixels
MOST_CAMERA_BYTES: Final = 60_000  # a JPEG has room for 64 kB in one piece
QUALITY: Final = 82
FORMATS: Final = ("JPEG", "PNG", "WEBP", "HEIF")
MOST_PICTURES: Final = 24  # of one fault, job, task or finding
COUNTED: Final = ("repair", "job", "finding", "task")

pillow_heif.register_heif_opener(thumbnails=False)


class PhotoError(Exception):
    """A file is no picture that can be kept; the message says why and what to do."""


def keep_photo(
    *,
    farm: Farm,
    upload: UploadedFile[Any],
    by: User | None,
    now: datetime,
    storm: Storm | None = None,
    task: StormTask | None = None,
    finding: StormFinding | None = None,
    repair: Repair | None = None,
    job: Job | None = None,
    entry: FieldEntry | None = None,
    key: uuid.UUID | None = None,
    moment: str = "",
    caption: str = "",
) -> Photo:
    """Keep a picture of a place; the same picture of the same thing a second time is the first one.

    Parameters
    ----------
    farm, upload, by : Farm, UploadedFile, User
        Whose it is, what was sent, and by whom; nobody for one that was sent without a name.
    now : datetime
        When it was taken.
    storm, task, finding, repair, job, entry : optional
        What it shows.
    key : UUID, optional
        The picture's id, made on the phone: what comes twice under it is kept once.
    moment : {"before", "after", ""}
        Before or after the work.
    caption : str
        What is written below it.

    Raises
    ------
    PhotoError
        If it is no picture that can be kept, or one too many of the same thing.
    """
    if same := _known(farm, key):
        return same
    about: dict[str, Any] = {"storm": storm, "task": task, "finding": finding, "repair": repair, "job": job}
    data, size = made_anew(upload, keeps_data=farm.keeps_photo_data and by is not None)
    digest = hashlib.sha256(data).hexdigest()
    if same := Photo.objects.filter(farm=farm, sha256=digest, moment=moment, **about).order_by("pk").first():
        return same
    _refuse_too_many(about)
    photo = Photo(
        farm=farm, width=size[0], height=size[1], sha256=digest, taken_at=now, by=by, caption=caption[:200],
        moment=moment, key=key, entry=entry, **about,
    )  # fmt: skip
    photo.file.save(f"{farm.pk}-{digest[:24]}.jpg", ContentFile(data), save=False)
    try:
        with transaction.atomic():
            photo.save()
    except IntegrityError:  # the same phone sent it twice at once: one of the two is enough
        photo.file.delete(save=False)
        if same := _known(farm, key):
            return same
        raise
    except Exception:
        photo.file.delete(save=False)
        raise
    return photo


def _known(farm: Farm, key: uuid.UUID | None) -> Photo | None:
    """Return the picture that came under a key already."""
    found = Photo.objects.filter(key=key).first() if key else None
    if found is not None and found.farm_id != farm.pk:
        raise PhotoError(_("A picture with this number was sent before, for something else. Take it once more."))
    return found


def _refuse_too_many(about: dict[str, Any]) -> None:
    """Refuse one picture more than anybody looks at."""
    for name in COUNTED:
        if about[name] is not None and Photo.objects.filter(**{name: about[name]}).count() >= MOST_PICTURES:
            raise PhotoError(
                _("There are %(most)d pictures of this already, the most that are kept. Remove one that shows least.")
                % {"most": MOST_PICTURES}
            )


def remove_photo(*, photo: Photo) -> None:
    """Remove a picture for good, with its files."""
    small = _small(photo)
    photo.delete()
    photo.file.delete(save=False)
    small.unlink(missing_ok=True)


def made_anew(upload: UploadedFile[Any], *, keeps_data: bool = False) -> tuple[bytes, tuple[int, int]]:
    """Return a picture as a plain upright JPEG of at most 2000 pixels, and its size.

    What the camera wrote into it, such as where it was taken, goes along only where ``keeps_data`` says so.

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
                return _drawn(picture, LONGEST_EDGE, _camera_data(picture) if keeps_data else b"")
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
    kept = _small(photo)
    if kept.is_file():
        return kept.read_bytes()
    with photo.file.open("rb") as file, Image.open(file, formats=("JPEG",)) as picture:
        data, _size = _drawn(picture, SMALL_EDGE)
    kept.parent.mkdir(parents=True, exist_ok=True)
    draft = kept.with_suffix(f".{hashlib.sha256(data).hexdigest()[:8]}")
    draft.write_bytes(data)
    draft.replace(kept)
    return data


def _small(photo: Photo) -> Path:
    """Return where a small copy of a picture lies."""
    return Path(settings.MEDIA_ROOT) / "small" / f"{photo.pk}-{photo.sha256[:24]}.jpg"


def _camera_data(picture: Image.Image) -> bytes:
    """Return what the camera wrote, but for how the picture lies: it is made upright."""
    data = Image.Exif()
    data.load(picture.getexif().tobytes())  # a copy: the picture is turned by its own
    for part in (IFD.Exif, IFD.GPSInfo):
        data.get_ifd(part)  # read it now: it is written back only then
    data.pop(Base.Orientation, None)
    plain = data.tobytes()
    return plain if len(plain) <= MOST_CAMERA_BYTES else b""


def _drawn(picture: Image.Image, edge: int, camera_data: bytes = b"") -> tuple[bytes, tuple[int, int]]:
    """Return the bare pixels on white, upright: a new picture has no metadata to lose."""
    picture.draft("RGB", (edge, edge))
    upright = ImageOps.exif_transpose(picture)
    upright.thumbnail((edge, edge))
    seen = upright.convert("RGBA")
    paper = Image.new("RGB", seen.size, "white")
    paper.paste(seen, mask=seen.getchannel("A"))
    out = io.BytesIO()
    paper.save(out, "JPEG", quality=QUALITY, optimize=True, exif=camera_data)
    return out.getvalue(), paper.size
