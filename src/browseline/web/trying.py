"""Trials of whoever asks: each session's own edits, and pages that take long, held until a file changes.

Nothing here writes to the farm: edits are texts in memory, tried on copies that are gone afterwards.
"""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future
from concurrent.futures import TimeoutError as FutureTimeout
from contextvars import copy_context
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from browseline.chain import Picture, look
from browseline.chain.in_units import in_units
from browseline.errors import BadInput, finding
from browseline.papers.brief_print import brief_of
from browseline.papers.decades_view import DecadesView, decades_view
from browseline.trials.brief import Brief
from browseline.trials.compare import ComparePage, compare
from browseline.trials.copies import scratch
from browseline.trials.designs import HERE, design_ids
from browseline.trials.edits import apply_all
from browseline.trials.same_land import SameLandPage, same_land
from browseline.trials.try_page import TryPage, try_page
from browseline.web.answer import wants_json
from browseline.web.asked import picture_of, system_of
from browseline.web.people import person_of
from browseline.web.sight import hidden_from, seen
from browseline.words import list_words, say

COOKIE = "trial"
MOST_EDITS, MOST_SESSIONS, MOST_PAGES = 40, 200, 24
TOKEN_SIGNS = 22
PATIENCE_S = 6.0
"""So long a browser waits for a page that takes long; then it is told to ask again."""
PAGES = ("try", "same-land", "compare", "brief", "decades")
"""Pages that take long, by the name that the keys of their numbers begin with."""


@dataclass(frozen=True, slots=True)
class TriedPage:
    """What the page Try it shows: the edits of this session, and what they change."""

    schema: str
    tried: TryPage
    ahead: bool


class StillWorking(Exception):
    """A page is being made and not there yet."""


class Trials:
    """Edits by session, and pages by what they hang on. Every method may be called from any thread."""

    def __init__(self) -> None:
        self._edits: OrderedDict[str, tuple[str, ...]] = OrderedDict()
        self._pages: OrderedDict[tuple[Any, ...], Any] = OrderedDict()
        self._last: OrderedDict[tuple[str, str], Any] = OrderedDict()
        self._making: dict[tuple[Any, ...], Future[Any]] = {}
        self._one = threading.Lock()
        self._lock = threading.RLock()

    def edits(self, session: str) -> tuple[str, ...]:
        """Return the edits of a session, in their order."""
        return self._edits.get(session, ())

    def keep(self, session: str, edits: tuple[str, ...]) -> None:
        """Keep a session's edits; the session longest unused is forgotten where there are too many."""
        with self._lock:
            self._edits[session] = edits
            self._edits.move_to_end(session)
            while len(self._edits) > MOST_SESSIONS:
                self._edits.popitem(last=False)

    def page(self, key: tuple[Any, ...], make: Callable[[], Any], patience_s: float | None = None) -> Any:
        """Return a page, made once for all that it hangs on.

        Parameters
        ----------
        patience_s : float, optional
            How long to wait for it: it is made on in a thread of its own, the next who asks waits again.

        Raises
        ------
        StillWorking
            If it is not there by then.
        """
        with self._lock:
            if key in self._pages:
                self._pages.move_to_end(key)
                return self._pages[key]
            making = self._making.get(key)
            if making is None:
                making = self._making[key] = Future()
                thread = threading.Thread(
                    target=copy_context().run, args=(self._make, making, make), daemon=True
                )
                thread.start()
        try:
            page = making.result(patience_s)
        except FutureTimeout:
            raise StillWorking from None
        except BaseException:
            self._making.pop(key, None)
            raise
        with self._lock:
            self._making.pop(key, None)
            self._pages[key] = page
            while len(self._pages) > MOST_PAGES:
                self._pages.popitem(last=False)
        return page

    def _make(self, making: Future[Any], make: Callable[[], Any]) -> None:
        """Make a page, one after the other: each takes all that the machine has."""
        with self._one:
            try:
                making.set_result(make())
            except BaseException as wrong:  # noqa: BLE001 - whoever asked is told
                making.set_exception(wrong)

    def show(self, session: str, name: str, page: Any) -> Any:
        """Note the page of a name that a session sees, so that its numbers open; return it."""
        with self._lock:
            self._last[session, name] = page
            self._last.move_to_end((session, name))
            while len(self._last) > MOST_SESSIONS * len(PAGES):
                self._last.popitem(last=False)
        return page

    def seen(self, session: str, name: str) -> Any:
        """Return the page of a name that a session saw last; None if it saw none."""
        return self._last.get((session, name))


def patience_of(request: Request) -> float | None:
    """Return how long whoever asks waits for a page that takes long: a program waits till it is there."""
    return None if wants_json(request) else PATIENCE_S


def session_of(request: Request) -> str:
    """Return the session of a request: its cookie, or a new one."""
    held = request.cookies.get(COOKIE, "")
    return held if len(held) == TOKEN_SIGNS else secrets.token_urlsafe(16)


