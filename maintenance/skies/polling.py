"""The weather services are asked: one question for all farms in a cell, outside any transaction.

What goes wrong is kept as a sentence, and the service is left alone for twice as long each time.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import Any, Final

from django.conf import settings
from django.utils import translation

from maintenance.models import WeatherCell, WeatherSource
from maintenance.skies.alerts import hear_again, keep_alerts
from maintenance.skies.keeping import drop_old, keep_forecast
from maintenance.skies.questions import Question, claim, note_answer, note_failure, questions
from maintenance.skies.sources import OF_CAP, OF_NWS, Kind, found_grid, grid_of, place_of
from maintenance.weather import Alerts, Forecast, ForecastError, GridAddress
from maintenance.weather.client import (
    Caller,
    Fetched,
    Validators,
    fetch_cap,
    fetch_nws,
    fetch_nws_alerts,
    fetch_nws_grid,
    fetch_open_meteo,
)
from maintenance.words.skies import problem_text

LONGEST_ERROR: Final = 300
LOOK_AGAIN: Final = 3  # failures in a row after which a cell of NWS is looked up anew: its grids move
LATEST: Final = "latest"  # in a cell's validators: those of its last answer
FARMS: Final = "farms"  # and the farms that have that answer

BaseUrls = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Round:
    """One round of questions: when, whom, how, and what was asked so far."""

    now: datetime
    urls: BaseUrls
    caller: Caller
    asked: list[Question] = field(default_factory=list)


def poll_sources(
    *, now: datetime, base_urls: BaseUrls | None = None, caller: Caller | None = None,
    is_enough: Callable[[], bool] = lambda: False,
) -> int:  # fmt: skip
    """Ask the services what farms wait for, and return how many questions were asked.

    Any number of workers may do this at once: each question is claimed. What ``is_enough`` leaves over is asked
    next time, before all that was asked now.
    """
    this = Round(now, base_urls or settings.WEATHER_SERVICES, caller or own_caller())
    known = questions()
    for question in known:
        if is_enough():
            break
        _ask(question, this)
    _tell([*known, *this.asked])
    drop_old(now=now)
    return len(this.asked)


def own_caller() -> Caller:
    """Return how this program names itself to the services: with whom to write to when it misbehaves."""
    return Caller(f"Gablekeep ({settings.PUSH_CONTACT or settings.PUBLIC_ADDRESS})")


def _ask(question: Question, this: Round) -> None:
    """Ask a question that is due, unless another worker does."""
    if not question.is_due(this.now) or not claim(question, this.now):
        return
    this.asked.append(question)
    try:
        if question.about == "forecast":
            _ask_forecast(question, this)
        else:
            _ask_alerts(question, this)
    except ForecastError as error:
        question.error = error
        note_failure(question, str(error)[:LONGEST_ERROR])
    else:
        note_answer(question, this.now)


# Forecasts -------------------------------------------------------------------------


def _ask_forecast(question: Question, this: Round) -> None:
    if question.cell.kind != Kind.NWS or not _may_have_moved(question.cell):
        return _hear_forecast(question, this)
    for seated in _looked_up(question, this):
        if seated.cell.pk == question.cell.pk:
            _hear_forecast(question, this)
        else:
            _ask(seated, this)
    return None


def _hear_forecast(question: Question, this: Round) -> None:
    fetched = _fetch_forecast(question.cell, this)
    if fetched.result is not None:
        keep_forecast(forecast=fetched.result, original=fetched.bodies[-1].content, cell=question.cell)
    _keep_validators(question, fetched)


def _fetch_forecast(cell: WeatherCell, this: Round) -> Fetched[Forecast]:
    latitude, longitude = float(cell.latitude_deg), float(cell.longitude_deg)
    asked: dict[str, Any] = {"caller": this.caller, "now": this.now, "base_url": this.urls[cell.kind]}
    asked["validators"] = _validators(cell) if cell.forecasts.exists() else None
    if cell.kind == Kind.NWS:
        return fetch_nws(latitude, longitude, grid=grid_of(cell), **asked)
    return fetch_open_meteo(latitude, longitude, **asked)


def _may_have_moved(cell: WeatherCell) -> bool:
    """Whether to ask in which cell the farms lie: nobody has yet, or the one that was named keeps failing."""
    return grid_of(cell) is None or (cell.failures > 0 and cell.failures % LOOK_AGAIN == 0)


def _looked_up(question: Question, this: Round) -> list[Question]:
    """Return the cells in which the farms of a question lie by NWS's own word, a question for each."""
    found: dict[int, Question] = {}
    grids: dict[str, GridAddress] = {}
    for source in question.sources:
        place = place_of(source.farm)
        if place not in grids:
            latitude, longitude = map(float, place.split(","))
            grids[place] = fetch_nws_grid(latitude, longitude, caller=this.caller, base_url=this.urls[Kind.NWS])
        cell = found_grid(source, grids[place])
        found.setdefault(cell.pk, Question("forecast", cell)).sources.append(source)
    return list(found.values())


# Alerts ----------------------------------------------------------------------------


def _ask_alerts(question: Question, this: Round) -> None:
    origin = OF_NWS if question.about == "nws_alerts" else OF_CAP
    fetched = _fetch_alerts(question, this)
    for source in question.sources:
        if fetched.result is None:
            hear_again(farm=source.farm, origin=origin, now=this.now)
        else:
            keep_alerts(farm=source.farm, origin=origin, alerts=fetched.result.alerts, now=this.now)
    _keep_validators(question, fetched)


def _fetch_alerts(question: Question, this: Round) -> Fetched[Alerts]:
    """Return the alerts; all of them where a farm asks that was not there the last time."""
    has_all = {source.farm_id for source in question.sources} <= set(question.cell.validators.get(FARMS, ()))
    asked: dict[str, Any] = {"caller": this.caller, "now": this.now}
    asked["validators"] = _validators(question.cell) if has_all else None
    if question.about == "cap":
        return fetch_cap(question.sources[0].cap_url, **asked)
    latitude, longitude = map(float, question.cell.key.split(","))
    return fetch_nws_alerts(latitude, longitude, base_url=this.urls[Kind.NWS], **asked)


# What is known of a service ----------------------------------------------------------


def _validators(cell: WeatherCell) -> Validators:
    known = cell.validators.get(LATEST, {})
    return Validators(known.get("etag", ""), known.get("last_modified", ""))


def _keep_validators(question: Question, fetched: Fetched[Any]) -> None:
    farms = sorted(source.farm_id for source in question.sources)
    question.cell.validators = {**question.cell.validators, LATEST: asdict(fetched.validators), FARMS: farms}


def _tell(questions: Iterable[Question]) -> None:
    """Write beside each farm's source what stands wrong with any of its questions, in the farm's language."""
    wrong: dict[int, list[Question]] = defaultdict(list)
    sources = {}
    for question in questions:
        for source in question.sources:
            sources[source.pk] = source
            if question.cell.failures:
                wrong[source.pk].append(question)
    for source in sources.values():
        with translation.override(source.farm.language):
            sentence = " ".join(dict.fromkeys(map(_sentence, wrong[source.pk])))[:LONGEST_ERROR]
        WeatherSource.objects.filter(pk=source.pk).exclude(error=sentence).update(error=sentence)


def _sentence(question: Question) -> str:
    return problem_text(question.error) if question.error else question.cell.error
