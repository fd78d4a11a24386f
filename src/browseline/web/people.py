"""Who is at the other end: a role, a name for the record, and the units that they read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from starlette.requests import Request

Role = Literal["owner", "partner", "relief", "adviser", "class"]


@dataclass(frozen=True, slots=True)
class Person:
    """One person at one device. No name is needed: the role stands for it."""

    role: Role
    who: str


def person_of(request: Request) -> Person:
    """Return who asks, as the guard at the door found."""
    found: Person = request.state.person
    return found
