"""The types that bodies are made of: figures with their unit in the field's name, days, choices, ids."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated, Any, Final

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field
from pydantic_core import CoreSchema, core_schema

MOST_ID: Final = 2**53 - 1  # the last whole number that every reader of JSON keeps
FARTHEST_MM: Final = 10**7  # 10 km
LONGEST_NOTE: Final = 2000
FIRST_DAY: Final = date(1900, 1, 1)
DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


class Body(BaseModel):
    """What a program sends; what is not known is refused, so that a slip of the pen does not pass in silence."""

    model_config = ConfigDict(extra="forbid")


class Shown(BaseModel):
    """What a program is shown, made from a row."""

    model_config = ConfigDict(from_attributes=True)


@dataclass(frozen=True, eq=False)
class Read:
    """How a value of a body is read, and what the schema says of it: no more and no less."""

    read: Callable[[Any], Any]
    schema: tuple[tuple[str, Any], ...]

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: Any) -> dict[str, Any]:
        return dict(self.schema)


def number(low: float | None = None, high: float | None = None, *, above: float | None = None) -> Read:
    """Return how an exact number between limits is read; a truth value or a text is none."""

    def read(value: Any) -> Decimal:
        if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
            raise ValueError("must be a number")
        if low is not None and value < low:
            raise ValueError(f"must be at least {low}")
        if above is not None and value <= above:
            raise ValueError(f"must be above {above}")
        if high is not None and value > high:
            raise ValueError(f"must be at most {high}")
        return Decimal(str(value))

    return Read(read, _schema("number", minimum=low, exclusiveMinimum=above, maximum=high))


def whole(low: int, high: int) -> Read:
    """Return how a whole number between limits is read; 5.0 is one."""

    def read(value: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, int | float | Decimal) or value != int(value):
            raise ValueError("must be a whole number")
        if not low <= value <= high:
            raise ValueError(f"must be from {low} to {high}")
        return int(value)

    return Read(read, _schema("integer", minimum=low, maximum=high))


def among(values: Iterable[Any], *, blank: bool = False) -> Read:
    """Return how one of these texts is read; ``blank`` lets it be empty as well."""
    known = [*(str(value) for value in values), *([""] if blank else [])]

    def read(value: Any) -> str:
        if not isinstance(value, str) or value not in known:
            raise ValueError(f"must be one of {', '.join(each or 'an empty text' for each in known)}")
        return value

    return Read(read, _schema("string", enum=known))


def _day(value: Any) -> date:
    if isinstance(value, str) and DAY.fullmatch(value):
        day = date.fromisoformat(value)
        if day >= FIRST_DAY:
            return day
    raise ValueError(f"must be a day such as 2026-11-25, from {FIRST_DAY} on")


def _schema(kind: str, **more: Any) -> tuple[tuple[str, Any], ...]:
    return (("type", kind), *((key, value) for key, value in more.items() if value is not None))


Id = Annotated[int, whole(1, MOST_ID)]
PathId = Annotated[int, Field(ge=1, le=MOST_ID)]  # in an address, where all is text
QueryId = PathId
Millimetres = Annotated[Decimal, number(-FARTHEST_MM, FARTHEST_MM)]
Degrees = Annotated[Decimal, number(0, 360)]
Quantity = Annotated[Decimal, number(high=10**7, above=0)]
Minutes = Annotated[int, whole(0, 60 * 24 * 7)]
Truth = Annotated[bool, Read(lambda value: _truth(value), (("type", "boolean"),))]
Day = Annotated[date, Read(_day, (("type", "string"), ("format", "date")))]
Note = Annotated[str, Field(max_length=LONGEST_NOTE)]
# Of what is shown: an empty column is null, as a measurement not taken is.
Maybe = Annotated[str | None, BeforeValidator(lambda value: value or None)]


def _truth(value: Any) -> bool:
    if not isinstance(value, bool):
        raise ValueError("must be true or false")
    return value
