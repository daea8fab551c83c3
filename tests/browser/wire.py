"""The line between a phone and the farm's computer, which can be cut, can answer instead, and can lose an answer."""

from __future__ import annotations

import contextlib
import http.client
import re
import socket
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any, Final

from tests.system.program import free_port

HOP_BY_HOP: Final = frozenset({"connection", "keep-alive", "transfer-encoding", "content-length"})
WRONG_TOKEN: Final = "x" * 64


@dataclass(frozen=True, slots=True)
class Passed:
    """One request that came over the line, and whether its sender got an answer from behind it."""

    method: str
    path: str
    body: bytes
    status: int


@dataclass
class Rule:
    """What happens to the next requests of a kind."""

    method: str
    path: str
    does: str  # "answers", "loses the reply", "spoils the token"
    times: int = 10**6
    status: int = 500
    kind: str = "text/html"
    body: str = "<h1>Sorry</h1>"
    headers: dict[str, str] = field(default_factory=dict)

    def takes(self, method: str, path: str) -> bool:
        """Tell whether it is for this request, and count it."""
        fits = self.times > 0 and method == self.method and re.search(self.path, path) is not None
        self.times -= fits
        return fits


class Wire:
    """A proxy on an address of its own in front of a program. Use it as a context manager."""

    def __init__(self, target_port: int) -> None:
        self.target_port = target_port
        self.port = free_port()
        self.rules: list[Rule] = []
        self.passed: list[Passed] = []
        self.bytes_to_phone = 0
        self.lock = threading.Lock()
        self._server: ThreadingHTTPServer | None = None
        self._sockets: set[socket.socket] = set()

    @property
    def address(self) -> str:
        """Return where the phone finds the farm."""
        return f"http://127.0.0.1:{self.port}"

    def __enter__(self) -> Wire:
        self.mend()
        return self

    def __exit__(self, *_: object) -> None:
        self.cut()

    def mend(self) -> None:
        """Let requests through again."""
        if self._server is None:
            self._server = _Server(("127.0.0.1", self.port), _handler(self))
            threading.Thread(target=self._server.serve_forever, args=(0.05,), daemon=True).start()

    def cut(self) -> None:
        """Refuse every connection, and drop those that are open."""
        if self._server is not None:
            self._server.shutdown()
            self._server.server_close()
            self._server = None
        for each in list(self._sockets):
            with contextlib.suppress(OSError):
                each.shutdown(socket.SHUT_RDWR)

    def rule(self, method: str, path: str, does: str = "answers", **more: Any) -> Rule:
        """Add a rule; the newest counts first."""
        self.rules.insert(0, Rule(method, path, does, **more))
        return self.rules[0]

    def forget(self) -> None:
        """Drop all rules and what was noted."""
        self.rules.clear()
        self.passed.clear()
        self.bytes_to_phone = 0

    def sent(self, path: str, method: str = "POST") -> list[Passed]:
        """Return what came to an address."""
        return [one for one in self.passed if one.method == method and re.search(path, one.path)]


class _Server(ThreadingHTTPServer):
    daemon_threads = True
    allow_reuse_address = True

    def handle_error(self, *_: Any) -> None:
        """A phone that hangs up is no error of ours."""


def _handler(wire: Wire) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def setup(self) -> None:
            super().setup()
            wire._sockets.add(self.connection)
            write = self.wfile.write
            self.wfile.write = _counting(wire, write)  # type: ignore[method-assign]

        def finish(self) -> None:
            wire._sockets.discard(self.connection)
            with contextlib.suppress(OSError, ValueError):
                super().finish()

        def log_message(self, *_: Any) -> None:
            pass

        def handle_any(self) -> None:
            length = int(self.headers.get("Content-Length") or 0)
            body = self.rfile.read(length)
            rule = next((one for one in list(wire.rules) if one.takes(self.command, self.path)), None)
            if rule is not None and rule.does == "answers":
                self.reply(rule.status, {"Content-Type": rule.kind, **rule.headers}, rule.body.encode(), body)
                return
            headers = {name: value for name, value in self.headers.items() if name.lower() != "connection"}
            if rule is not None and rule.does == "spoils the token":
                headers = {n: (WRONG_TOKEN if n.lower() == "x-csrftoken" else v) for n, v in headers.items()}
            status, answer_headers, answer = self.forward(headers, body)
            if rule is not None and rule.does == "loses the reply":
                with wire.lock:
                    wire.passed.append(Passed(self.command, self.path, body, 0))
                self.close_connection = True
                self.connection.shutdown(socket.SHUT_RDWR)
                return
            self.reply(status, answer_headers, answer, body)

        def forward(self, headers: dict[str, str], body: bytes) -> tuple[int, Any, bytes]:
            farm = http.client.HTTPConnection("127.0.0.1", wire.target_port, timeout=60)
            with contextlib.closing(farm):
                farm.request(self.command, self.path, body or None, headers)
                answer = farm.getresponse()
                return answer.status, answer.headers, answer.read()

        def reply(self, status: int, headers: Any, answer: bytes, body: bytes) -> None:
            with wire.lock:
                wire.passed.append(Passed(self.command, self.path, body, status))
            self.send_response_only(status)
            for name, value in headers.items():
                if name.lower() not in HOP_BY_HOP:
                    self.send_header(name, value)
            if status not in (204, 304):
                self.send_header("Content-Length", str(len(answer)))
            self.end_headers()
            if self.command != "HEAD" and status not in (204, 304):
                self.wfile.write(answer)

        do_GET = do_POST = do_HEAD = do_PUT = do_DELETE = handle_any  # noqa: N815

    return Handler


def _counting(wire: Wire, write: Callable[[Any], int]) -> Callable[[Any], int]:
    def count(data: Any) -> int:
        with wire.lock:
            wire.bytes_to_phone += len(data)
        return write(data)

    return count
