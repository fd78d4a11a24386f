"""The record verbs: one form and one entry a verb."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from browseline.chain.desk.typed import typed, words_of
from browseline.web.answer import answer
from browseline.web.context import ToldPage

router = APIRouter()


@router.post("/typed")
async def say_it(request: Request) -> Response:
    """POST /typed — one command as it is typed: ``move ewes to 8``."""
    form = await request.form()
    command = typed(words_of(str(form.get("words", ""))))
    state = request.app.state
    told = await run_in_threadpool(state.store.enter, command, state.clock())
    return answer(request, "told.html", ToldPage("browseline/told/1", told))
