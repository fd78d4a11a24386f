"""Today: what bites first for each mob."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from browseline import chain
from browseline.web.answer import answer

router = APIRouter()


@router.get("/", include_in_schema=False)
@router.get("/today")
def today(request: Request) -> Response:
    """GET /today — the limits of every mob in order of arrival."""
    state = request.app.state
    return answer(request, "today.html", state.store.page("today", chain.today, state.clock()))
