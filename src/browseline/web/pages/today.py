"""Today: what bites first for each mob."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from browseline import chain
from browseline.chain.today_words import ahead_words, in_order, late_words, left_out_words, next_words, unread
from browseline.web.answer import answer
from browseline.web.asked import page_of
from browseline.web.describe import gives

router = APIRouter()
WORDS = {
    "say_late": late_words,
    "ahead_words": ahead_words,
    "left_out_words": left_out_words,
    "next_words": next_words,
}


@router.get("/", include_in_schema=False)
@router.get("/today", **gives(chain.Today))
def today(request: Request) -> Response:
    """GET /today — the limits of every mob in order of arrival."""
    page = page_of(request, "today", chain.today)
    more = {"unread": bool(unread(page.ahead)), "order": in_order(page)}
    return answer(request, "today.html", page, extra=WORDS | more)
