"""When the forecast lets people do the work that minds the weather: windows, or what stands in their way."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from django.db.models import F, Q

from doors.models import StockMove
from farm.models import Farm
from maintenance.ages.ageing import FILMS
from maintenance.calm import HoldUps, Needs, Spell, Window, calm_windows, hold_ups
from maintenance.models import Job, WeatherSource
from maintenance.skies.latest import Sky, Stretch, daylight_of, forecast_of, place_known, shifts_of, source_of
from maintenance.storm.spells import Spell as StormSpell
from maintenance.storm.spells import gust_of
from maintenance.weather import Spell as WeatherSpell
from maintenance.words.places import repair_of
from maintenance.work.jobcard import PartLine, book_of, line_of

MOST: Final = 5
PULL: Final = timedelta(hours=2)  # pulling a sheet over and fixing its edges; common practice, no source
FILM: Final = "film"  # as the parts of a routine name it
CALMEST: Final = F("plan__routine__most_gust_m_s").asc(nulls_last=True)
MINDS: Final = (
    Q(plan__routine__needs_dry=True)
    | Q(plan__routine__needs_daylight=True)
    | Q(plan__routine__most_gust_m_s__isnull=False)
    | Q(plan__routine__least_temperature_k__isnull=False)
)


@dataclass(frozen=True, slots=True)
class Offer:
    """A job that minds the weather, and when the forecast lets it be done.

    Attributes
    ----------
    windows : tuple of Window
        Within working hours, from now on; none where ``hold_ups`` say what stands in the way.
    lacking : tuple of PartLine
        The parts of which the store holds too little.
    has_sheet : bool
        Whether film lies in the store for a job that takes some.
    is_held : bool
        Whether other work comes first, such as a look at the frame before its film.
    """

    job: Job
    needs: Needs
    windows: tuple[Window, ...]
    hold_ups: HoldUps
    lacking: tuple[PartLine, ...]
    has_sheet: bool
    is_held: bool

    @property
    def has_parts(self) -> bool:
        """Whether nothing is lacking in the store."""
        return not self.lacking


@dataclass(frozen=True, slots=True)
class Calm:
    """What the forecast offers a farm: jobs with their windows, and what they are reckoned from."""

    sky: Sky | None
    offers: tuple[Offer, ...]


def offers(
    *, farm: Farm, now: datetime, jobs: Sequence[Job] | None = None, most: int = MOST, sky: Sky | None = None
) -> list[Offer]:
    """Return the jobs that mind the weather with their windows: film that is late first, then by their last day.

    Without a forecast, or with one that is too old to plan by, there are none.
    """
    source = source_of(farm)
    sky = sky or forecast_of(farm=farm, now=now, source=source)
    found = waiting(farm=farm, now=now, most=most) if jobs is None else list(jobs)
    if sky is None or sky.is_stale or not found:
        return []
    spells = spells_of(sky.spells, source)
    shifts, light = _times(farm, now, spells)
    book, lies = book_of(farm), StockMove.objects.of(farm).balances()
    has_place = place_known(farm)
    return [
        _offer(
            job,
            needs_of(job, has_place=has_place),
            spells,
            shifts,
            light,
            [line_of(line, book, lies) for line in job.plan.routine.parts],
        )
        for job in found
    ]


def calm_of(*, farm: Farm, now: datetime, jobs: Sequence[Job] | None = None, most: int = MOST) -> Calm:
    """Return the offers beside the forecast they come from, so that a page can say how old it is."""
    sky = forecast_of(farm=farm, now=now)
    return Calm(sky, tuple(offers(farm=farm, now=now, jobs=jobs, most=most, sky=sky)) if sky else ())


def minds_weather(job: Job) -> bool:
    """Return whether a job asks anything of the weather or the light."""
    routine = job.plan.routine
    limits = (routine.most_gust_m_s, routine.least_temperature_k)
    return routine.needs_dry or routine.needs_daylight or any(limit is not None for limit in limits)


def needs_of(job: Job, *, has_place: bool) -> Needs:
    """Return what a job asks of the weather; without the farm's place nobody knows when it gets light."""
    routine, repair = job.plan.routine, repair_of(job)
    whole = timedelta(minutes=(repair and repair.minutes) or routine.minutes)
    return Needs(
        most_gust=_number(routine.most_gust_m_s), is_dry=routine.needs_dry,
        least_temperature=_number(routine.least_temperature_k), needs_daylight=routine.needs_daylight and has_place,
        least_length=min(whole, PULL) if _is_film(job) else whole,
    )  # fmt: skip


def spells_of(spells: Iterable[WeatherSpell], source: WeatherSource) -> list[Spell]:
    """Return a forecast as work meets it on this farm: its own gusts, and the upper ones where it acts on them."""
    factor = float(source.gust_factor)
    return [_spell(one, factor, upper=source.acts_on_upper) for one in spells]


def _spell(spell: WeatherSpell, factor: float, *, upper: bool) -> Spell:
    gust = gust_of(StormSpell(**asdict(spell)), upper=upper).speed
    return Spell(
        start=spell.start, end=spell.end, gust=None if gust is None else gust * factor, rain=spell.rain,
        temperature=spell.temperature,
    )  # fmt: skip


def waiting(*, farm: Farm, now: datetime, most: int = MOST, only_film: bool = False) -> list[Job]:
    """Return the jobs to find a time for: late film first, what needs the calmest air on top; then by the last day."""
    today = now.astimezone(farm.zone).date()
    jobs = Job.objects.of(farm).undone().filter(MINDS).for_list().order_by("until_on", "pk")
    jobs = jobs.filter(plan__component__kind__in=FILMS) if only_film else jobs
    first = Q(until_on__lt=today, plan__component__kind__in=FILMS)
    late_film = list(jobs.filter(first).order_by(CALMEST, "until_on", "pk")[:most])
    return (late_film + list(jobs.exclude(pk__in=[job.pk for job in late_film])[:most]))[:most]


def _times(farm: Farm, now: datetime, spells: Sequence[Spell]) -> tuple[list[Stretch], list[Stretch]]:
    """Return working hours from now on, and daylight, as far as the forecast reaches."""
    start = now.astimezone(farm.zone).date()
    last = max((spell.end for spell in spells), default=now).astimezone(farm.zone).date()
    days = max((last - start).days + 1, 1)
    shifts = shifts_of(farm=farm, start=start, days=days)
    left = [(max(begins, now), ends) for begins, ends in shifts if ends > now]
    return left, daylight_of(farm=farm, start=start, days=days)


def _offer(
    job: Job,
    needs: Needs,
    spells: Sequence[Spell],
    shifts: Sequence[Stretch],
    light: Sequence[Stretch],
    parts: Sequence[PartLine],
) -> Offer:
    return Offer(
        job=job, needs=needs,
        windows=tuple(calm_windows(spells, needs, daylight=light, shifts=shifts)),
        hold_ups=hold_ups(spells, needs, daylight=light, shifts=shifts),
        lacking=tuple(line for line in parts if line.is_short),
        has_sheet=any(line.code == FILM and not line.is_short for line in parts),
        is_held=bool(getattr(job, "is_held", False)),
    )  # fmt: skip


def _is_film(job: Job) -> bool:
    part = job.plan.component
    return part is not None and part.kind in FILMS


def _number(value: Decimal | None) -> float | None:
    return None if value is None else float(value)
