"""Certificates for the house's network: an authority of this machine's own, and a leaf for its addresses.

The authority's key is the user's alone and never leaves the machine. It can vouch only for names and
addresses of a house network, so that a phone that trusts it gives nobody power over the rest of the web.
"""

from __future__ import annotations

import ipaddress
import os
import socket
import ssl
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from browseline.errors import BadInput, finding
from browseline.web.access import Authority

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

AUTHORITY_LASTS_D = 3650
LEAF_LASTS_D = 397
"""Phones refuse a leaf that lasts longer."""
RENEW_BEFORE_D = 30
HOUSE = ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "100.64.0.0/10", "127.0.0.0/8",
         "fc00::/7", "fe80::/10", "::1/128")  # fmt: skip
"""Networks that are nobody's on the open web."""
HOUSE_NAMES = ("local", "lan", "home.arpa", "internal", "localhost")


@dataclass(frozen=True, slots=True)
class Leaf:
    """The files of a server's certificate with its chain, and of its key."""

    certificate: Path
    key: Path
    authority: Authority | None = None


def config_folder() -> Path:
    """Return where the authority is kept: the user's configuration, or ``BROWSELINE_CONFIG``."""
    own = os.environ.get("BROWSELINE_CONFIG")
    if own:
        return Path(own)
    base = os.environ.get("XDG_CONFIG_HOME")
    return (Path(base) if base else Path.home() / ".config") / "browseline"


def names_here() -> tuple[str, ...]:
    """Return the addresses and names under which this machine is found in the house's network."""
    host = socket.gethostname().partition(".")[0].lower()
    names = [f"{host}.local"] if host and host != "localhost" else []
    found: list[str] = []
    for family, target in ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")):
        # Nothing is sent: the machine only says from which of its addresses it would.
        try:
            with socket.socket(family, socket.SOCK_DGRAM) as asked:
                asked.connect((target, 9))
                found.append(asked.getsockname()[0].partition("%")[0])
        except OSError:
            continue
    try:
        more = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), None)}
    except OSError:
        more = set()
    ordered = [*found, *sorted(str(one).partition("%")[0] for one in more)]
    return tuple(dict.fromkeys([*ordered, *names]))


def in_house(name: str) -> bool:
    """Return whether a name or address can be of a house network only."""
    try:
        address = ipaddress.ip_address(name)
    except ValueError:
        return any(name.lower().endswith(f".{suffix}") for suffix in HOUSE_NAMES)
    return not address.is_loopback and any(address in ipaddress.ip_network(net) for net in HOUSE)


def given(certificate: Path, key: Path) -> Leaf:
    """Return a certificate that somebody gave.

    Raises
    ------
    BadInput
        If the files are no certificate with its key.
    """
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate, key)
    except (OSError, ssl.SSLError) as wrong:
        raise BadInput([finding("access.certificate", str(certificate), why=str(wrong))]) from None
    return Leaf(certificate, key)


def made(folder: Path, names: Iterable[str], now: datetime) -> Leaf:
    """Return a certificate of this machine's authority for some names; whatever is good still is kept.

    Parameters
    ----------
    folder : Path
        The user's configuration.
    names : iterable of str
        Host names and addresses.
    """
    names = tuple(dict.fromkeys(names))
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    authority, key = _authority(folder, now)
    paths = folder / "server.crt", folder / "server.key"
    if not _still_good(paths, authority, names, now):
        _make_leaf(paths, authority, key, names, now)
    return Leaf(*paths, _public(authority))


def _public(certificate: x509.Certificate) -> Authority:
    from cryptography.hazmat.primitives.hashes import SHA256
    from cryptography.hazmat.primitives.serialization import Encoding

    digest = certificate.fingerprint(SHA256()).hex().upper()
    spaced = " ".join(digest[i : i + 4] for i in range(0, len(digest), 4))
    return Authority(certificate.public_bytes(Encoding.PEM), spaced)


