"""The page of a request that is turned away: what it is, and what to do."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from browseline.web.answer import answer
from browseline.words import say

TOPICS = {
    400: "unreadable", 401: "unpaired", 403: "not_yours", 404: "not_there", 405: "method", 408: "slow",
    413: "too_large", 415: "kind", 422: "lacking", 429: "too_often", 503: "record",
}  # fmt: skip
"""The topic of a status's sentences."""


@dataclass(frozen=True, slots=True)
class RefusedPage:
    """Why a request was turned away, and what to do.

    Parameters
    ----------
    pair : bool
        Whether pairing the device helps.
    """

    schema: str
    status: int
    what: str
    mend: str
    pair: bool


def refused(request: Request, status: int, why: str = "", wait_s: float = 0.0) -> Response:
    """Return the page of a request that is turned away.

    Parameters
    ----------
    why : str
        Room and topic of its two sentences; by default those of the status.
    wait_s : float
        How long to wait before asking again. [s]
    """
    topic = why or f"access.refused.{TOPICS.get(status, TOPICS[400])}"
    page = RefusedPage(
        "browseline/refused/1", status, say(f"{topic}.what"), say(f"{topic}.mend"), status == 401
    )
    found = answer(request, "refused.html", page, status=status)
    if wait_s:
        found.headers["Retry-After"] = str(int(wait_s) + 1)
    return found
