"""What a request sends, read whole before anybody works on it, and never more than may be."""

from __future__ import annotations

import asyncio

from starlette.types import Message, Receive

KILO, MEGA = 1_000, 1_000_000
MOST_BYTES = 256 * KILO
"""A form of any page."""
MOST_OF = {"/pocket/events": 9 * MEGA, "/bring/map": 17 * MEGA, "/bring/week": MEGA,
           "/enter/photo": 13 * MEGA}  # fmt: skip
"""Pages that take more: entries of a phone, a map, a forgotten week, a photo."""
SLOWEST_S = 30.0
"""So long may the next piece take to come. [s]"""
LONGEST_S = 180.0
"""So long may the whole take. [s]"""


class BadBody(Exception):
    """The body is too large (413), comes too slowly (408), or was never whole (400)."""

    def __init__(self, status: int) -> None:
        self.status = status
        super().__init__(str(status))


async def whole_body(receive: Receive, declared: str | None, most: int) -> bytes:
    """Return the body of a request.

    Parameters
    ----------
    declared : str or None
        Its length as the request says; a body in pieces says none.
    most : int
        So many bytes are taken.

    Raises
    ------
    BadBody
        If it is larger, whatever it says of itself; nothing more is read then.
    """
    if declared is not None and (not declared.isdigit() or int(declared) > most):
        raise BadBody(413 if declared.isdigit() else 400)
    try:
        async with asyncio.timeout(LONGEST_S):
            return await _pieces(receive, most)
    except TimeoutError:
        raise BadBody(408) from None


async def _pieces(receive: Receive, most: int) -> bytes:
    pieces: list[bytes] = []
    size, more = 0, True
    while more:
        message = await asyncio.wait_for(receive(), SLOWEST_S)
        if message["type"] != "http.request":
            raise BadBody(400)
        pieces.append(message.get("body", b""))
        size += len(pieces[-1])
        if size > most:
            raise BadBody(413)
        more = message.get("more_body", False)
    return b"".join(pieces)


def replayed(body: bytes, receive: Receive) -> Receive:
    """Return a way to receive a body that was read already; behind it what else comes."""
    left: list[Message] = [{"type": "http.request", "body": body, "more_body": False}]

    async def again() -> Message:
        return left.pop() if left else await receive()

    return again
