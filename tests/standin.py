"""A weather service on this machine: answers what a test put down for a path, one answer after the other."""

from __future__ import annotations

import gzip
import threading
from collections import defaultdict
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from tests.weather_documents import dumped

GEO_JSON = "application/geo+json"
EXPIRED = {
    "correlationId": "1f3",
    "title": "Forecast Grid Expired",
    "type": "https://api.weather.gov/problems/ForecastGridExpired",
    "status": 503,
    "detail": "The forecast grid was issued too long ago.",
}


@dataclass(frozen=True)
class Answer:
    """One answer; ``promised`` is a length that is not kept, ``slowly`` holds back half of it until the test ends."""

    content: bytes = b""
    status: int = 200
    kind: str = GEO_JSON
    headers: dict[str, str] = field(default_factory=dict)
    promised: int | None = None
    slowly: bool = False
    squeezed: bool = False


def json_answer(document: Any, **more: Any) -> Answer:
    return Answer(dumped(document), **more)


def problem(document: dict[str, Any]) -> Answer:
    return Answer(dumped(document), status=document["status"], kind="application/problem+json")


def redirect(location: str, status: int = 301) -> Answer:
    return Answer(status=status, headers={"Location": location})


@dataclass(frozen=True)
class Asked:
    """What came in: path with query, and headers with small names."""

    path: str
    headers: dict[str, str]


class StandIn:
    """A weather service; the last answer put down for a path is given again and again.

    Like the services themselves it answers 403 to callers that do not name themselves, and 304 to those who
    have the latest already.
    """

    def __init__(self) -> None:
        self.asked: list[Asked] = []
        self._answers: dict[str, list[Answer]] = defaultdict(list)
        self._over = threading.Event()
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), self._handler())
        self._server.daemon_threads = True
        self._thread = threading.Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def port(self) -> int:
        return int(self._server.server_address[1])

    def on(self, path: str, *answers: Answer) -> None:
        """Put down what a path answers; a query is no part of it."""
        self._answers[path] = list(answers)

    def __enter__(self) -> StandIn:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._server.shutdown()
        self._server.server_close()
        self._thread.join()

    def _answer(self, asked: Asked) -> Answer:
        self.asked.append(asked)
        answers = self._answers.get(asked.path.partition("?")[0], [])
        if not asked.headers.get("user-agent") or "python" in asked.headers["user-agent"]:
            return Answer(b"<html><body>403</body></html>", 403, "text/html")
        if not answers:
            return problem({"title": "Not Found", "status": 404, "detail": "Nothing is here."})
        answer = answers.pop(0) if len(answers) > 1 else answers[0]
        known = {asked.headers.get("if-none-match"), asked.headers.get("if-modified-since")} - {None}
        if known & {answer.headers.get("ETag"), answer.headers.get("Last-Modified")}:
            return Answer(status=304, headers=answer.headers)
        return answer

    def _handler(self) -> type[BaseHTTPRequestHandler]:
        standin = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                headers = {name.lower(): value for name, value in self.headers.items()}
                answer = standin._answer(Asked(self.path, headers))
                content = gzip.compress(answer.content) if answer.squeezed else answer.content
                self.send_response(answer.status)
                self.send_header("Content-Type", answer.kind)
                self.send_header("Content-Length", str(answer.promised or len(content)))
                if answer.squeezed:
                    self.send_header("Content-Encoding", "gzip")
                for name, value in answer.headers.items():
                    self.send_header(name, value)
                self.end_headers()
                half = len(content) // 2 if answer.slowly else len(content)
                try:
                    self.wfile.write(content[:half])
                    self.wfile.flush()
                    if answer.slowly:
                        standin._over.wait()
                        self.wfile.write(content[half:])
                except OSError:
                    pass  # whoever asked has gone

            def log_message(self, *_: object) -> None:
                """Stay silent."""

        return Handler
