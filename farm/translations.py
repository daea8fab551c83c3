"""The catalogues of words: collected from templates and modules, kept as text, compiled for the program to read.

Only contributors need this, and it needs Babel; the running program reads what was compiled.
"""

from __future__ import annotations

import ast
import io
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from babel.messages import Catalog, Message
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from django.conf import settings
from django.utils.translation.template import templatize

# Which arguments of a call are texts, and which one is their context.
KEYWORDS: Final = {
    **dict.fromkeys(("gettext", "_", "__", "gettext_lazy", "gettext_noop"), (0,)),
    **dict.fromkeys(("ngettext", "ngettext_lazy"), (0, 1)),
    **dict.fromkeys(("pgettext", "pgettext_lazy"), (1,)),
    **dict.fromkeys(("npgettext", "npgettext_lazy"), (1, 2)),
}
Found = Iterator[tuple[str | tuple[str, ...], str | None]]


def collect() -> Catalog:
    """Return every text that templates and modules hand to the translation, with where it stands."""
    found = Catalog(charset="utf-8")
    for path in _files():
        name = path.relative_to(settings.BASE_DIR).as_posix()
        text = path.read_text("utf-8")
        for words, context in _in_module(text) if path.suffix == ".py" else _in_template(text, name):
            flags = ("python-format",) if _is_format(words) else ()
            found.add(words, None, [(name, 0)], context=context, flags=flags)
    return found


def catalogue(language: str) -> Catalog:
    """Return a language's catalogue as it is kept; an empty one where there is none yet."""
    path = _path(language)
    if not path.exists():
        return _empty(language)
    with path.open("rb") as stream:
        return read_po(stream, locale=language)


def update(language: str) -> Catalog:
    """Bring a language's catalogue up to date with the texts: new ones come in empty, those gone are dropped."""
    kept, fresh = catalogue(language), collect()
    for message in fresh:
        same = kept.get(message.id, context=message.context) if message.id else None
        if same is not None:
            message.string = same.string
    result = _empty(language)
    for message in sorted((one for one in fresh if one.id), key=_order):
        result.add(
            message.id, message.string, message.locations, flags=message.flags - {"fuzzy"}, context=message.context
        )
    write(language, result)
    return result


def write(language: str, words: Catalog) -> None:
    """Write a catalogue as text and as the program reads it."""
    _path(language).parent.mkdir(parents=True, exist_ok=True)
    with _path(language).open("wb") as stream:
        write_po(stream, words, width=110, omit_header=False, include_lineno=False)
    _path(language).with_suffix(".mo").write_bytes(compiled(catalogue(language)))


def compiled(words: Catalog) -> bytes:
    """Return a catalogue as the program reads it."""
    stream = io.BytesIO()
    write_mo(stream, words)
    return stream.getvalue()


def missing(words: Catalog) -> list[Message]:
    """Return the messages that have no translation, or not in every plural form."""
    return [one for one in words if one.id and not _is_whole(one)]


def _empty(language: str) -> Catalog:
    return Catalog(
        locale=language,
        header_comment="# The words of Gablekeep. Brought up to date by manage.py collect_texts.",
        project="Gablekeep",
        version="1",
        msgid_bugs_address="DEVELOPERS.md",
        last_translator="The Gablekeep contributors",
        language_team="The Gablekeep contributors",
        creation_date=datetime(2026, 11, 25, tzinfo=UTC),  # the texts tell their own age in git
        revision_date=datetime(2026, 11, 25, tzinfo=UTC),
        charset="utf-8",
        fuzzy=False,
    )


def _in_module(text: str) -> Found:
    """Return the texts of a module, also those inside other strings."""
    for node in ast.walk(ast.parse(text)):
        places = KEYWORDS.get(node.func.id) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) else None
        if not places or not isinstance(node, ast.Call):
            continue
        given = [one.value if isinstance(one, ast.Constant) else None for one in node.args]
        words = tuple(
            word for word in (given[place] for place in places if place < len(given)) if isinstance(word, str)
        )
        if len(words) == len(places):
            yield words[0] if len(words) == 1 else words, str(given[0]) if places[0] else None


def _in_template(text: str, name: str) -> Found:
    """Return the texts of a template; its calls stand one below the other, for its own indents would be wrong."""
    code = "\n".join(line.strip() for line in templatize(text, origin=name).splitlines())
    for _line, words, _comments, context in extract("python", io.BytesIO(code.encode()), options={"encoding": "utf-8"}):
        yield words, context


def _is_whole(message: Message) -> bool:
    parts = message.string if isinstance(message.string, (list, tuple)) else (message.string,)
    return bool(parts) and all(parts)


def _files() -> Iterator[Path]:
    root = Path(settings.BASE_DIR)
    for app in ("farm", "doors", "maintenance"):
        yield from sorted((root / app).rglob("*.py"))
    yield from sorted(path for path in (root / "templates").rglob("*") if path.suffix in (".html", ".txt", ".js"))


def _order(message: Message) -> tuple[str, str]:
    first = message.id[0] if isinstance(message.id, (list, tuple)) else message.id
    return (message.locations[0][0], first)


def _is_format(words: object) -> bool:
    parts = words if isinstance(words, (list, tuple)) else (words,)
    return any("%(" in str(part) for part in parts)


def _path(language: str) -> Path:
    return Path(settings.LOCALE_PATHS[0]) / language / "LC_MESSAGES" / "django.po"
