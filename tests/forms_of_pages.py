"""The forms of a page, as a browser would send them back unchanged."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any
from urllib.parse import urljoin


@dataclass
class Form:
    """A form that is posted: where to, its values, and what its fields are."""

    action: str
    values: dict[str, list[str]] = field(default_factory=dict)
    files: list[str] = field(default_factory=list)
    buttons: list[tuple[str, str]] = field(default_factory=list)

    def sent(self, button: tuple[str, str] | None = None, **changed: Any) -> dict[str, Any]:
        """Return what goes out, with one button pressed and some values changed."""
        pressed = {button[0]: [button[1]]} if button else {}
        return {**self.values, **pressed, **changed}


class Reader(HTMLParser):
    """Collects the forms of a page."""

    def __init__(self, page: str, address: str) -> None:
        super().__init__(convert_charrefs=True)
        self.address, self.forms = address, []
        self._form: Form | None = None
        self._select = self._area = ""
        self._text: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        """Take a field up."""
        given = {name: value or "" for name, value in attributes}
        has = {name for name, _value in attributes}
        if tag == "form" and given.get("method", "").lower() == "post":
            self._form = Form(urljoin(self.address, given.get("action", "")))
            self.forms.append(self._form)
        if self._form is None or "disabled" in has:
            return
        name, kind = given.get("name", ""), given.get("type", "text")
        if tag == "select":
            self._select = name
            self._form.values.setdefault(name, [])
        elif tag == "option" and self._select:
            chosen = self._form.values[self._select]
            if "selected" in has or not chosen:
                self._form.values[self._select] = [given.get("value", "")]
        elif tag == "textarea":
            self._area, self._text = name, []
        elif tag == "button" and kind in ("submit", "text"):
            self._form.buttons.append((name, given.get("value", "")))
        elif tag == "input" and name and name != "csrfmiddlewaretoken":
            self._input(self._form, name, kind, given, has)

    def _input(self, form: Form, name: str, kind: str, given: dict[str, str], has: set[str]) -> None:
        if kind == "file":
            form.files.append(name)
        elif kind == "submit":
            form.buttons.append((name, given.get("value", "")))
        elif kind not in ("checkbox", "radio") or "checked" in has:
            form.values.setdefault(name, []).append(given.get("value", "on"))
        else:
            form.values.setdefault(name, [])

    def handle_data(self, data: str) -> None:
        """Take up what stands in a text field."""
        if self._area:
            self._text.append(data)

    def handle_endtag(self, tag: str) -> None:
        """Close a field or a form."""
        if tag == "textarea" and self._form is not None:
            self._form.values[self._area] = ["".join(self._text).removeprefix("\n")]
            self._area = ""
        elif tag == "select":
            self._select = ""
        elif tag == "form":
            self._form = None
