"""What each role may ask for, write and see: the one place where that is decided.

Whatever is not named here is the owner's alone: a new page is hidden until its row is written, and a new kind
of entry until it stands in ``OPEN_KINDS``. What is hidden goes out twice: treatments leave the picture before
a page is made of it (``seen``), and every answer is gone through once more on its way out (``blanks.py``).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

from browseline.chain.in_units import kept_by
from browseline.chain.pocket.received import MAY_WRITE
from browseline.errors import BadInput, finding
from browseline.events import KINDS, Event
from browseline.web.people import ROLES, SHARES, Person, Role, Share, asking

if TYPE_CHECKING:
    from browseline.chain.look import Picture

_ALL = frozenset[Role](ROLES)
_OWNER = frozenset[Role]({"owner"})
_FARM = frozenset[Role]({"owner", "partner", "class"})
_FIELD = frozenset[Role]({"owner", "partner", "class", "relief"})
_DESK = frozenset[Role]({"owner", "partner", "class", "adviser"})
_NONE = frozenset[Share]()
_BOOKS = frozenset[Share]({"money", "treatments"})

OPEN = frozenset(
    {"GET /pair", "POST /pair", "GET /phone", "GET /phone/authority.crt", "GET /pocket", "GET /pocket/words",
     "GET /sw.js", "GET /manifest.webmanifest"}
)  # fmt: skip
"""What a device that is not paired may ask for: nothing of the farm is in it."""
FILES = "/static/"
"""Files of the program; nothing of any farm."""
WHY = "GET /why/"


@dataclass(frozen=True, slots=True)
class Row:
    """Who may ask for a route: which roles, and what must be shared with them.

    ``writes`` tells that it changes the farm. ``sealed`` tells that its answer is no text that could be gone
    through, and was judged to hold nothing that is hidden.
    """

    roles: frozenset[Role]
    needs: frozenset[Share] = _NONE
    writes: bool = False
    sealed: bool = False


ROUTES: Mapping[str, Row] = {
    **{f"GET /{name}": Row(_ALL) for name in (
        "", "today", "walk", "walk/{paddock}", "shut", "ready", "poison", "more", "settings", "relief",
        "why/{key:path}", "openapi.json", "pocket/table", "pocket/news", "pocket/relief",
    )},
    "GET /relief.pdf": Row(_ALL, sealed=True),
    "POST /settings": Row(_ALL),
    "POST /relief": Row(_FARM, writes=True),
    "GET /relief/{event}.pdf": Row(_FARM, sealed=True),
    **{f"GET /{name}": Row(_FIELD) for name in (
        "enter", "enter/{verb}", "told/{event}", "typed", "undo/{event}",
    )},
    **{f"POST /{name}": Row(_FIELD, writes=True) for name in (
        "enter/{verb}", "typed", "walk/{paddock}", "undo/{event}", "pocket/events",
    )},
    **{f"GET /{name}": Row(_DESK) for name in (
        "season", "what-if", "harvest", "record", "record.csv", "store", "balance", "share", "losses",
        "yield", "cultivars", "carbon",
    )},
    **{f"GET /{name}": Row(_DESK, needs=frozenset({"money"})) for name in ("hours", "purpose", "money")},
    **{f"GET /{name}": Row(_DESK, needs=frozenset({"coordinates"})) for name in ("map", "site")},
    **{f"GET /{name}": Row(_DESK) for name in ("layout", "canopy")},
    "GET /canopy.png": Row(_DESK, sealed=True),
    "GET /lender.pdf": Row(_DESK, needs=frozenset({"money"}), sealed=True),
    **{f"GET /{name}": Row(_DESK, needs=frozenset({"money"})) for name in (
        "try", "compare", "compare/designs", "brief", "decades",
    )},
    "POST /try": Row(_DESK, needs=frozenset({"money"})),
    "GET /brief.pdf": Row(_DESK, needs=frozenset({"money"}), sealed=True),
    "GET /entries": Row(_DESK, needs=_BOOKS),
    "GET /correct/{event}": Row(_FARM, needs=_BOOKS),
    "POST /correct/{event}": Row(_FARM, needs=_BOOKS, writes=True),
    **{f"GET /{name}": Row(_OWNER) for name in (
        "people", "people/invite", "people/revoke", "start", "bring", "bring/map", "bring/week",
    )},
    **{f"POST /{name}": Row(_OWNER, writes=True) for name in (
        "people/invite", "people/revoke", "start", "bring/map", "bring/week",
    )},
}  # fmt: skip
"""Who may ask for what. A route that is not named is the owner's alone."""

HIDDEN_KINDS: Mapping[str, Share] = {"treated": "treatments", "spent": "money", "earned": "money"}
"""Kinds of entry that are hidden as a whole from whom their share is not given."""
OPEN_KINDS = frozenset({
    "moved", "split", "merged", "netted", "penned", "back", "counted", "born", "died", "sold", "bought",
    "weaned", "borrowed", "returned", "weighed", "walked", "looked", "shut", "opened", "rained", "forecast",
    "stormed", "cut", "sown", "spread", "sampled", "planted", "lost", "guarded", "pruned", "thinned",
    "felled", "tree_measured", "bitten", "picked", "fed", "fuelled", "worked", "photographed", "noted",
    "issued", "undone", "corrected",
})  # fmt: skip
"""Kinds of entry of which everybody who sees entries sees that there is one."""
HIDDEN_QUESTIONS: Mapping[str, Share] = {"sold_in_withdrawal": "treatments"}


