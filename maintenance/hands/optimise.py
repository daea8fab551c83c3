"""Rounds on foot by a general-purpose optimiser: who goes where, in which order, and what is left out.

Everything here is whole numbers, as the optimiser wants them. It searches at random from a seed and stops after a
number of steps without gain, so that the same work gives the same rounds on every machine that is fast enough.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

SEED: Final = 1
PATIENCE: Final = 300  # steps without gain

Place = tuple[float, float]
Way = Callable[[Place, Place], int]


class NoRoundsError(Exception):
    """The optimiser is not installed, failed, or found no rounds that keep to all times."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """A place to go to: for how long, begun within which time, what a round carries to it, what leaving it out costs.

    A stop without a prize must not be left out; ``walkers`` are the indices of those who may go, all where empty.
    """

    place: Place
    service: int
    opens: int
    closes: int
    demand: int = 0
    prize: int | None = None
    walkers: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Walker:
    """Somebody who goes round once: from where, within which time, carrying how much, and whether back again."""

    place: Place
    opens: int
    closes: int
    capacity: int = 0
    goes_back: bool = False


@dataclass(frozen=True, slots=True)
class Leg:
    """One stop of a round: its index and when it begins."""

    stop: int
    begins: int


@dataclass(frozen=True, slots=True)
class Rounds:
    """What the optimiser found: each walker's legs, the distance walked together, and the indices left out."""

    legs: tuple[tuple[Leg, ...], ...]
    distance: int
    left_out: tuple[int, ...]


def rounds(
    stops: Sequence[Stop],
    walkers: Sequence[Walker],
    *,
    distance: Way,
    durations: Sequence[Way],
    seconds: float,
    seed: int = SEED,
    patience: int = PATIENCE,
) -> Rounds:
    """Return rounds of the least distance plus prizes forgone.

    Parameters
    ----------
    stops, walkers : sequence
        In units of distance and time of the caller's choice.
    distance : callable
        Between two places.
    durations : sequence of callable
        Of each walker between two places.
    seconds : float
        The longest search. [s]
    patience : int
        Steps without gain after which the search ends.

    Raises
    ------
    NoRoundsError
        If there are none, or no optimiser.
    """
    try:
        import pyvrp  # slow to load, and a machine without it still plans
        from pyvrp.stop import MaxRuntime, MultipleCriteria, NoImprovement
    except ImportError as error:
        raise NoRoundsError("The optimiser is not installed.") from error
    model = _model(pyvrp.Model(), stops, walkers, distance, durations)
    try:
        found = model.solve(
            MultipleCriteria([MaxRuntime(seconds), NoImprovement(patience)]), seed=seed, display=False,
            collect_stats=False,
        )  # fmt: skip
    except (RuntimeError, ValueError, OverflowError) as error:
        raise NoRoundsError(str(error)) from error
    if not found.is_feasible():
        raise NoRoundsError("No rounds keep to all times.")
    return _read(found.best, len(stops), len(walkers))


def _model(
    model: Any, stops: Sequence[Stop], walkers: Sequence[Walker], distance: Way, durations: Sequence[Way]
) -> Any:
    """Return the model: a way home that is not walked is one of no length, a stop out of bounds one without a way."""
    starts = [model.add_location(*walker.place) for walker in walkers]
    homes = [start if walker.goes_back else None for start, walker in zip(starts, walkers, strict=True)]
    nowhere = model.add_location(0, 0) if None in homes else None
    places = [model.add_location(*stop.place) for stop in stops]
    for stop, place in zip(stops, places, strict=True):
        model.add_client(
            place, delivery=[stop.demand], service_duration=stop.service, tw_early=stop.opens, tw_late=stop.closes,
            prize=stop.prize or 0, required=stop.prize is None,
        )  # fmt: skip
    for index, (walker, start, home, duration) in enumerate(zip(walkers, starts, homes, durations, strict=True)):
        profile = model.add_profile()
        depot = model.add_depot(start)
        end = depot if home is not None else model.add_depot(nowhere)
        model.add_vehicle_type(
            capacity=[walker.capacity], start_depot=depot, end_depot=end, tw_early=walker.opens, tw_late=walker.closes,
            profile=profile,
        )  # fmt: skip
        open_to = [
            (stop.place, place)
            for stop, place in zip(stops, places, strict=True)
            if not stop.walkers or index in stop.walkers
        ]
        if home is None:
            model.add_edge(start, nowhere, 0, 0, profile)
        for to, place in open_to:
            model.add_edge(start, place, distance(walker.place, to), duration(walker.place, to), profile)
            if home is None:
                model.add_edge(place, nowhere, 0, 0, profile)
            else:
                model.add_edge(place, home, distance(to, walker.place), duration(to, walker.place), profile)
            for other, there in open_to:
                if there is not place:
                    model.add_edge(place, there, distance(to, other), duration(to, other), profile)
    return model


def _read(best: Any, stops: int, walkers: int) -> Rounds:
    legs: list[tuple[Leg, ...]] = [()] * walkers
    for route in best.routes():
        legs[route.vehicle_type()] = tuple(
            Leg(each.idx, each.start_time) for each in route.schedule() if each.is_client()
        )
    gone = {leg.stop for each in legs for leg in each}
    return Rounds(tuple(legs), best.distance(), tuple(index for index in range(stops) if index not in gone))
