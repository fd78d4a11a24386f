"""What each role may ask for and do. Whatever is not named here is for nobody but the owner."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

from browseline.web.people import ROLES, Person, Role

_ALL = frozenset(ROLES)
_OWNER = frozenset[Role]({"owner"})
_FARM = frozenset[Role]({"owner", "partner"})
_FIELD = frozenset[Role]({"owner", "partner", "relief", "class"})

OPEN = frozenset(
    {"GET /pair", "POST /pair", "GET /phone", "GET /phone/authority.crt", "GET /pocket", "GET /pocket/words",
     "GET /sw.js", "GET /manifest.webmanifest"}
)  # fmt: skip
"""What a device that is not paired may ask for: nothing of the farm is in it."""
FILES = "/static/"
"""Files of the program; nothing of any farm."""

ROUTES: Mapping[str, frozenset[Role]] = {
    "GET /": _ALL,
    "GET /today": _ALL,
    "GET /openapi.json": _ALL,
    "POST /typed": _FIELD,
    "GET /pocket/table": _ALL,
    "GET /pocket/news": _ALL,
    "GET /pocket/relief": _ALL,
    "POST /pocket/events": _FIELD,
    "GET /people": _OWNER,
    "POST /people/invite": _OWNER,
    "POST /people/revoke": _OWNER,
}
"""Which roles may ask for what. A page that is not named is the owner's alone."""


def may_ask(person: Person, method: str, path: str) -> bool:
    """Return whether a person may ask for a path of a farm.

    Parameters
    ----------
    path : str
        As the browser asks, without what the farm is mounted under.
    """
    if is_open(method, path) or person.role == "owner":
        return True
    if person.role == "class" and method == "POST" and not person.sandbox:
        return False
    return person.role in _roles(_method(method), path)


def is_open(method: str, path: str) -> bool:
    """Return whether anybody may ask for a path."""
    got = _method(method)
    return f"{got} {path}" in OPEN or (got == "GET" and path.startswith(FILES))


def is_judged(method: str, path: str) -> bool:
    """Return whether it was thought of who may ask for a route; ``path`` is as the route names it."""
    return f"{method} {path}" in ROUTES or f"{method} {path}" in OPEN


def _method(method: str) -> str:
    return "GET" if method == "HEAD" else method


def _roles(method: str, path: str) -> frozenset[Role]:
    found = ROUTES.get(f"{method} {path}")
    if found is not None and "{" not in path:
        return found
    fits = (roles for pattern, roles in _patterns() if pattern.fullmatch(f"{method} {path}"))
    return next(fits, frozenset())


@cache
def _patterns() -> tuple[tuple[re.Pattern[str], frozenset[Role]], ...]:
    found = []
    for route, roles in ROUTES.items():
        pieces = re.split(r"(\{[^}]*\})", route)
        pattern = "".join(_pattern(piece) for piece in pieces)
        found.append((re.compile(pattern), roles))
    return tuple(found)


def _pattern(piece: str) -> str:
    if not piece.startswith("{"):
        return re.escape(piece)
    return ".+" if piece.endswith(":path}") else "[^/]+"
