"""The key pair by which push services know this sender (RFC 8292): made once, and never replaced by another."""

from __future__ import annotations

import contextlib
import os
import secrets
from base64 import urlsafe_b64encode
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
)


class KeyFileError(Exception):
    """The key pair cannot be used; the message says why and what to do."""


def private_key(path: Path) -> ec.EllipticCurvePrivateKey:
    """Return the kept key, made first where there is none yet.

    Every phone that asked for alerts is bound to this key: another one would silence them all.
    """
    try:
        if not path.exists():
            _keep_new_key(path)
        key = load_pem_private_key(path.read_bytes(), password=None)
    except OSError as error:
        raise KeyFileError(f"The key for alerts, {path}, cannot be read or made ({error.strerror}).") from error
    except (ValueError, TypeError) as error:
        raise _damaged(path) from error
    if not isinstance(key, ec.EllipticCurvePrivateKey) or not isinstance(key.curve, ec.SECP256R1):
        raise _damaged(path)
    return key


def public_key(path: Path) -> str:
    """Return the public half as a browser takes it: the uncompressed point, base64url without padding."""
    point = private_key(path).public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)
    return urlsafe_b64encode(point).rstrip(b"=").decode()


def _keep_new_key(path: Path) -> None:
    """Write a key aside and give it its name only where nobody was quicker; the owner alone may read it."""
    fresh = ec.generate_private_key(ec.SECP256R1())
    draft = path.with_name(f"{path.name}.{secrets.token_hex(8)}")
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(fresh.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
            file.flush()
            os.fsync(file.fileno())
        with contextlib.suppress(FileExistsError):
            path.hardlink_to(draft)  # unlike a rename, a link never replaces
    finally:
        draft.unlink()


def _damaged(path: Path) -> KeyFileError:
    return KeyFileError(
        f"{path} holds no P-256 key. Put the one from your copy back; "
        "or delete it, start again, and turn alerts on anew on every phone."
    )
