"""A routine of the trade as data: its words in two languages side by side, its numbers in SI."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from doors.models import Component
from farm.models import Farm, Opening
from maintenance.models import Routine
from maintenance.practice.needs import Need

Said = tuple[str, str]  # English, Spanish
LANGUAGES: Final = ("en", "es")

Answer = Routine.Answer
Rhythm = Routine.Rhythm
Season = Routine.Season
Target = Routine.Target
Trigger = Routine.Trigger
Part = Component.Kind
Door = Opening.Kind
FILM_DOORS: Final = (Door.MID_BAR, Door.BOTTOM_BAR)

NO_SOURCE: Final = "common practice, no source"
OUR_OWN: Final = "our own planning value"

_MPH: Final = Decimal("0.44704")  # m/s, exact
BRINGS_ON: Final = {  # what each trigger must be told; no other may be told it
    Trigger.SEASON: {"season"},
    Trigger.CALENDAR: {"rule"},
    Trigger.FITTED: {"after_days"},
    Trigger.DONE: {"after_days"},
    Trigger.GUST: {"gust_m_s"},
    Trigger.STORMS: {"after_count"},
    Trigger.CYCLES: {"after_count"},
}
FALLBACK: Final = {Trigger.AGE: {"after_days"}}  # used where the material's rated life is not known


def mph(speed: int) -> Decimal:
    """Return miles per hour in metres per second, to the hundredth that a routine keeps."""
    return (speed * _MPH).quantize(Decimal("0.01"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Starter:
    """One routine; its fields are those of `Routine`, except that words come in pairs.

    Raises
    ------
    ValueError
        If what brings it on is not said, or more than that is.
    """

    code: str
    name: Said
    why: Said
    target: Target
    trigger: Trigger
    checklist: tuple[Said, ...]
    source: str
    rhythm: Rhythm = Rhythm.CYCLE
    kinds: tuple[str, ...] = ()
    needs: tuple[Need, ...] = ()
    season: Season | None = None
    offset_days: int = 0
    every_years: int = 1
    rule: str = ""
    after_days: int | None = None
    gust_m_s: Decimal | None = None
    after_count: int | None = None
    window_days: int = 14
    minutes: int = 15
    crew: int = 1
    tools: tuple[Said, ...] = ()
    parts: tuple[tuple[str, int], ...] = ()  # a material's code or kind, and how many
    answer: Answer = Answer.DONE
    needs_dry: bool = False
    needs_daylight: bool = False
    most_gust_m_s: Decimal | None = None
    least_temperature_k: Decimal | None = None
    waits_for: tuple[str, ...] = ()
    is_urgent: bool = False

    def __post_init__(self) -> None:
        given = {name for name in ("season", "rule", "after_days", "gust_m_s", "after_count") if getattr(self, name)}
        wanted = BRINGS_ON.get(self.trigger, set())
        if missing := wanted - given:
            raise ValueError(f"{self.code}: trigger {self.trigger} needs {', '.join(sorted(missing))}")
        if stray := given - wanted - FALLBACK.get(self.trigger, set()):
            raise ValueError(f"{self.code}: trigger {self.trigger} does not use {', '.join(sorted(stray))}")
        if self.offset_days and self.trigger is not Trigger.SEASON:
            raise ValueError(f"{self.code}: only a season has days after its beginning")

    def routine_of(self, farm: Farm) -> Routine:
        """Return the routine as an unsaved row of a farm; what it waits for is linked once all are saved."""
        return Routine(
            farm=farm, name=_word(self.name), why=_word(self.why), tools=_words(self.tools),
            checklist=_words(self.checklist), kinds=list(self.kinds), needs=list(self.needs),
            parts=[{"material": material, "quantity": quantity} for material, quantity in self.parts],
            season=self.season or "", **{name: getattr(self, name) for name in _AS_THEY_ARE},
        )  # fmt: skip


_AS_THEY_ARE: Final = (
    "code", "target", "trigger", "source", "rhythm", "offset_days", "every_years", "rule", "after_days", "gust_m_s",
    "after_count", "window_days", "minutes", "crew", "answer", "needs_dry", "needs_daylight", "most_gust_m_s",
    "least_temperature_k", "is_urgent",
)  # fmt: skip


def _word(pair: Said) -> dict[str, str]:
    return dict(zip(LANGUAGES, pair, strict=True))


def _words(pairs: tuple[Said, ...]) -> dict[str, Any]:
    return {language: [pair[at] for pair in pairs] for at, language in enumerate(LANGUAGES)}
