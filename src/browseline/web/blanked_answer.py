"""An answer held until it is whole, and sent without what its person may not see."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import MutableHeaders
from starlette.requests import Request
from starlette.types import Message, Receive, Send

from browseline.chain.look import Picture
from browseline.errors import BadInput
from browseline.events.bodies import Treated
from browseline.web.blanks import Blanks
from browseline.web.people import Share
from browseline.web.refused import refused


class Blanked:
    """One answer on its way to somebody from whom something is hidden.

    Parameters
    ----------
    sealed : bool
        Whether a content that is no text may pass as it is.
    """

    def __init__(self, request: Request, hidden: frozenset[Share], *, sealed: bool) -> None:
        self._request, self._hidden, self._sealed = request, hidden, sealed
        self._start: Message = {}
        self._pieces: list[bytes] = []

    async def take(self, message: Message) -> None:
        """Take a part of the answer."""
        if message["type"] == "http.response.start":
            self._start = message
        elif message["type"] == "http.response.body":
            self._pieces.append(message.get("body", b""))

    async def give(self, receive: Receive, send: Send) -> None:
        """Send the answer; another one in its place where it cannot be gone through."""
        content = await run_in_threadpool(self._content)
        if content is None:
            await refused(self._request, 403)(self._request.scope, receive, send)
            return
        headers = MutableHeaders(scope=self._start)
        if "content-length" in headers and self._request.method != "HEAD":
            headers["content-length"] = str(len(content))
        await send(self._start)
        await send({"type": "http.response.body", "body": content})

    def _content(self) -> bytes | None:
        content = b"".join(self._pieces)
        headers = MutableHeaders(scope=self._start)
        if not content or (self._sealed and self._start["status"] == 200):
            return content
        if headers.get("content-encoding"):
            return None
        return Blanks(self._hidden, products(self._request)).body(headers.get("content-type", ""), content)


def products(request: Request) -> tuple[str, ...]:
    """Return the products of every treatment that the record tells of."""
    state = request.app.state
    try:
        found: tuple[str, ...] = state.store.page("products", _products, state.clock())
    except BadInput:
        return ()
    return found


def _products(picture: Picture) -> tuple[str, ...]:
    bodies = (event.body for event in picture.events)
    return tuple(dict.fromkeys(body.product for body in bodies if isinstance(body, Treated)))
