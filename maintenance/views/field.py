"""What the crew's phones ask for and send. Every answer is JSON; nothing here redirects."""

from __future__ import annotations

from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.db import OperationalError
from django.http import HttpResponse, HttpResponseNotModified
from django.middleware.csrf import get_token
from django.utils import timezone
from django.utils.http import parse_etags
from django.utils.translation import gettext as _
from django.views.decorators.gzip import gzip_page

from farm.access import FarmRequest
from maintenance.field import pictures, reading
from maintenance.field.bundle import bundle_of
from maintenance.field.taking import take_in
from maintenance.hands.photos import MOST_BYTES as MOST_PHOTO_BYTES
from maintenance.hands.photos import PhotoError
from maintenance.views.field_access import answer, refusal, script_member
from maintenance.views.jobs import user_of
from maintenance.words.said import person

FORM_BYTES = 64 * 1024  # what a form takes beside its file


@gzip_page  # it holds no secret beside what somebody else wrote
@script_member("viewer", methods=("GET", "HEAD"))
def bundle(request: FarmRequest) -> HttpResponse:
    """Return what a phone carries; nothing where it has that already."""
    now = timezone.now()
    content, version = bundle_of(membership=request.membership, farm=request.farm, now=now)
    etag = f'W/"{version}"'
    seen = parse_etags(request.headers.get("If-None-Match", ""))
    response: HttpResponse
    if version in {tag.removeprefix("W/").strip('"') for tag in seen}:
        response = HttpResponseNotModified()
    else:
        response = answer(made_at=now.isoformat(), version=version, **content)
    response["ETag"] = etag
    response["Cache-Control"] = "private, no-cache"
    return response


@script_member("viewer", methods=("GET", "HEAD"))
def token(request: FarmRequest) -> HttpResponse:
    """Return a fresh token for what is sent next, and whose it is."""
    who = {"id": request.user.pk, "name": person(request.user), "role": request.membership.role}
    return answer(csrf=get_token(request), person=who)


@script_member("crew", methods=("POST",), most_bytes=reading.MOST_BYTES)
def entries(request: FarmRequest) -> HttpResponse:
    """Take in what was noted; each entry is answered by its own number."""
    now = timezone.now()
    data = request.body
    if len(data) > reading.MOST_BYTES:
        return refusal(413, _("This is more than can be taken at once. Send less."))
    try:
        parcel = reading.read_parcel(data)
        taken = take_in(
            membership=request.membership, user=user_of(request), phone=getattr(request, "known_phone", None),
            parcel=parcel, now=now,
        )  # fmt: skip
    except reading.ParcelError as error:
        return refusal(400, str(error))
    except OperationalError:
        return refusal(503, _("The farm's computer is busy. It is sent again by itself."))
    return answer(entries=[{"id": one.id, "state": one.state, "reason": one.reason} for one in taken])


@script_member("crew", methods=("POST",), most_bytes=MOST_PHOTO_BYTES + FORM_BYTES)
def photos(request: FarmRequest) -> HttpResponse:
    """Keep a picture of an entry."""
    return _file(
        request, pictures.keep_picture, moment=request.POST.get("moment", ""),
        taken_at=reading.read_moment(request.POST.get("taken_at")),
    )  # fmt: skip


@script_member("crew", methods=("POST",), most_bytes=pictures.MOST_VOICE_BYTES + FORM_BYTES)
def voices(request: FarmRequest) -> HttpResponse:
    """Keep a spoken note of an entry."""
    return _file(request, pictures.keep_voice, made_at=reading.read_moment(request.POST.get("made_at")))


def _file(request: FarmRequest, keep: Any, **given: Any) -> HttpResponse:
    """Keep a file under the key its phone gave it, or say why not."""
    name, upload = request.POST.get("key", ""), request.FILES.get("file")
    key = reading.read_key(name)
    if key is None or not isinstance(upload, UploadedFile) or not upload.size:
        return refusal(400, _("The file, or its number, is missing. Send it again."))
    try:
        keep(farm=request.farm, user=user_of(request), key=key, entry=request.POST.get("entry", ""), upload=upload,
             now=timezone.now(), **given)  # fmt: skip
    except pictures.NoEntryError as error:
        return refusal(409, str(error))
    except pictures.TooManyError as error:
        return refusal(413, str(error))
    except (pictures.FileError, PhotoError) as error:
        return refusal(400, str(error))
    except OperationalError:
        return refusal(503, _("The farm's computer is busy. It is sent again by itself."))
    return answer(key=name, state="taken")
