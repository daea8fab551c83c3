"""What to ask now: one question for all farms that share the answer, not sooner than the farms ask for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Final, Literal

from django.db.models import F

from maintenance.models import WeatherCell, WeatherSource
from maintenance.skies.sources import Kind, place_of, seat
from maintenance.weather import ForecastError

About = Literal["forecast", "nws_alerts", "cap"]

EARLY: Final = timedelta(minutes=1)  # the beat comes a little before or after its minute
LONGEST_WAIT: Final = timedelta(hours=6)
MOST_DOUBLINGS: Final = 16  # past any limit below; keeps the figure small


@dataclass(slots=True)
class Question:
    """Something to ask a service for one or more farms.

    The row of the place or address that is asked keeps who asked when and how it went; those of alerts stand
    beside the forecasts' cells under kinds of their own.
    """

    about: About
    cell: WeatherCell
    sources: list[WeatherSource] = field(default_factory=list)
    error: ForecastError | None = None  # what went wrong just now

    def wait(self) -> timedelta:
        """Return how long to leave the service alone: twice as long after each failure.

        Never so long that half the age is gone that the farms let a forecast reach.
        """
        usual = timedelta(minutes=min(source.poll_minutes for source in self.sources))
        half = timedelta(hours=min(source.oldest_hours for source in self.sources)) / 2
        doubled = usual * 2 ** min(self.cell.failures, MOST_DOUBLINGS)
        return max(usual, min(doubled, half, LONGEST_WAIT)) if self.cell.failures else usual

    def is_due(self, now: datetime) -> bool:
        """Return whether it may be asked again."""
        return self.cell.asked_at is None or self.cell.asked_at + self.wait() - EARLY <= now


def questions() -> list[Question]:
    """Return what all farms together have to ask, what was asked longest ago first; farms that moved move cells."""
    found: dict[tuple[str, str], Question] = {}
    sources = list(WeatherSource.objects.select_related("farm", "cell").order_by("pk"))
    for source in sources:
        seat(source)
    cells = _cells_of_alerts(sources)
    for source in sources:
        if source.cell is not None:
            _add(found, "forecast", source.cell, source)
        for about, key in _alert_keys(source):
            _add(found, about, cells[about, key], source)
    never = datetime.min
    return sorted(found.values(), key=lambda one: (one.cell.asked_at or never).replace(tzinfo=None))


def claim(question: Question, now: datetime) -> bool:
    """Take a question for this worker alone; False where another was quicker."""
    cell = question.cell
    if not WeatherCell.objects.filter(pk=cell.pk, asked_at=cell.asked_at).update(asked_at=now):
        return False
    cell.asked_at = now
    return True


def note_answer(question: Question, now: datetime) -> None:
    """Note that a service answered, and forget what went wrong before."""
    cell = question.cell
    cell.heard_at, cell.failures, cell.error = now, 0, ""
    cell.save(update_fields=["heard_at", "failures", "error", "validators"])


def note_failure(question: Question, sentence: str) -> None:
    """Note what went wrong once more, counted in the row: another worker may have counted meanwhile."""
    WeatherCell.objects.filter(pk=question.cell.pk).update(failures=F("failures") + 1, error=sentence)
    question.cell.refresh_from_db(fields=["failures", "error"])


def cap_key(url: str) -> str:
    """Return the key of an address; addresses are longer than keys."""
    return sha256(url.encode()).hexdigest()[:60]


def _add(found: dict[tuple[str, str], Question], about: About, cell: WeatherCell, source: WeatherSource) -> None:
    question = found.setdefault((cell.kind, cell.key), Question(about, cell))
    question.sources.append(source)


def _alert_keys(source: WeatherSource) -> Iterable[tuple[About, str]]:
    place = place_of(source.farm)
    if source.kind == Kind.NWS and place:
        yield "nws_alerts", place
    if source.cap_url:
        yield "cap", cap_key(source.cap_url)


def _cells_of_alerts(sources: Iterable[WeatherSource]) -> dict[tuple[str, str], WeatherCell]:
    """Return the rows that keep how the questions for alerts went, made where they are new."""
    wanted: dict[tuple[str, str], WeatherSource] = {}
    for source in sources:
        wanted |= dict.fromkeys(_alert_keys(source), source)
    keys = defaultdict(set)
    for about, key in wanted:
        keys[about].add(key)
    known = {
        (cell.kind, cell.key): cell
        for about, some in keys.items()
        for cell in WeatherCell.objects.filter(kind=about, key__in=some)
    }
    for pair in wanted.keys() - known.keys():
        farm = wanted[pair].farm
        spot = {"latitude_deg": farm.latitude_deg or 0, "longitude_deg": farm.longitude_deg or 0}
        known[pair], _is_new = WeatherCell.objects.get_or_create(kind=pair[0], key=pair[1], defaults=spot)
    return known
