"""Why a weather document was refused, or what of it had to be left out; every reason is a sentence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

from farm.lengths import gettext_noop

LONGEST_PARAM: Final = 200  # characters of a foreign text that are repeated in a sentence
MOST_TOLD: Final = 20  # problems spelled out in one message; all are kept

MESSAGES: Final[Mapping[str, str]] = MappingProxyType(
    {
        # the document as a whole
        "empty": gettext_noop("The answer is empty. Ask again later."),
        "too_large": gettext_noop("The document is larger than %(limit)s MB. Check the address or the file."),
        "not_text": gettext_noop("The letters cannot be read. Save it as UTF-8 and try again."),
        "not_json": gettext_noop("This is not JSON, or it was cut off: %(detail)s. Ask again."),
        "key_twice": gettext_noop("“%(key)s” stands twice in one object. The source has to send it once."),
        "html": gettext_noop("A web page came in place of data. The service may be down; ask again later."),
        "too_many": gettext_noop("There are more than %(limit)s entries under “%(name)s”. Ask for fewer days."),
        "wrong_shape": gettext_noop("“%(name)s” is missing or of the wrong kind: no document of %(source)s."),
        "problem": gettext_noop("The service refuses: “%(said)s” Try another source."),
        "no_wind": gettext_noop("There is no usable wind or gust in it. Use another source until it is back."),
        "no_alert": gettext_noop("There is no complete alert in it. Read the alert at its source."),
        "not_xml": gettext_noop("This is not XML, or it was cut off: %(detail)s. Ask again."),
        "unsafe_xml": gettext_noop("The XML defines its own document type, which is refused. Use another address."),
        "missing": gettext_noop("“%(name)s” is missing. Alerts by CAP 1.2 must have it."),
        # a table or a reading from the farm
        "no_rows": gettext_noop("The table has no rows. Write the column names first, then one row for each time."),
        "no_time": gettext_noop("A column “time” is missing. Write times like 2026-03-09 14:00."),
        "unknown_column": gettext_noop(
            "The column “%(name)s” is not known. Use time, gust, mean, direction, "
            "temperature, rain, snow or upper gust."
        ),
        "column_twice": gettext_noop("Two columns give the %(figure)s. Keep one."),
        "column_unit": gettext_noop("The column “%(name)s” needs its unit, such as %(example)s."),
        "no_gust_column": gettext_noop("A column for the gust or the mean wind is missing. Add one: gust mph."),
        "rows": gettext_noop("Rows that need a change: %(count)s."),
        "row_cells": gettext_noop("Row %(row)s has %(count)s cells for %(columns)s columns."),
        "row_number": gettext_noop("Row %(row)s: “%(text)s” is not a number for the %(figure)s."),
        "row_absurd": gettext_noop("Row %(row)s: “%(text)s” cannot be a %(figure)s. Check the number and the unit."),
        "row_comma": gettext_noop("Row %(row)s: “%(text)s” reads in two ways. Write it with a point or without."),
        "row_time": gettext_noop("Row %(row)s: “%(text)s” is not a time. Write it like 2026-03-09 14:00."),
        "row_time_twice": gettext_noop("Row %(row)s: the time %(text)s has a row already."),
        "row_far": gettext_noop("Row %(row)s: %(text)s is too far from today. Check the year."),
        "row_skipped": gettext_noop(
            "Row %(row)s: %(text)s does not exist, the clocks go forward then. Write %(first)s or %(second)s."
        ),
        "row_repeated": gettext_noop(
            "Row %(row)s: %(text)s comes twice, the clocks go back then. Write %(first)s or %(second)s."
        ),
        "reading_unit": gettext_noop("The unit “%(unit)s” is not a speed. Send m/s, km/h, mph or kn."),
        "reading_time": gettext_noop("“at” must be a time with its offset, such as 2026-03-09T14:00:00-05:00."),
        "reading_far": gettext_noop("The reading's time %(at)s is in the future or too old. Set the station's clock."),
        "reading_gust": gettext_noop("“gust” must be a speed between 0 and %(limit)s m/s."),
        # what was left out, or taken with care
        "not_a_number": gettext_noop(
            "Entries for the %(figure)s that are no numbers are left out: %(count)s, the first at %(first)s."
        ),
        "absurd": gettext_noop(
            "Entries for the %(figure)s that cannot be true are left out: %(count)s, the first at %(first)s."
        ),
        "bad_interval": gettext_noop(
            "Entries for the %(figure)s without a usable time are left out: %(count)s, the first “%(first)s”."
        ),
        "far": gettext_noop(
            "Entries for the %(figure)s too far from today are left out: %(count)s, the first “%(first)s”."
        ),
        "overlap": gettext_noop(
            "Entries for the %(figure)s overlap and the worse was taken: %(count)s, the first at %(first)s."
        ),
        "unknown_unit": gettext_noop("The unit “%(first)s” of the %(figure)s is not known; the figures are left out."),
        "no_layer": gettext_noop("There is nothing about the %(figure)s."),
        "bad_layer": gettext_noop("What is said about the %(figure)s cannot be read and is left out."),
        "short_layer": gettext_noop(
            "The list for the %(figure)s and the list of times differ in length; it is left out."
        ),
        "gust_unknown": gettext_noop("Spells whose gust is not known: %(count)s, the first from %(first)s."),
        "gust_below_mean": gettext_noop(
            "Gusts below the mean wind, which was taken instead: %(count)s, the first at %(first)s."
        ),
        "gust_zero": gettext_noop("Gusts of zero beside a wind count as not known: %(count)s, the first at %(first)s."),
        "gap": gettext_noop("Stretches of time that are missing: %(count)s, the first from %(first)s."),
        "issue_unknown": gettext_noop("When the forecast was made is not said."),
        "issue_future": gettext_noop("The forecast says it was made at %(first)s, which is still to come."),
        "stale": gettext_noop("The forecast was made at %(first)s and is old. Look for a fresher one."),
        "clock_changes": gettext_noop(
            "Times that no clock shows were placed by the source's offset: %(count)s, the first %(first)s."
        ),
        "no_place": gettext_noop("The place the forecast is for is not said."),
        # alerts
        "not_actual": gettext_noop("Tests and exercises are left out: %(count)s, the first %(first)s."),
        "bad_alert": gettext_noop(
            "Alerts that lack what an alert needs: %(count)s, the first “%(first)s”. Read them at their source."
        ),
        "bad_time": gettext_noop(
            "Times of alerts that cannot be read count as not known: %(count)s, the first “%(first)s”."
        ),
        "unknown_word": gettext_noop("Alerts grade themselves by unknown words: %(count)s, the first “%(first)s”."),
        "ends_before": gettext_noop(
            "Alerts end before they begin; their end counts as not known: %(count)s, the first “%(first)s”."
        ),
        "bad_area": gettext_noop("Outlines that cannot be read are left out: %(count)s, the first “%(first)s”."),
        "zulu": gettext_noop("Times ending in Z, against CAP 1.2, were read as UTC: %(count)s, the first %(first)s."),
        "more_pages": gettext_noop("There are more alerts than fit on %(first)s pages. Read the rest at their source."),
        # the connection
        "bad_address": gettext_noop("“%(url)s” is not an address of a web page. Write one that begins with https://."),
        "private_address": gettext_noop("“%(host)s” is inside a private network. Use a public address."),
        "unreachable": gettext_noop("%(host)s cannot be reached: %(detail)s. Asked %(tries)s times; check the line."),
        "timed_out": gettext_noop("%(host)s did not answer in time; asked %(tries)s times. Ask again later."),
        "http_status": gettext_noop("%(host)s answered with status %(status)s; asked %(tries)s times. Ask later."),
        "forbidden": gettext_noop("%(host)s refuses to answer (403). Check the contact address in the settings."),
        "redirect_elsewhere": gettext_noop(
            "%(host)s sends us to another place, %(target)s. Use that address if you trust it."
        ),
        "redirects": gettext_noop("%(host)s sends us round in circles. Check the address."),
        "content_type": gettext_noop("%(host)s sent “%(kind)s”, which is not weather data. Check the address."),
        "not_on_earth": gettext_noop(
            "%(latitude)s, %(longitude)s is not a place. Latitude is -90 to 90, longitude -180 to 180."
        ),
    }
)

FIGURES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "wind": gettext_noop("mean wind"),
        "gust": gettext_noop("gust"),
        "upper_gust": gettext_noop("upper gust"),
        "bearing_deg": gettext_noop("wind direction"),
        "temperature": gettext_noop("temperature"),
        "rain": gettext_noop("rain"),
        "snow": gettext_noop("snow"),
        "thunder": gettext_noop("thunder"),
        "time": gettext_noop("time"),
    }
)


def clean(text: str, limit: int = LONGEST_PARAM) -> str:
    """Return foreign text on one line, short, and free of what no database or page can hold."""
    whole = text[: 4 * limit].encode(errors="replace").decode()
    line = " ".join("".join(mark if mark.isprintable() else " " for mark in whole).split())
    return line if len(line) <= limit else f"{line[: limit - 1]}…"


def shown(value: object) -> str:
    """Return a value out of a document as it may stand in a sentence; of lists and objects only their kind."""
    return clean(str(value)) if isinstance(value, str | int | float) else "" if value is None else type(value).__name__


def named(params: Mapping[str, object]) -> dict[str, object]:
    """Return what fills a sentence, with the figure's key replaced by its name."""
    return {key: FIGURES[str(value)] if key == "figure" else value for key, value in params.items()}


