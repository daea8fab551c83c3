"""A mail server and a push service of the tests' own: real sockets on this machine, and answers as a test asks."""

from __future__ import annotations

import json
import threading
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from email.message import EmailMessage
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import http_ece
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from django.db import connections
from django.test import override_settings

FINE = "250 OK"


@dataclass
class MailServer:
    """Takes letters; ``answers`` holds what it says to the next recipients and letters, FINE when it is empty."""

    answers: list[str] = field(default_factory=list)
    letters: list[EmailMessage] = field(default_factory=list)
    in_transaction: list[bool] = field(default_factory=list)
    during: Callable[[], None] = lambda: None

    def __post_init__(self) -> None:
        self._sender = connections["default"]  # of this thread, looked at from the server's

    async def handle_RCPT(
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        self.in_transaction.append(self._sender.in_atomic_block)
        answer = self.answers.pop(0) if self.answers else FINE
        if answer == FINE:
            envelope.rcpt_tos.append(address)
        return answer

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        self.letters.append(message_from_bytes(envelope.original_content or b"", policy=policy.SMTP))
        self.during()
        return FINE


class AnyPort(Controller):
    """Listens at a port that the system chose, and greets itself there."""

    def _trigger_server(self) -> None:
        self.port = self.server.sockets[0].getsockname()[1]
        super()._trigger_server()


@contextmanager
def mail_server() -> Iterator[MailServer]:
    """Run a mail server, and let the settings name it."""
    handler = MailServer()
    controller = AnyPort(handler, hostname="127.0.0.1", port=0)
    controller.start()
    try:
        with mail_settings(controller.port):
            yield handler
    finally:
        controller.stop()


def mail_settings(port: int) -> override_settings:
    """Return the settings of a mail server at a port of this machine."""
    return override_settings(
        HAS_MAIL_SERVER=True, EMAIL_HOST="127.0.0.1", EMAIL_PORT=port, EMAIL_HOST_USER="", EMAIL_HOST_PASSWORD="",
        EMAIL_USE_TLS=False, EMAIL_USE_SSL=False, EMAIL_TIMEOUT=5, DEFAULT_FROM_EMAIL="Farm <post@farm.example>",
        PUBLIC_ADDRESS="https://tunnels.example",
    )  # fmt: skip


@dataclass
class Phone:
    """A browser that subscribed: its own key pair and secret (RFC 8291)."""

    key: ec.EllipticCurvePrivateKey = field(default_factory=lambda: ec.generate_private_key(ec.SECP256R1()))
    auth: bytes = b"sixteen octets.."

    @property
    def keys(self) -> dict[str, str]:
        """What the browser tells: its public point and its secret, base64url."""
        return {"p256dh": encoded(point(self.key.public_key())), "auth": encoded(self.auth)}

    def read(self, body: bytes) -> dict[str, Any]:
        """Decrypt an alert as the browser does."""
        text = http_ece.decrypt(body, private_key=self.key, auth_secret=self.auth, version="aes128gcm")
        read: dict[str, Any] = json.loads(text)
        return read


@dataclass
class PushService:
    """Takes alerts; ``answers`` holds status and headers for the next ones, 201 when it is empty."""

    address: str = ""
    answers: list[tuple[int, dict[str, str]]] = field(default_factory=list)
    requests: list[tuple[str, dict[str, str], bytes]] = field(default_factory=list)

    def endpoint(self, name: str) -> str:
        """Return the address of a phone at this service."""
        return f"{self.address}/push/{name}"


@contextmanager
def push_service() -> Iterator[PushService]:
    """Run a push service."""
    service = PushService()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            service.requests.append((self.path, {name.lower(): value for name, value in self.headers.items()}, body))
            status, headers = service.answers.pop(0) if service.answers else (201, {})
            self.send_response(status)
            for name, value in {"Content-Length": "0", **headers}.items():
                self.send_header(name, value)
            self.end_headers()

        def log_message(self, *_words: Any) -> None:
            """Say nothing."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
        thread.start()
        service.address = f"http://127.0.0.1:{server.server_address[1]}"
        try:
            with override_settings(PUSH_CONTACT="mailto:post@farm.example", PUBLIC_ADDRESS="https://tunnels.example"):
                yield service
        finally:
            server.shutdown()
            thread.join()


def claims_of(authorization: str) -> tuple[dict[str, Any], str]:
    """Return the claims of a VAPID header (RFC 8292) and the key that it names, its ES256 signature verified."""
    scheme, _, fields = authorization.partition(" ")
    assert scheme == "vapid"
    parts = dict(part.strip().split("=", 1) for part in fields.split(","))
    head, body, signature = parts["t"].split(".")
    key = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), decoded(parts["k"]))
    octets = decoded(signature)
    pair = encode_dss_signature(int.from_bytes(octets[:32]), int.from_bytes(octets[32:]))
    key.verify(pair, f"{head}.{body}".encode(), ec.ECDSA(SHA256()))  # raises where it is not theirs
    assert json.loads(decoded(head)) == {"typ": "JWT", "alg": "ES256"}
    return json.loads(decoded(body)), parts["k"]


def point(key: ec.EllipticCurvePublicKey) -> bytes:
    """Return a public key as an uncompressed point."""
    return key.public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)


def encoded(octets: bytes) -> str:
    """Return octets as base64url without padding."""
    return urlsafe_b64encode(octets).rstrip(b"=").decode()


def decoded(text: str) -> bytes:
    """Return the octets of base64url without padding."""
    return urlsafe_b64decode(text + "=" * (-len(text) % 4))
