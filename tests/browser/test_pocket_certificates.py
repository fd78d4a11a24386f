"""Whether the phone works without a signal: no certificate, a foreign one, an old one, a trusted one."""

from __future__ import annotations

import base64
import hashlib
import ipaddress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
)
from cryptography.x509.oid import NameOID
from playwright.sync_api import Playwright

from browseline.web.access import Access
from tests.browser.conftest import PATIENCE_MS, Server
from tests.browser.phone import Phone, free_port

NAME = "farm.example"
LAN = f"--host-resolver-rules=MAP {NAME} 127.0.0.1"
"""The phone calls the server by a name, as in a house; it is this machine all the same."""


@dataclass(frozen=True)
class Certificate:
    """A key and a certificate on the disk, and the mark by which a browser can be told to trust the key."""

    chain: Path
    key: Path
    mark: str


def certificate(folder: Path, begins: datetime, ends: datetime) -> Certificate:
    """Make a certificate for the farm's name, signed by itself."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, NAME)])
    names = [x509.DNSName(NAME), x509.IPAddress(ipaddress.ip_address("127.0.0.1"))]
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(begins)
        .not_valid_after(ends)
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .sign(key, hashes.SHA256())
    )
    folder.mkdir()
    chain, secret = folder / "chain.pem", folder / "key.pem"
    chain.write_bytes(made.public_bytes(Encoding.PEM))
    secret.write_bytes(key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    public = key.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    return Certificate(chain, secret, base64.b64encode(hashlib.sha256(public).digest()).decode())


def served(farm: Path, port: int, state: Path, found: Certificate | None) -> Server:
    """Return a server that paired phones call by the farm's name."""
    access = Access(here=False, hosts=frozenset({NAME}), state=state, secure=found is not None)
    if found is None:
        return Server(farm, port=port, access=access)
    return Server(farm, port=port, access=access, ssl_certfile=found.chain, ssl_keyfile=found.key)


def paired(phone: Phone, server: Server, address: str) -> None:
    """Pair the phone as the owner's, past a warning about the certificate if there is one."""
    code, _ = server.app.state.register.invite("owner")
    page = phone.open(f"{address}/pair", ready="")
    page.fill("[name=code]", code)
    page.click("form button")
    page.wait_for_url("**/phone")


@pytest.mark.parametrize("case", ["missing", "foreign", "expired", "trusted"])
def test_the_phone_says_plainly_whether_it_works_without_a_signal(
    play: Playwright, own_farm: Path, tmp_path: Path, case: str
) -> None:
    now = datetime.now(UTC)
    ends = now + timedelta(days=-1 if case == "expired" else 90)
    made = None if case == "missing" else certificate(tmp_path / "tls", now - timedelta(days=90), ends)
    trust = (f"--ignore-certificate-errors-spki-list={made.mark}",) if made and case == "trusted" else ()
    phone = Phone(play, tmp_path / "phone", flags=(LAN, *trust), past_warnings=case in ("foreign", "expired"))
    port = free_port()
    server = served(own_farm, port, tmp_path / "state", made)
    address = f"{'http' if made is None else 'https'}://{NAME}:{port}"
    try:
        with server:
            paired(phone, server, address)
            page = phone.open(f"{address}/pocket")
            page.wait_for_selector("section.mob", timeout=PATIENCE_MS)
            page.goto(f"{address}/pocket#list")
            told = {
                "missing": "does not begin with https",
                "foreign": "does not trust the farm's certificate",
                "expired": "does not trust the farm's certificate",
                "trusted": "This phone works without a signal.",
            }
            page.wait_for_selector(f"text={told[case]}", timeout=PATIENCE_MS)
            # Whatever the certificate, an entry is kept and goes home while there is a signal.
            page.goto(f"{address}/pocket#count/ewes")
            page.fill("[name=head]", "9")
            page.click("button.keep")
            page.wait_for_selector("text=Nothing unsent", timeout=PATIENCE_MS)
        if case == "trusted":
            page = phone.open(f"{address}/today")
            page.wait_for_selector("section.mob")
    finally:
        phone.kill()