@dataclass(frozen=True, slots=True)
class Remark:
    """What was left out of a document or taken with care.

    Attributes
    ----------
    reason : str
        Key into ``MESSAGES``.
    params : dict
        What fills the places; ``figure`` is a key into ``FIGURES``.
    """

    reason: str
    params: Mapping[str, object] = field(default_factory=dict)

    @property
    def template(self) -> str:
        """The English sentence with its places, to be translated where it is shown."""
        return MESSAGES[self.reason]

    def __str__(self) -> str:
        return self.template % named(self.params)


class ForecastError(ValueError):
    """A document or an answer that cannot be used; its text says why and what to do.

    Attributes
    ----------
    reason : str
        Key into ``MESSAGES``.
    params : dict
        What fills the places.
    problems : tuple of Remark
        For a table: what is wrong with each row.
    """

    def __init__(self, reason: str, /, *, problems: tuple[Remark, ...] = (), **params: object) -> None:
        self.remark = Remark(reason, {key: clean(v) if isinstance(v, str) else v for key, v in params.items()})
        self.problems = problems
        super().__init__(reason, self.remark.params)

    @property
    def reason(self) -> str:
        return self.remark.reason

    @property
    def params(self) -> Mapping[str, object]:
        return self.remark.params

    @property
    def template(self) -> str:
        return self.remark.template

    def __str__(self) -> str:
        return " ".join(str(remark) for remark in (self.remark, *self.problems[:MOST_TOLD]))


class Notes:
    """Remarks in the making: the same remark counts up and keeps its first example."""

    def __init__(self) -> None:
        self._found: dict[tuple[str, str], tuple[int, object]] = {}

    def add(self, reason: str, first: object = "", figure: str = "") -> None:
        """Note one more case of a reason."""
        count, kept = self._found.get((reason, figure), (0, first))
        self._found[reason, figure] = count + 1, kept

    def remarks(self) -> tuple[Remark, ...]:
        """Return one remark for each reason and figure, in the order they were met."""
        return tuple(
            Remark(reason, {"count": count, "first": shown(first)} | ({"figure": figure} if figure else {}))
            for (reason, figure), (count, first) in self._found.items()
        )
