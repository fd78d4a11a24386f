"""What ``serve`` does: choose who comes in, listen there, and print how a phone is paired."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, cast

from browseline.cli.out import put
from browseline.errors import BadInput, finding
from browseline.words import say

if TYPE_CHECKING:
    from fastapi import FastAPI

    from browseline.web.access import Access
    from browseline.web.certificate import Leaf
    from browseline.web.held import Keeper
    from browseline.web.listen import Listener

FIRST = ("today.html", "base.html", "parts.html")
"""What the page is made of that is asked for first."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the options of ``serve`` say."""

    folder: Path
    port: int
    lan: bool
    role: str
    names: tuple[str, ...]
    certificate: Path | None
    key: Path | None
    behind: tuple[str, ...]
    base: str
    listen: str
    sandbox: bool


def serve_as(wanted: Wanted, still: datetime | None) -> None:
    """Serve as the options say, until stopped.

    Raises
    ------
    BadInput
        If they contradict each other, or nobody can be listened to there.
    """
    checked(wanted)

    def clock() -> datetime:
        return still or datetime.now(UTC)

    from browseline.web.answer import ready
    from browseline.web.listen import listen
    from browseline.web.serve import build

    keeper = begun(wanted.folder, clock())
    access, leaf = entered_by(wanted)
    app = build(wanted.folder, clock, access, keeper)
    ready(*FIRST)
    bound = [(listener, listener.bound()) for listener in listeners(wanted, app, leaf)]
    for line in told(wanted, app, access):
        put(line)
    sys.stdout.flush()
    listen(bound)


def begun(folder: Path, now: datetime) -> Keeper | None:
    """Begin with the first picture of the farm at the root while the server starts to listen.

    Of many farms none is made before somebody asks. The pages are loaded before: loading and working things
    out beside each other takes a fifth longer than one after the other.
    """
    from browseline.cli.lifetime import here_to_stay
    from browseline.web.held import FARM_FILE, Keeper

    if not (folder / FARM_FILE).is_file():
        here_to_stay()
        return None
    keeper = Keeper(folder)
    keeper.begin(now, here_to_stay)
    return keeper


def checked(wanted: Wanted) -> None:
    """Hold back what contradicts itself.

    Raises
    ------
    BadInput
        With everything that does.
    """
    from browseline.web.people import ROLES

    wrong = []
    if wanted.lan and wanted.behind:
        wrong.append(finding("access.both", "--lan --behind"))
    if wanted.behind and not wanted.names:
        wrong.append(finding("access.no_name", "--behind"))
    if (wanted.certificate is None) != (wanted.key is None):
        wrong.append(finding("access.half", "--certificate --key"))
    if not wanted.behind and (wanted.base or wanted.listen != "127.0.0.1"):
        wrong.append(finding("access.only_behind", "--base --listen"))
    if wanted.base and not (wanted.base.startswith("/") and not wanted.base.endswith("/")):
        wrong.append(finding("access.base", f"--base {wanted.base}"))
    if wanted.role not in ROLES:
        wrong.append(finding("access.role", f"--role {wanted.role}", known=", ".join(ROLES)))
    if wrong:
        raise BadInput(wrong)


def entered_by(wanted: Wanted) -> tuple[Access, Leaf | None]:
    """Return who comes in, and the certificate with which the house's network is served."""
    from browseline.web.access import Access, networks

    if wanted.behind:
        hosts = frozenset(name.lower() for name in wanted.names)
        return Access(
            here=False, hosts=hosts, secure=True, proxies=networks(wanted.behind), base=wanted.base,
            sandbox=wanted.sandbox, address=f"https://{wanted.names[0]}",
        ), None  # fmt: skip
    if not wanted.lan:
        return Access(sandbox=wanted.sandbox), None
    return _house(wanted)


def _house(wanted: Wanted) -> tuple[Access, Leaf]:
    from browseline.web.access import Access
    from browseline.web.certificate import config_folder, given, in_house, made, names_here

    names = wanted.names or names_here()
    if wanted.certificate is not None and wanted.key is not None:
        leaf = given(wanted.certificate, wanted.key)
    else:
        names = tuple(name for name in names if in_house(name))
        if not names:
            raise BadInput([finding("access.no_house", "--lan")])
        leaf = made(config_folder(), names, datetime.now(UTC))
    hosts = frozenset(f"[{name}]" if ":" in name else name.lower() for name in names)
    first = f"[{names[0]}]" if ":" in names[0] else names[0]
    access = Access(
        here=False, hosts=hosts, secure=True, sandbox=wanted.sandbox, authority=leaf.authority,
        address=f"https://{first}:{wanted.port + 1}",
    )  # fmt: skip
    return access, leaf


def listeners(wanted: Wanted, app: FastAPI, leaf: Leaf | None) -> Iterator[Listener]:
    """Yield where to listen: in the house's network beside this machine's own address, never instead."""
    from browseline.web.listen import EVERYWHERE, Listener, OnThisMachine

    if wanted.behind:
        yield Listener(app, wanted.listen, wanted.port)
        return
    yield Listener(OnThisMachine(app), port=wanted.port)
    if leaf is not None:
        yield Listener(app, EVERYWHERE, wanted.port + 1, leaf)


def told(wanted: Wanted, app: FastAPI, access: Access) -> Iterator[str]:
    """Yield what is printed: where the pages are, and a way in for a first device of each farm."""
    if not wanted.behind:
        yield say("cli.serve.open", address=f"http://127.0.0.1:{wanted.port}")
    if access.here:
        return
    if access.authority is not None:
        yield say("access.serve.fingerprint", signs=access.authority.fingerprint)
    yield say("access.serve.phone", address=f"{access.address}{access.base}")
    for name, farm in app.state.farms.items():
        yield from _way_in(wanted, name, farm, access)


def _way_in(wanted: Wanted, name: str, farm: FastAPI, access: Access) -> Iterator[str]:
    """Yield the code of a farm, and its picture where there is one farm."""
    from browseline.web.people import Role

    if wanted.behind and farm.state.register.devices():
        return
    role = cast("Role", wanted.role)
    secret, _ = farm.state.register.invite(role, link=bool(wanted.behind))
    way = f"{access.base}/{name}" if name else access.base
    address = f"{access.address}{way}/pair?code={secret}"
    yield say(
        "access.serve.code", farm=name or wanted.folder.name, role=say(f"access.role.{role}"), code=secret
    )
    yield address
    if not name and sys.stdout.isatty():
        yield picture(address)


def picture(address: str) -> str:
    """Return an address as a square code for a terminal."""
    import io

    import segno

    out = io.StringIO()
    segno.make(address, error="m").terminal(out, border=2, compact=True)
    return out.getvalue()
