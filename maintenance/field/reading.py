"""What a phone sends, read with suspicion: one parcel of entries, and each entry with what can be used of it.

Nothing here looks at the database. What cannot be read is said in a sentence and never thrown away.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from doors.models import Component, FailureMode
from maintenance.models import ScrewCheck
from maintenance.models.field import FieldEntry

MOST_ENTRIES: Final = 100
MOST_BYTES: Final = 256 * 1024
MOST_ID: Final = 2**63 - 1
MOST_MINUTES: Final = 60 * 24 * 7
MOST_QUANTITY: Final = Decimal(10**8)
MOST_LINES: Final = 200  # parts, ticks, screws
LONGEST_TEXT: Final = 2000
LONGEST_REASON: Final = 300
LONGEST_SPOT: Final = 80
Kind = FieldEntry.Kind
KINDS: Final = frozenset(Kind.values)
OUTCOMES: Final = frozenset(ScrewCheck.Outcome.values)


class ParcelError(Exception):
    """A whole parcel cannot be read; the message says why."""


class FieldError(Exception):
    """One field of an entry cannot be used; the message says which and why."""


@dataclass(frozen=True, slots=True)
class Parcel:
    """Entries as they came, and when they left by the phone's clock."""

    sent_at: datetime | None
    entries: tuple[Any, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What one entry says, each thing in its type; ``payload`` is all of it as it came."""

    payload: dict[str, Any]
    kind: str
    made_at: datetime | None
    door: int | None = None
    tunnel: int | None = None
    task: int | None = None
    job: int | None = None
    repair: int | None = None
    parent: uuid.UUID | None = None
    mode: str = ""
    part: str = ""
    text: str = ""
    reason: str = ""
    minutes: int | None = None
    parts: tuple[tuple[int, Decimal], ...] = ()
    ticks: tuple[int, ...] = ()
    screws: tuple[tuple[str, str], ...] = ()
    is_critical: bool = False
    is_anonymous: bool = False
    problem: str = ""  # why it is not understood


def read_parcel(data: bytes) -> Parcel:
    """Read what a phone posted.

    Raises
    ------
    ParcelError
        If it is no JSON of the expected shape, or holds more entries than one parcel may.
    """
    try:
        body = json.loads(data, parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        raise ParcelError(_("This is no JSON that can be read. Nothing was taken; send it again.")) from error
    entries = body.get("entries") if isinstance(body, dict) else None
    if not isinstance(entries, list):
        raise ParcelError(_("The entries are missing. Nothing was taken; send it again."))
    if len(entries) > MOST_ENTRIES:
        raise ParcelError(_("Send at most %(most)d entries at once.") % {"most": MOST_ENTRIES})
    return Parcel(read_moment(body.get("sent_at")), tuple(cleaned(one) for one in entries))


def read_entry(raw: Any) -> Entry:
    """Read one entry; what cannot be used is left out and named in ``problem``."""
    payload = raw if isinstance(raw, dict) else {"raw": raw}
    given, problems = {}, []
    for name, (field, read) in FIELDS.items():
        value = payload.get(name)
        if value is None or value == "":
            continue
        try:
            given[field] = read(value)
        except FieldError as error:
            problems.append(str(error))
        except (KeyError, ValueError, TypeError, OverflowError, InvalidOperation):
            problems.append(_("“%(field)s” cannot be read.") % {"field": name})
    kind = str(payload.get("kind") or "")
    if kind not in KINDS:
        problems.insert(0, _("This kind of entry is not known here."))
    return Entry(
        payload=payload, kind=kind[:12], made_at=read_moment(payload.get("made_at")),
        problem=" ".join(problems)[:LONGEST_REASON], **given,
    )  # fmt: skip


def read_moment(value: Any) -> datetime | None:
    """Return a moment of ISO 8601 with its offset from UTC; None for anything else."""
    if not isinstance(value, str) or len(value) > 40:
        return None
    try:
        moment = parse_datetime(value)
        return moment.astimezone(UTC) if moment is not None and moment.tzinfo is not None else None
    except (ValueError, OverflowError):
        return None


def read_key(value: Any) -> uuid.UUID | None:
    """Return the number a phone gave to something; None where it is no UUID as RFC 9562 writes it."""
    if not isinstance(value, str) or len(value) != 36:
        return None
    try:
        return uuid.UUID(value)
    except ValueError:
        return None


def cleaned(value: Any) -> Any:
    """Return JSON without what a database cannot keep: null characters and halves of surrogate pairs."""
    if isinstance(value, str):
        return value.replace("\x00", "").encode("utf-8", "replace").decode()
    if isinstance(value, list):
        return [cleaned(one) for one in value]
    if isinstance(value, dict):
        return {cleaned(name): cleaned(one) for name, one in value.items()}
    return value


def _no_constant(name: str) -> Any:
    raise ValueError(f"{name} is no JSON")


def _row(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 < value <= MOST_ID:
        raise ValueError
    return value


def _whole(value: Any, most: int = MOST_MINUTES) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= most:
        raise ValueError
    return value


def _minutes(value: Any) -> int:
    try:
        return _whole(value)
    except ValueError as error:
        raise FieldError(_("Minutes are a number from 0 to %(most)s.") % {"most": MOST_MINUTES}) from error


def _text(longest: int) -> Callable[[Any], str]:
    def read(value: Any) -> str:
        if not isinstance(value, str):
            raise ValueError
        return value.strip()[:longest]

    return read


def _one_of(values: Sequence[str]) -> Callable[[Any], str]:
    """Read a key of ours; one that is no longer known is left out, for the rest says enough."""

    def read(value: Any) -> str:
        return value if isinstance(value, str) and value in values else ""

    return read


def _parent(value: Any) -> uuid.UUID:
    key = read_key(value)
    if key is None:
        raise ValueError
    return key


def _lines(value: Any) -> Sequence[Any]:
    if not isinstance(value, list) or len(value) > MOST_LINES:
        raise ValueError
    return value


def _parts(value: Any) -> tuple[tuple[int, Decimal], ...]:
    return tuple((_row(line["material"]), _quantity(line["quantity"])) for line in map(_mapping, _lines(value)))


def _quantity(value: Any) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, str | int | float) or len(str(value)) > 20:
        raise FieldError(_("Write how many, more than 0."))
    number = Decimal(str(value).strip().replace(",", "."))
    if not number.is_finite() or not 0 < number < MOST_QUANTITY or number != number.quantize(Decimal("0.01")):
        raise FieldError(_("Write how many, more than 0."))
    return number


def _ticks(value: Any) -> tuple[int, ...]:
    return tuple(sorted({_whole(line, MOST_LINES) for line in _lines(value)}))


def _screws(value: Any) -> tuple[tuple[str, str], ...]:
    rows = [(str(line["spot"]).strip()[:LONGEST_SPOT], line["outcome"]) for line in map(_mapping, _lines(value))]
    if any(not spot or outcome not in OUTCOMES for spot, outcome in rows):
        raise FieldError(_("Say of each screw what it did: tight, turned, spun or missing."))
    return tuple(rows)


def _mapping(line: Any) -> Mapping[str, Any]:
    if not isinstance(line, Mapping):
        raise ValueError
    return line


def _flag(value: Any) -> bool:
    if not isinstance(value, bool):
        raise ValueError
    return value


FIELDS: Final[Mapping[str, tuple[str, Callable[[Any], Any]]]] = {
    "door": ("door", _row), "tunnel": ("tunnel", _row), "task": ("task", _row), "job": ("job", _row),
    "repair": ("repair", _row), "parent": ("parent", _parent), "mode": ("mode", _one_of(FailureMode.values)),
    "part": ("part", _one_of(Component.Kind.values)), "text": ("text", _text(LONGEST_TEXT)),
    "reason": ("reason", _text(LONGEST_REASON)), "minutes": ("minutes", _minutes), "parts": ("parts", _parts),
    "ticks": ("ticks", _ticks), "screws": ("screws", _screws), "critical": ("is_critical", _flag),
    "anonymous": ("is_anonymous", bool),  # whatever the phone says but no
}  # fmt: skip
