"""What a place must have before a routine makes a plan for it, beyond the kind of part or door."""

from __future__ import annotations

from enum import StrEnum


class Need(StrEnum):
    """A word of a routine's ``needs``; a place fits when all of them hold. `maintenance.plans.places` looks there.

    Notes
    -----
    The first three ask of the tunnel that a place belongs to, the others of the opening. Where film layers were
    never entered a tunnel counts as covered, but not with two layers.
    """

    FILM = "film"
    TWO_LAYERS = "two_layers"
    ROLLUP_SIDES = "rollup_sides"
    FILM_DOOR = "film_door"
    WIDE_FILM_DOOR = "wide_film_door"
    PERSON_DOOR = "person_door"
