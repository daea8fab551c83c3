"""A small reader of XML that cannot be turned against us.

The standard library's expat does the parsing; here a document type, deep nesting and endless elements are refused
before anything is built.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final
from xml.parsers import expat  # a document type, without which there are no entities, is refused below

from maintenance.weather.documents import MOST_BYTES
from maintenance.weather.reasons import ForecastError

DEEPEST: Final = 32  # elements within each other
MOST_ELEMENTS: Final = 50_000


@dataclass(slots=True)
class Element:
    """An element: its name without namespace, its namespace, what stands in it."""

    name: str
    namespace: str = ""
    children: list[Element] = field(default_factory=list)
    pieces: list[str] = field(default_factory=list)

    @property
    def text(self) -> str:
        return "".join(self.pieces).strip()

    def all(self, name: str) -> Iterator[Element]:
        """Yield the children of a name."""
        return (child for child in self.children if child.name == name)

    def said(self, name: str) -> str:
        """Return the text of the first child of a name, or nothing."""
        return next((child.text for child in self.all(name)), "")


def read_xml(content: bytes | str) -> Element:
    """Return the root of an XML document.

    Raises
    ------
    ForecastError
        If it is empty, larger than 5 MB, not well-formed, nested too deeply, or has a document type.
    """
    raw = content.encode(errors="replace") if isinstance(content, str) else content
    if len(raw) > MOST_BYTES:
        raise ForecastError("too_large", limit=MOST_BYTES // 1024**2)
    if not raw.strip():
        raise ForecastError("empty")
    builder = _Builder()
    # Text has been decoded already: what its first line says of the encoding is no longer true.
    parser = expat.ParserCreate("utf-8" if isinstance(content, str) else None, namespace_separator=" ")
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = builder.refuse
    parser.StartElementHandler = builder.start
    parser.EndElementHandler = builder.end
    parser.CharacterDataHandler = builder.text
    try:
        parser.Parse(raw, True)
    except expat.ExpatError as error:
        raise ForecastError("not_xml", detail=str(error)) from error
    except ForecastError:
        raise
    except (LookupError, ValueError) as error:  # an encoding that Python does not know, or that expat cannot use
        raise ForecastError("not_text") from error
    return builder.root


class _Builder:
    """Builds the tree as expat meets its parts."""

    def __init__(self) -> None:
        self.top = Element("")
        self.open = [self.top]
        self.count = 0

    @property
    def root(self) -> Element:
        return self.top.children[0]

    def refuse(self, *_: object) -> None:
        raise ForecastError("unsafe_xml")

    def start(self, name: str, _: object) -> None:
        self.count += 1
        if len(self.open) > DEEPEST or self.count > MOST_ELEMENTS:
            raise ForecastError("too_many", name=name.rpartition(" ")[2], limit=MOST_ELEMENTS)
        namespace, _space, local = name.rpartition(" ")
        element = Element(local, namespace)
        self.open[-1].children.append(element)
        self.open.append(element)

    def end(self, _: str) -> None:
        self.open.pop()

    def text(self, text: str) -> None:
        self.open[-1].pieces.append(text)