def with_session(request: Request, session: str, given: Response) -> Response:
    """Return an answer that carries the session's cookie: until the browser is shut, for this farm alone."""
    given.set_cookie(
        COOKIE, session, path=f"{request.scope.get('root_path', '')}/", samesite="lax", httponly=True,
        secure=request.url.scheme == "https",
    )  # fmt: skip
    return given


def tried_page(request: Request, session: str, edits: tuple[str, ...], ahead: bool) -> TriedPage:
    """Return what edits change for whoever asks.

    Raises
    ------
    BadInput
        If an edit cannot be made.
    """
    state = request.app.state
    before, now = picture_of(request), state.clock()

    def make() -> TriedPage:
        with scratch(state.store.folder) as copy:
            apply_all(copy, edits, now)
            page = try_page(before, _viewed(request, look(copy, before.now)), edits, ahead=ahead)
        return TriedPage("browseline/try/1", page, ahead)

    page = state.trials.page((*_held(request, now), "try", edits, ahead), make, patience_of(request))
    state.trials.show(session, "try", page)
    return page  # type: ignore[no-any-return]


def checked(request: Request, edits: tuple[str, ...]) -> None:
    """Make edits on a copy and throw it away.

    Raises
    ------
    BadInput
        If one cannot be made, or there are too many.
    """
    if len(edits) > MOST_EDITS:
        raise BadInput([finding("trials.too_many", edits[-1], most=MOST_EDITS)])
    state = request.app.state
    with scratch(state.store.folder) as copy:
        apply_all(copy, edits, state.clock())


def same_land_of(request: Request, session: str) -> SameLandPage:
    """Return the farm's land in other uses."""
    state = request.app.state
    key, picture = (*_held(request, state.clock()), "same-land"), picture_of(request)
    page = state.trials.page(key, lambda: same_land(picture), patience_of(request))
    return state.trials.show(session, "same-land", page)  # type: ignore[no-any-return]


def compared_of(request: Request, session: str, wanted: tuple[str, ...]) -> ComparePage:
    """Return designs of this farm side by side; folders elsewhere are not for a browser to name.

    Raises
    ------
    BadInput
        If one is no design of this farm, or there are fewer than two.
    """
    state = request.app.state
    known = (HERE, *design_ids(state.store.folder))
    if strange := [one for one in wanted if one not in known]:
        raise BadInput([finding("trials.no_design", strange[0], known=", ".join(known))])
    if len(wanted) < 2:
        code = "trials.one_design" if len(known) > 1 else "trials.no_designs"
        raise BadInput([finding(code, say("web.compare.designs"), known=list_words(known))])
    now = state.clock()
    key = (*_held(request, now), "compare", wanted)
    page = state.trials.page(key, lambda: compare(state.store.folder, wanted, now), patience_of(request))
    return state.trials.show(session, "compare", page)  # type: ignore[no-any-return]


def brief_seen(request: Request, session: str) -> Brief:
    """Return the design brief.

    Raises
    ------
    BadInput
        If no design has a planting with spacings.
    """
    state = request.app.state
    key, picture = (*_held(request, state.clock()), "brief"), picture_of(request)
    page = state.trials.page(key, lambda: brief_of(picture), patience_of(request))
    return state.trials.show(session, "brief", page)  # type: ignore[no-any-return]


def decades_of(request: Request, session: str, bad: bool) -> DecadesView:
    """Return the years ahead, drawn; ``bad`` shows only the futures with the leanest ten years."""
    state = request.app.state
    key, picture = (*_held(request, state.clock()), "decades", bad), picture_of(request)
    view = state.trials.page(key, lambda: decades_view(picture, bad), patience_of(request))
    state.trials.show(session, "decades", view.page)
    return view  # type: ignore[no-any-return]


def _held(request: Request, now: datetime) -> tuple[Any, ...]:
    """Return all that a page of trials hangs on: files, designs, the day, and who asks."""
    folder = request.app.state.store.folder
    files = sorted((folder / "designs").glob("*.toml"))
    designs = tuple((path.name, path.stat().st_mtime_ns) for path in files)
    person = person_of(request)
    return (request.app.state.store.stamp(), designs, now.date(), system_of(request), hidden_from(person))


def _viewed(request: Request, picture: Picture) -> Picture:
    """Return the picture of a copy as whoever asks sees it."""
    return in_units(seen(picture, hidden_from(person_of(request))), system_of(request))


def page_of_keys(request: Request, name: str) -> Any:
    """Return the page of trials whose numbers are to be opened: the one this session saw last, else anew.

    Raises
    ------
    BadInput
        If the session saw none and it cannot be made.
    """
    session, trials = session_of(request), request.app.state.trials
    held = trials.seen(session, name)
    if held is not None:
        return held
    if name == "try":
        return tried_page(request, session, trials.edits(session), False)
    if name == "same-land":
        return same_land_of(request, session)
    if name == "brief":
        return brief_seen(request, session)
    if name == "decades":
        return decades_of(request, session, False).page
    return compared_of(request, session, (HERE, *design_ids(request.app.state.store.folder)))
