"""One question over HTTP: limits of time, size and kind, three tries, redirects only on the same host."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import httpx

from maintenance.weather.addresses import Resolver, Target, host_of, is_same_host, look_up
from maintenance.weather.documents import MOST_BYTES, read_json, refusal
from maintenance.weather.reasons import ForecastError

WAITS: Final = (2.0, 8.0)  # s before the second and the third try; a service that stumbles needs some ten seconds
TRIES: Final = len(WAITS) + 1
LONGEST_WAIT: Final = 30.0  # s, however long the service asks us to wait
MOST_REDIRECTS: Final = 3
NOT_MODIFIED, FORBIDDEN, TOO_MANY = 304, 403, 429


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks, and how patiently.

    Attributes
    ----------
    user_agent : str
        Name of the program and how to reach whoever runs it; services refuse callers without.
    sleep : callable
        Waits so many seconds between tries.
    resolve : callable
        Finds the addresses of a host, for addresses that people typed.
    allow_private : bool
        Let typed addresses lead into a private network.
    connect, read, whole : float
        How long to wait for a connection, for the next bytes, and for all of them. [s]
    """

    user_agent: str
    sleep: Callable[[float], None] = time.sleep
    resolve: Resolver = look_up
    allow_private: bool = False
    connect: float = 5.0
    read: float = 20.0
    whole: float = 60.0


@dataclass(frozen=True, slots=True)
class Validators:
    """What a service gave to ask whether anything has changed since."""

    etag: str = ""
    last_modified: str = ""

    @property
    def headers(self) -> dict[str, str]:
        pairs = {"If-None-Match": self.etag, "If-Modified-Since": self.last_modified}
        return {name: value for name, value in pairs.items() if value}


@dataclass(frozen=True, slots=True)
class Body:
    """An answer as it came; the caller keeps it."""

    url: str
    status: int
    content_type: str
    content: bytes
    validators: Validators = Validators()

    @property
    def unchanged(self) -> bool:
        return self.status == NOT_MODIFIED


def ask(target: Target, *, caller: Caller, kind: str, validators: Validators | None = None) -> Body:
    """Return the answer to a question; three tries when the service stumbles.

    Parameters
    ----------
    kind : {"json", "xml"}
        What the answer must be.

    Raises
    ------
    ForecastError
        If there is no answer, a refusal, or an answer of another kind or size.
    """
    asked = validators or Validators()
    for wait in WAITS:
        try:
            return _try(target, caller, kind, asked)
        except _StumbleError as stumble:
            caller.sleep(max(wait, stumble.patience))
    try:
        return _try(target, caller, kind, asked)
    except _StumbleError as stumble:
        raise stumble.error from stumble


class _StumbleError(Exception):
    """A failure that may be gone at the next try, after so many seconds of ``patience``."""

    def __init__(self, error: ForecastError, patience: float = 0.0) -> None:
        self.error, self.patience = error, patience


def _try(target: Target, caller: Caller, kind: str, validators: Validators) -> Body:
    host = host_of(target.url)
    try:
        body, retry_after = _once(target, caller, kind, validators)
    except httpx.TimeoutException as raised:
        raise _StumbleError(ForecastError("timed_out", host=host, tries=TRIES)) from raised
    except httpx.HTTPError as raised:
        detail = str(raised) or type(raised).__name__
        raise _StumbleError(ForecastError("unreachable", host=host, detail=detail, tries=TRIES)) from raised
    except (UnicodeError, httpx.InvalidURL) as raised:  # httpx looks at where a redirect leads, followed or not
        raise ForecastError("redirects", host=host) from raised
    if body.status == TOO_MANY or body.status >= 500:
        raise _StumbleError(_refusal(body, TRIES), min(retry_after, LONGEST_WAIT))
    return _checked(body, kind, validators)


def _once(target: Target, caller: Caller, kind: str, validators: Validators) -> tuple[Body, float]:
    """Return one answer and how long it asks us to wait, after at most three redirects on the same host."""
    timeout = httpx.Timeout(caller.read, connect=caller.connect)
    started = time.monotonic()
    # A proxy would resolve the name again; for a pinned address nobody may.
    with httpx.Client(timeout=timeout, follow_redirects=False, trust_env=target.pinned_to is None) as client:
        for _ in range(MOST_REDIRECTS + 1):
            headers = {"User-Agent": caller.user_agent, "Accept": _accepted(kind), "Accept-Encoding": "gzip"}
            request = _request(client, target, headers | validators.headers)
            response = client.send(request, stream=True)
            try:
                if response.has_redirect_location:
                    target = _redirected(target, response)
                    continue
                return _body(target, response, started + caller.whole), _retry_after(response)
            finally:
                response.close()
    raise ForecastError("redirects", host=host_of(target.url))


def _request(client: httpx.Client, target: Target, headers: dict[str, str]) -> httpx.Request:
    url = target.url
    if target.pinned_to is None:
        return client.build_request("GET", url, headers=headers)
    headers["Host"] = url.netloc.decode("ascii")
    extensions = {"sni_hostname": host_of(url)}  # the certificate must be the name's, not the number's
    return client.build_request("GET", url.copy_with(host=target.pinned_to), headers=headers, extensions=extensions)


def _redirected(target: Target, response: httpx.Response) -> Target:
    url = target.url.join(response.headers["Location"])
    if not is_same_host(target.url, url):
        raise ForecastError("redirect_elsewhere", host=host_of(target.url), target=str(url))
    return target.at(url)


def _body(target: Target, response: httpx.Response, until: float) -> Body:
    """Read an answer, but not for ever."""
    content = bytearray()
    for piece in response.iter_bytes():
        content += piece
        if len(content) > MOST_BYTES:
            raise ForecastError("too_large", limit=MOST_BYTES // 1024**2)
        if time.monotonic() > until:
            raise httpx.ReadTimeout("the answer trickles", request=response.request)
    kept = Validators(response.headers.get("ETag", ""), response.headers.get("Last-Modified", ""))
    kind = response.headers.get("Content-Type", "").partition(";")[0].strip().lower()
    return Body(str(target.url), response.status_code, kind, bytes(content), kept)


def _retry_after(response: httpx.Response) -> float:
    seconds = response.headers.get("Retry-After", "")
    return float(seconds) if seconds.isascii() and seconds.isdigit() and len(seconds) < 9 else 0.0


def _checked(body: Body, kind: str, asked: Validators) -> Body:
    """Return an answer that is what we asked for."""
    if body.unchanged and asked.headers:
        return body
    if body.status != 200:
        raise _refusal(body, 1)
    if kind not in body.content_type.rpartition("/")[2].split("+"):
        host = host_of(httpx.URL(body.url))
        raise (
            ForecastError("html")
            if "html" in body.content_type
            else ForecastError("content_type", host=host, kind=body.content_type or "nothing")
        )
    return body


def _refusal(body: Body, tries: int) -> ForecastError:
    """Return what a refusal says, in its own words where it has any."""
    host = host_of(httpx.URL(body.url))
    said = _said(body)
    if said is not None:
        return said
    if body.status == FORBIDDEN:
        return ForecastError("forbidden", host=host)
    return ForecastError("http_status", host=host, status=body.status, tries=tries)


def _said(body: Body) -> ForecastError | None:
    if not body.content_type.endswith("json"):
        return None
    try:
        document = read_json(body.content)
    except ForecastError:
        return None
    return refusal(document) if isinstance(document, dict) else None


def _accepted(kind: str) -> str:
    if kind == "xml":
        return "application/cap+xml, application/xml, text/xml"
    return "application/geo+json, application/json"
