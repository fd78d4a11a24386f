"""The authority of a machine: what it vouches for, who may read its key, and when it is made anew."""

from __future__ import annotations

import ipaddress
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from browseline.errors import BadInput
from browseline.web import certificate
from browseline.web.certificate import given, in_house, made

NOW = datetime(2026, 6, 10, 12, tzinfo=UTC)
NAMES = ("192.168.1.20", "stile.local")


def verified(folder: Path, name: str, at: datetime = NOW) -> None:
    """Judge a certificate as browsers do (by the verifier of another library's authors)."""
    authority = x509.load_pem_x509_certificate((folder / "authority.crt").read_bytes())
    leaf = x509.load_pem_x509_certificate((folder / "server.crt").read_bytes())
    try:
        subject: x509.GeneralName = x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        subject = x509.DNSName(name)
    policy = PolicyBuilder().store(Store([authority])).time(at).build_server_verifier(subject)  # type: ignore[arg-type]
    policy.verify(leaf, [])


def test_the_keys_are_the_users_alone(tmp_path: Path) -> None:
    made(tmp_path / "c", NAMES, NOW)
    assert (tmp_path / "c").stat().st_mode & 0o777 == 0o700
    for name in ("authority.key", "server.key"):
        assert (tmp_path / "c" / name).stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize("name", NAMES)
def test_it_vouches_for_the_names_of_the_machine(tmp_path: Path, name: str) -> None:
    made(tmp_path, NAMES, NOW)
    verified(tmp_path, name)


def test_it_vouches_for_no_other_name(tmp_path: Path) -> None:
    made(tmp_path, NAMES, NOW)
    with pytest.raises(VerificationError):
        verified(tmp_path, "192.168.1.21")


@pytest.mark.parametrize("name", ["bank.example.com", "8.8.8.8"])
def test_a_stolen_key_gives_no_power_over_the_web(tmp_path: Path, name: str) -> None:
    """Even a leaf that the authority did sign is turned away outside a house network."""
    made(tmp_path, (*NAMES, name), NOW)
    with pytest.raises(VerificationError):
        verified(tmp_path, name)


def test_what_is_good_is_kept_and_what_is_not_is_made_anew(tmp_path: Path) -> None:
    def both() -> tuple[bytes, bytes]:
        return (tmp_path / "authority.crt").read_bytes(), (tmp_path / "server.crt").read_bytes()

    made(tmp_path, NAMES, NOW)
    first = both()
    made(tmp_path, NAMES[:1], NOW + timedelta(days=100))
    assert both() == first
    # Another address of the machine: the phones still know the authority.
    made(tmp_path, (*NAMES, "192.168.1.77"), NOW)
    second = both()
    assert second[0] == first[0]
    assert second[1] != first[1]
    verified(tmp_path, "192.168.1.77")
    # Shortly before a leaf ends.
    later = NOW + timedelta(days=certificate.LEAF_LASTS_D - 10)
    made(tmp_path, NAMES, later)
    assert both()[0] == first[0]
    verified(tmp_path, NAMES[0], later + timedelta(days=20))


def test_the_fingerprint_is_the_authoritys(tmp_path: Path) -> None:
    import hashlib
    import ssl

    leaf = made(tmp_path, NAMES, NOW)
    assert leaf.authority is not None
    raw = ssl.PEM_cert_to_DER_cert(leaf.authority.certificate.decode())
    assert leaf.authority.fingerprint.replace(" ", "") == hashlib.sha256(raw).hexdigest().upper()


@pytest.mark.parametrize(
    ("name", "inside"),
    [("192.168.1.20", True), ("10.0.0.1", True), ("fd00::2", True), ("stile.local", True),
     ("x.home.arpa", True), ("8.8.8.8", False), ("2001:4860::1", False), ("farm.example.org", False),
     ("127.0.0.1", False), ("evillocal", False), ("local.example.org", False)],
)  # fmt: skip
def test_what_can_be_of_a_house_only(name: str, inside: bool) -> None:
    assert in_house(name) == inside


def test_a_given_certificate_must_belong_to_its_key(tmp_path: Path) -> None:
    made(tmp_path / "a", NAMES, NOW)
    made(tmp_path / "b", NAMES, NOW)
    good = given(tmp_path / "a" / "server.crt", tmp_path / "a" / "server.key")
    assert good.authority is None
    with pytest.raises(BadInput):
        given(tmp_path / "a" / "server.crt", tmp_path / "b" / "server.key")


def test_a_damaged_authority_is_said(tmp_path: Path) -> None:
    made(tmp_path, NAMES, NOW)
    (tmp_path / "authority.key").write_bytes(b"none")
    with pytest.raises(BadInput, match="made anew"):
        made(tmp_path, NAMES, NOW)