# ---------------------------------------------------------------- asking


def may_ask(person: Person, method: str, path: str) -> bool:
    """Return whether a person may ask for a path of a farm.

    Parameters
    ----------
    path : str
        As the browser asks, without what the farm is mounted under.
    """
    if is_open(method, path) or person.role == "owner":
        return True
    row = row_of(method, path)
    if row is None or person.role not in row.roles or not row.needs <= person.shares:
        return False
    if row.writes and not kinds_of(person):
        return False
    asked = f"{_method(method)} {path}"
    return not asked.startswith(WHY) or _may_open(person, asked.removeprefix(WHY))


def _may_open(person: Person, keys: str) -> bool:
    """Return whether a person may ask for the pages whose numbers they open."""
    pages = {key.partition(".")[0].removeprefix("season-view") for key in keys.split(",")}
    return all(may_ask(person, "GET", f"/{PAGE_OF.get(page, page)}") for page in pages)


PAGE_OF = {"period": "record", "walk-round": "walk", "walk-step": "walk", "": "season", "map-page": "map",
           "settings-page": "settings", "same-land": "compare"}  # fmt: skip
"""The page of keys that begin with another name."""


def is_open(method: str, path: str) -> bool:
    """Return whether anybody may ask for a path."""
    got = _method(method)
    return f"{got} {path}" in OPEN or (got == "GET" and path.startswith(FILES))


def is_judged(method: str, path: str) -> bool:
    """Return whether it was thought of who may ask for a route; ``path`` is as the route names it."""
    return f"{method} {path}" in ROUTES or f"{method} {path}" in OPEN


def row_of(method: str, path: str) -> Row | None:
    """Return the row of a path that is asked for."""
    asked = f"{_method(method)} {path}"
    found = ROUTES.get(asked)
    if found is not None and "{" not in path:
        return found
    return next((row for pattern, row in _patterns() if pattern.fullmatch(asked)), None)


def _method(method: str) -> str:
    return "GET" if method == "HEAD" else method


@cache
def _patterns() -> tuple[tuple[re.Pattern[str], Row], ...]:
    found = []
    for route, row in ROUTES.items():
        pieces = re.split(r"(\{[^}]*\})", route)
        found.append((re.compile("".join(_pattern(piece) for piece in pieces), re.DOTALL), row))
    return tuple(found)


def _pattern(piece: str) -> str:
    if not piece.startswith("{"):
        return re.escape(piece)
    return ".+" if piece.endswith(":path}") else "[^/]+"


# ---------------------------------------------------------------- writing


def kinds_of(person: Person) -> frozenset[str]:
    """Return the kinds of entry that a person may write; a class writes only where nothing is at stake."""
    if person.role == "class" and not person.sandbox:
        return frozenset()
    found = MAY_WRITE.get(person.role, frozenset())
    return frozenset(KINDS) if found is None else found


def allow(*kinds: str) -> None:
    """Hold an entry back that whoever asks may not write.

    Outside a request nobody asks: then it is the program's own work.

    Raises
    ------
    BadInput
        If one of the kinds is not theirs.
    """
    person = asking.get()
    if person is not None and (wrong := [kind for kind in kinds if kind not in kinds_of(person)]):
        raise BadInput([finding("access.kind", wrong[0], kind=wrong[0])])


def signed(who: str) -> str:
    """Return who stands in an entry: the person who asks; an owner may write for somebody else."""
    person = asking.get()
    return who if person is None or person.role == "owner" else person.who


# ---------------------------------------------------------------- seeing


def hidden_from(person: Person) -> frozenset[Share]:
    """Return what a person never receives."""
    return frozenset(SHARES) - person.shares


def hidden_now() -> frozenset[Share]:
    """Return what whoever asks never receives; nothing is hidden outside a request."""
    person = asking.get()
    return hidden_from(person) if person is not None else frozenset()


def seen(picture: Picture, hidden: frozenset[Share]) -> Picture:
    """Return a picture without what is hidden in it; the days ahead stay as they were worked out."""
    if "treatments" not in hidden:
        return picture
    state = replace(
        picture.state, withdrawals=(),
        questions=tuple(q for q in picture.state.questions if HIDDEN_QUESTIONS.get(q.code) not in hidden),
    )  # fmt: skip
    events = tuple(event for event in picture.events if not is_hidden(event, hidden))
    scene = replace(picture.scene, state=state, memo=kept_by(picture))
    return replace(picture, state=state, events=events, scene=scene)


def is_hidden(event: Event, hidden: frozenset[Share]) -> bool:
    """Return whether an entry is hidden as a whole; one of a kind that nobody judged is.

    Entries about money stay in the picture, since bales come by them; their amounts are blanked.
    """
    if event.kind in OPEN_KINDS:
        return False
    return HIDDEN_KINDS.get(event.kind, "treatments") in hidden - {"money"}
