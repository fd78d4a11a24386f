"""Contexts of the pages about people: who is in, a way in for one more, and the steps on a phone."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from browseline.web.people import ROLES, SHARES, Person
from browseline.web.register import Device, Invitation, Register
from browseline.words import day_words, say


@dataclass(frozen=True, slots=True)
class PersonLine:
    """One device or invitation: its id, what the person may do in words, and until when.

    Parameters
    ----------
    seen : datetime or None
        When the device was last here, to the hour; None for an invitation.
    """

    id: str
    role: str
    who: str
    shares: tuple[str, ...]
    since: datetime
    until: datetime
    seen: datetime | None
    mine: bool


@dataclass(frozen=True, slots=True)
class PeoplePage:
    """Who is in, and who may still come in.

    Parameters
    ----------
    paired : bool
        Whether this server lets paired devices in at all, or only whoever sits at it.
    roles, shares : tuple of str
        What an invitation may choose from.
    """

    schema: str
    devices: tuple[PersonLine, ...]
    invitations: tuple[PersonLine, ...]
    paired: bool
    roles: tuple[str, ...] = ROLES
    shares: tuple[str, ...] = SHARES


@dataclass(frozen=True, slots=True)
class InvitedPage:
    """A way in for one device, shown once: the code, the address, and the same as a picture.

    Parameters
    ----------
    qr : str
        The address as SVG.
    """

    schema: str
    code: str
    address: str
    qr: str
    role: str
    who: str
    until: datetime


@dataclass(frozen=True, slots=True)
class PairPage:
    """The form for a code. ``code`` is what the address already holds; ``wrong`` whether one did not open."""

    schema: str
    code: str
    wrong: bool


@dataclass(frozen=True, slots=True)
class PhonePage:
    """The steps that are made once on a phone.

    Parameters
    ----------
    made : bool
        Whether this server's certificate was made here, so that the phone must be told to trust it.
    fingerprint : str
        Of the authority's certificate, to be compared with what the server prints.
    """

    schema: str
    made: bool
    fingerprint: str


def people_page(register: Register, mine: Device | None, paired: bool) -> PeoplePage:
    """Return who is in and who may still come in."""
    devices = tuple(
        _line(d.id, d.person, d.made, d.ends, d.seen, mine is not None and mine.id == d.id)
        for d in register.devices()
    )
    invitations = tuple(
        _line(i.id, Person(i.role, i.who, i.shares), i.made, i.ends, None, False)
        for i in register.invitations()
    )
    return PeoplePage("browseline/people/1", devices, invitations, paired)


def _line(ident: str, person: Person, made: float, ends: float, seen: float | None, mine: bool) -> PersonLine:
    shares = tuple(say(f"access.share.{share}") for share in sorted(person.shares))
    return PersonLine(
        ident, say(f"access.role.{person.role}"), person.who, shares, _at(made), _at(ends),
        _at(seen) if seen is not None else None, mine,
    )  # fmt: skip


def invited_page(secret: str, invitation: Invitation, address: str) -> InvitedPage:
    """Return a way in, as it is shown once."""
    return InvitedPage(
        "browseline/invited/1", secret, address, drawn(address), say(f"access.role.{invitation.role}"),
        invitation.who, _at(invitation.ends),
    )  # fmt: skip


def drawn(address: str) -> str:
    """Return an address as a square code, in SVG."""
    import segno

    found: str = segno.make(address, error="m").svg_inline(scale=6, border=4, dark="#000", light="#fff")
    return found


def instant_words(instant: datetime, time_zone: str) -> str:
    """Return an instant as people say it: day and time of the farm's clock."""
    local = instant.astimezone(ZoneInfo(time_zone))
    return say("access.people.at", day=day_words(local.date()), year=local.year, time=f"{local:%H:%M}")


def _at(seconds: float) -> datetime:
    return datetime.fromtimestamp(int(seconds), UTC)
