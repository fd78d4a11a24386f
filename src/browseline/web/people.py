"""Who is at the other end: a role, a name for the record, and what the owner shares with them."""

from __future__ import annotations

from contextvars import ContextVar
from dataclasses import dataclass
from typing import Literal, get_args

from starlette.requests import Request

Role = Literal["owner", "partner", "relief", "adviser", "class", "nobody"]
Share = Literal["money", "treatments", "coordinates"]
ROLES: tuple[Role, ...] = ("owner", "partner", "relief", "adviser", "class")
SHARES: tuple[Share, ...] = get_args(Share)


@dataclass(frozen=True, slots=True)
class Person:
    """One person at one device. No name is needed: the role stands for it.

    Parameters
    ----------
    who : str
        Who stands in the entries that come from here.
    shares : frozenset
        What the owner shares beyond what everybody with the role sees.
    sandbox : bool
        Whether the farm is a copy to try things in.
    """

    role: Role
    who: str
    shares: frozenset[Share] = frozenset()
    sandbox: bool = False


OWNER = Person("owner", "owner", frozenset(SHARES))
"""Whoever sits at the machine that holds the farm."""
asking: ContextVar[Person | None] = ContextVar("asking", default=None)
"""Who asks, while a request is worked on; None outside."""
NOBODY = Person("nobody", "")
"""Whoever comes by a device that is not paired."""


def person_of(request: Request) -> Person:
    """Return who asks, as the guard at the door found."""
    found: Person = request.state.person
    return found
