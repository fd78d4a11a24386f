"""How a server is entered: from this machine only, by paired devices, or behind another server."""

from __future__ import annotations

import ipaddress
import os
from dataclasses import dataclass
from pathlib import Path

from browseline.errors import BadInput, finding

Network = ipaddress.IPv4Network | ipaddress.IPv6Network


@dataclass(frozen=True, slots=True)
class Authority:
    """A certificate authority of this machine: its certificate as PEM, and its fingerprint."""

    certificate: bytes
    fingerprint: str


LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "[::1]"})
HERE = "browseline.here"
"""The key of a request's scope that the listener on this machine's own address sets."""


@dataclass(frozen=True, slots=True)
class Access:
    """Who comes in, and by which names the server is called.

    Parameters
    ----------
    here : bool
        Whether whoever reaches the server is the owner: true only where it listens on this machine's own
        address alone. Otherwise only paired devices come in, and requests that the listener on the own
        address marks with ``HERE``.
    hosts : frozenset of str
        Names and addresses under which paired devices may call it, without the port.
    secure : bool
        Whether devices come by HTTPS; their cookies are then sent by HTTPS only.
    proxies : tuple of networks
        Addresses of servers in front, whose word about the caller is taken. Nobody else's is.
    base : str
        The path under which a server in front shows the pages; "" is the root.
    sandbox : bool
        Whether the farms are copies to try things in, where a class may write.
    state : Path or None
        Where the people of each farm are kept; by default the user's state folder.
    address : str
        How devices call the server, with its scheme and port; "" is as the page at hand was called.
    authority : Authority or None
        The authority that was made here for the server's certificate, which phones must be told to trust.
    """

    here: bool = True
    hosts: frozenset[str] = frozenset()
    secure: bool = False
    proxies: tuple[Network, ...] = ()
    base: str = ""
    sandbox: bool = False
    state: Path | None = None
    address: str = ""
    authority: Authority | None = None

    @property
    def paired(self) -> bool:
        """Return whether paired devices come in."""
        return not self.here


def state_folder() -> Path:
    """Return where the people of each farm are kept: the user's state folder, or ``BROWSELINE_STATE``."""
    own = os.environ.get("BROWSELINE_STATE")
    if own:
        return Path(own)
    base = os.environ.get("XDG_STATE_HOME")
    return (Path(base) if base else Path.home() / ".local" / "state") / "browseline"


def networks(texts: tuple[str, ...]) -> tuple[Network, ...]:
    """Return addresses and networks as they are typed.

    Raises
    ------
    BadInput
        With every one that is none.
    """
    found, wrong = [], []
    for text in texts:
        try:
            found.append(ipaddress.ip_network(text, strict=False))
        except ValueError:
            wrong.append(finding("access.address", f"--behind {text}", address=text))
    if wrong:
        raise BadInput(wrong)
    return tuple(found)
