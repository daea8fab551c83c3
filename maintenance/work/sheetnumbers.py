"""The short number on a printed sheet: which sheet it is, and a last character that catches a slip of the pen.

Pure: no database, no clock. ``P12-1125-7`` is the job card of member 12 printed on 25 November, ``L3-1125-K`` that of
tunnel 3, ``S4-12-X`` the storm sheet of member 12 in storm 4; member or tunnel 0 is nobody and nowhere. As its last
character, I counts as 1 and O as 0: about three slips of the pen in a thousand pass for that.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

Kind = Literal["P", "L", "S"]
KINDS: Final[dict[str, Kind]] = {"P": "P", "L": "L", "S": "S"}
ALPHABET: Final = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
ALIKE: Final = str.maketrans("IO", "10")  # on paper
WRITTEN: Final = re.compile(r"([PLS])[ .–-]?(\d{1,9})[ .–-]+(\d{1,9})[ .–-]+([0-9A-Z])", re.ASCII)


class SheetNumberError(ValueError):
    """What was written is no sheet's number."""


@dataclass(frozen=True, slots=True)
class SheetNumber:
    """Which sheet: its kind, whose or where it is (for a storm, the storm), and its day as MMDD (or the member)."""

    kind: Kind
    first: int
    second: int

    def __str__(self) -> str:
        second = f"{self.second:04d}" if self.kind != "S" else str(self.second)
        return f"{self.kind}{self.first}-{second}-{check_character(f'{self.kind}{self.first}A{second}')}"

    def day(self, today: date) -> date:
        """Return the day a job card was printed: the last one of that month and day up to ``today``.

        Raises
        ------
        SheetNumberError
            If no year has such a day.
        """
        month, day = divmod(self.second, 100)
        for year in range(today.year, today.year - 9, -1):  # a 29 February comes within eight years
            try:
                found = date(year, month, day)
            except ValueError:
                continue
            if found <= today:
                return found
        raise SheetNumberError(str(self))


def card_of(kind: Literal["P", "L"], pk: int | None, day: date) -> SheetNumber:
    """Return the number of a job card that is printed on a day for a person or a place."""
    return SheetNumber(kind, pk or 0, day.month * 100 + day.day)


def read_number(text: str) -> SheetNumber:
    """Return the number that somebody read off a sheet.

    Raises
    ------
    SheetNumberError
        If it has another shape, or its last character does not fit the others.
    """
    found = WRITTEN.fullmatch(" ".join(text.upper().split()))
    if found is None:
        raise SheetNumberError(text)
    number = SheetNumber(KINDS[found[1]], int(found[2]), int(found[3]))
    if str(number)[-1].translate(ALIKE) != found[4].translate(ALIKE):
        raise SheetNumberError(text)
    return number


def check_character(text: str) -> str:
    """Return the character that makes digits and capitals a checked string.

    References
    ----------
    ISO/IEC 7064:2003, hybrid system MOD 37,36: finds every single wrong character and nearly every swap of two.
    """
    product = 36
    for character in text:
        total = (product + ALPHABET.index(character)) % 36 or 36
        product = total * 2 % 37
    return ALPHABET[(37 - product) % 36]
