"""What state a structure is in before a storm, and whether its levels begin earlier or later for it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from doors.sizing import FOOT, Length
from maintenance.storm.quantity import DAY, MPH, Duration, Fact, Speed, check_number, check_speed

SAME = 1e-9  # m; binary noise between two lengths that are equal on the tape


class Posture(StrEnum):
    """How a structure is left for the storm."""

    CLOSED = "closed"
    CLOSED_FAN = "closed_fan"
    FILM_OFF = "film_off"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """A structure as it stands today; None where nobody noted it. [SI]

    Attributes
    ----------
    film_age, film_life : float or None
        Of its oldest film, and the life planned for it. [s]
    loose_age : float or None
        Age of the youngest cover or door whose first re-tightening is not logged; None where all are. [s]
    critical_defects : int
        Open ones.
    is_light, is_unbraced, is_exposed : bool or None
        Its frame and its site. Leave ``is_exposed`` False where `local_factor` has the site in it already.
    ends_only_width : float or None
        Of the widest film door whose bar is held at its two ends only; None where there is none. [m]
    has_windbreak, is_film_sound, autumn_round_logged : bool or None
        All three make the levels begin later.
    limit : float or None
        Gust that the weakest door stands in its present state. [m/s]
    """

    film_age: float | None = None
    film_life: float | None = None
    loose_age: float | None = None
    critical_defects: int = 0
    is_light: bool | None = False
    is_unbraced: bool | None = False
    is_exposed: bool | None = False
    ends_only_width: Length | None = None
    has_windbreak: bool | None = None
    is_film_sound: bool | None = None
    autumn_round_logged: bool | None = None
    limit: Speed | None = None
    posture: Posture = Posture.CLOSED

    def __post_init__(self) -> None:
        for name in ("film_age", "film_life", "loose_age", "critical_defects", "ends_only_width"):
            check_number(f"condition.{name}", getattr(self, name), least=0)
        check_speed("condition.limit", self.limit)


@dataclass(frozen=True, slots=True, kw_only=True)
class OffsetRules:
    """When the levels of a structure begin earlier or later; common practice, no source."""

    earlier: Speed = 10 * MPH  # taken off every threshold
    later: Speed = 5 * MPH  # put on every threshold
    settled_after: Duration = 60 * DAY  # by then a missed first re-tightening shows
    ends_only_most: Length = 10 * FOOT  # widest door whose bar its two ends alone can hold

    def __post_init__(self) -> None:
        check_speed("offset.earlier", self.earlier)
        check_speed("offset.later", self.later)
        check_number("offset.settled_after", self.settled_after, least=0.0)
        check_number("offset.ends_only_most", self.ends_only_most, least=0.0)


@dataclass(frozen=True, slots=True)
class Offset:
    """What a structure's thresholds move by, why, and what could not be judged. [m/s]"""

    change: float
    reasons: tuple[Fact, ...]
    unknown: tuple[Fact, ...]


def offset_of(condition: Condition, rules: OffsetRules | None = None) -> Offset:
    """Return how much earlier or later a structure's levels begin.

    Parameters
    ----------
    condition : Condition
        The structure today.
    rules : OffsetRules, optional
        The farm's.

    Returns
    -------
    Offset
        Below 0 for earlier. Every reason is named, none is a score.

    Notes
    -----
    The offsets do not add up. Each says that some part is weaker than the table supposes, and the weakest part alone
    decides; most go together (old film is taped film), and a sum would put an old tunnel on the highest level in a
    breeze, after which nobody listens. A farm that knows of something worse lowers that structure's limit.
    """
    farm = rules or OffsetRules()
    reasons, unknown = tuple(_weak(condition, farm)), tuple(_unknown(condition))
    if reasons:
        return Offset(-farm.earlier, reasons, unknown)
    sound = {
        "windbreak": condition.has_windbreak,
        "film_sound": condition.is_film_sound,
        "autumn_round": condition.autumn_round_logged,
    }
    if all(sound.values()) and not unknown:
        return Offset(farm.later, tuple(Fact(key) for key in sound), unknown)
    return Offset(0.0, (), unknown)


def _weak(condition: Condition, rules: OffsetRules) -> Iterator[Fact]:
    has_film = condition.posture != Posture.FILM_OFF
    age, life = condition.film_age, condition.film_life
    if has_film and age is not None and life is not None and age > life:
        yield Fact("film_past_life", age, life)
    if has_film and condition.loose_age is not None and condition.loose_age < rules.settled_after:
        yield Fact("not_retightened", condition.loose_age, rules.settled_after)
    if condition.critical_defects:
        yield Fact("critical_defect", float(condition.critical_defects))
    for key, is_so in (("light_frame", condition.is_light), ("unbraced_frame", condition.is_unbraced)):
        if is_so:
            yield Fact(key)
    if condition.is_exposed:
        yield Fact("exposed_site")
    if has_film and condition.ends_only_width is not None and condition.ends_only_width > rules.ends_only_most + SAME:
        yield Fact("bar_held_at_ends_only", condition.ends_only_width, rules.ends_only_most)


def _unknown(condition: Condition) -> Iterator[Fact]:
    if condition.posture != Posture.FILM_OFF:
        if condition.film_age is None or condition.film_life is None:
            yield Fact("film_age_unknown")
        if condition.limit is None:
            yield Fact("limit_unknown")
    for key in ("is_light", "is_unbraced", "is_exposed"):
        if getattr(condition, key) is None:
            yield Fact(f"{key}_unknown")
