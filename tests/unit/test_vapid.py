"""One key pair for alerts, kept by its owner and never replaced."""

from __future__ import annotations

import stat
from base64 import urlsafe_b64decode
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from django.core.management import CommandError, call_command

from maintenance.messages.vapid import KeyFileError, private_key, public_key


def pem(key: ec.EllipticCurvePrivateKey | rsa.RSAPrivateKey) -> bytes:
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def test_the_key_is_made_once_and_only_its_owner_reads_it(tmp_path: Path) -> None:
    path = tmp_path / "vapid.pem"

    first, second = private_key(path), private_key(path)

    assert first.private_numbers() == second.private_numbers()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert list(tmp_path.iterdir()) == [path]


def test_many_who_make_it_at_once_agree_on_one(tmp_path: Path) -> None:
    path = tmp_path / "vapid.pem"

    with ThreadPoolExecutor(8) as pool:
        keys = set(pool.map(lambda _number: public_key(path), range(16)))

    assert len(keys) == 1
    assert list(tmp_path.iterdir()) == [path]


def test_a_browser_gets_the_uncompressed_point(tmp_path: Path) -> None:
    """RFC 8292, 3.2: X9.62 uncompressed, base64url without padding; 65 octets, the first 0x04."""
    path = tmp_path / "vapid.pem"
    key = ec.derive_private_key(1, ec.SECP256R1())
    path.write_bytes(pem(key))

    text = public_key(path)

    # The public point of the private key 1 is the curve's base point: FIPS 186-4, D.1.2.3.
    x = "6b17d1f2e12c4247f8bce6e563a440f277037d812deb33a0f4a13945d898c296"
    y = "4fe342e2fe1a7f9b8ee7eb4a7c0f9e162bce33576b315ececbb6406837bf51f5"
    assert "=" not in text
    assert urlsafe_b64decode(text + "=").hex() == "04" + x + y


@pytest.mark.parametrize(
    "content",
    [b"", b"no key", pem(ec.generate_private_key(ec.SECP384R1())), pem(rsa.generate_private_key(65537, 2048))],
)
def test_a_file_that_holds_another_key_is_refused_and_left_alone(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "vapid.pem"
    path.write_bytes(content)

    with pytest.raises(KeyFileError, match="Put the one from your copy back"):
        private_key(path)

    assert path.read_bytes() == content


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(KeyFileError, match="cannot be read or made"):
        private_key(tmp_path / "gone" / "vapid.pem")


def test_the_start_makes_it_and_stops_at_a_damaged_one(tmp_path: Path, settings) -> None:
    settings.PUSH_KEY_FILE = tmp_path / "vapid.pem"

    call_command("make_push_key")
    kept = settings.PUSH_KEY_FILE.read_bytes()
    call_command("make_push_key")

    assert settings.PUSH_KEY_FILE.read_bytes() == kept
    settings.PUSH_KEY_FILE.write_bytes(kept[:40])
    with pytest.raises(CommandError, match="holds no P-256 key"):
        call_command("make_push_key")