def _authority(folder: Path, now: datetime) -> tuple[x509.Certificate, EllipticCurvePrivateKey]:
    from cryptography.hazmat.primitives.asymmetric import ec

    paths = folder / "authority.crt", folder / "authority.key"
    if all(path.is_file() for path in paths):
        certificate, key = _read(*paths)
        if now + timedelta(days=RENEW_BEFORE_D) < certificate.not_valid_after_utc:
            return certificate, key
    key = ec.generate_private_key(ec.SECP256R1())
    certificate = _signed_authority(key, now)
    _write(paths, certificate, key)
    return certificate, key


def _read(certificate: Path, key: Path) -> tuple[x509.Certificate, EllipticCurvePrivateKey]:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        found = x509.load_pem_x509_certificate(certificate.read_bytes())
        secret = load_pem_private_key(key.read_bytes(), None)
    except (OSError, ValueError) as wrong:
        raise BadInput([finding("access.certificate", str(certificate), why=str(wrong))]) from None
    if not isinstance(secret, ec.EllipticCurvePrivateKey):
        raise BadInput([finding("access.certificate", str(key), why="EC")])
    return found, secret


def _signed_authority(key: EllipticCurvePrivateKey, now: datetime) -> x509.Certificate:
    from cryptography import x509
    from cryptography.hazmat.primitives.hashes import SHA256

    name = _name(f"browseline {socket.gethostname().partition('.')[0] or 'farm'} {now:%Y-%m-%d}")
    permitted: list[x509.GeneralName] = [x509.IPAddress(ipaddress.ip_network(net)) for net in HOUSE]
    permitted += [x509.DNSName(suffix) for suffix in HOUSE_NAMES]
    usage = x509.KeyUsage(
        digital_signature=False, content_commitment=False, key_encipherment=False, data_encipherment=False,
        key_agreement=False, key_cert_sign=True, crl_sign=True, encipher_only=False, decipher_only=False,
    )  # fmt: skip
    return (
        _builder(name, name, key, now, AUTHORITY_LASTS_D)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, SHA256())
    )


def _make_leaf(
    paths: tuple[Path, Path],
    authority: x509.Certificate,
    signer: EllipticCurvePrivateKey,
    names: tuple[str, ...],
    now: datetime,
) -> None:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.hashes import SHA256
    from cryptography.x509.oid import ExtendedKeyUsageOID

    key = ec.generate_private_key(ec.SECP256R1())
    known = authority.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    leaf = (
        _builder(_name("browseline"), authority.subject, key, now, LEAF_LASTS_D)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.SubjectAlternativeName([_general(name) for name in names]), critical=False)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(known), critical=False)
        .sign(signer, SHA256())
    )
    _write(paths, leaf, key)


def _builder(
    subject: x509.Name, issuer: x509.Name, key: EllipticCurvePrivateKey, now: datetime, lasts_d: int
) -> x509.CertificateBuilder:
    from cryptography import x509

    begins = now.astimezone(UTC) - timedelta(days=1)
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(begins)
        .not_valid_after(begins + timedelta(days=lasts_d))
    )


def _name(words: str) -> x509.Name:
    from cryptography import x509
    from cryptography.x509.oid import NameOID

    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, words[:64])])


def _general(name: str) -> x509.GeneralName:
    from cryptography import x509

    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _still_good(
    paths: tuple[Path, Path], authority: x509.Certificate, names: tuple[str, ...], now: datetime
) -> bool:
    """Return whether the leaf that is there holds every name, is this authority's, and lasts a while."""
    from cryptography import x509

    if not all(path.is_file() for path in paths):
        return False
    leaf, _ = _read(*paths)
    held = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    enough = all(_general(name) in list(held) for name in names)
    if leaf.issuer != authority.subject or now + timedelta(days=RENEW_BEFORE_D) > leaf.not_valid_after_utc:
        return False
    return enough


def _write(paths: tuple[Path, Path], certificate: x509.Certificate, key: EllipticCurvePrivateKey) -> None:
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    secret = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    paths[1].unlink(missing_ok=True)
    handle = os.open(paths[1], os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as out:
        out.write(secret)
    paths[0].write_bytes(certificate.public_bytes(Encoding.PEM))
