"""Bring: a map from another program, a forgotten week from a spreadsheet."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import Response

from browseline.errors import BadInput, finding
from browseline.web.answer import answer
from browseline.web.bringing import BringPage, BroughtMap, BroughtWeek, bring_map, bring_page, bring_week
from browseline.web.describe import gives, takes_file
from browseline.web.people import person_of

router = APIRouter()


@router.get("/bring", **gives(BringPage))
def bring(request: Request) -> Response:
    """GET /bring — the forms for a file."""
    return answer(request, "bring.html", bring_page())


@router.post("/bring/map", **gives(BroughtMap), **takes_file("A map of one of the endings that Bring names."))
async def map_file(request: Request) -> Response:
    """POST /bring/map — outlines of a file into the map."""
    name, content, _ = await _sent(request)
    state = request.app.state
    page = await run_in_threadpool(bring_map, state.store, name, content, state.clock())
    return answer(request, "brought_map.html", page)


@router.post(
    "/bring/week",
    **gives(BroughtWeek),
    **takes_file(
        "A table of entries or of heights.",
        text="The same as text, in place of a file.",
        name="What the file was called.",
        keep="Anything, to keep the good rows.",
    ),
)
async def week(request: Request) -> Response:
    """POST /bring/week — the rows of a file, shown; kept when they come once more with ``keep``."""
    name, content, keep = await _sent(request)
    state, who = request.app.state, person_of(request).who
    page = await run_in_threadpool(bring_week, state.store, name, content, who, state.clock(), keep=keep)
    return answer(request, "brought_week.html", page)


async def _sent(request: Request) -> tuple[str, bytes, bool]:
    """Return the name and content of what was sent, as a file or as text, and whether to keep it."""
    async with request.form(max_files=1, max_fields=20) as form:
        file, text, keep = form.get("file"), form.get("text"), bool(form.get("keep"))
        if isinstance(file, UploadFile):
            return file.filename or "", await file.read(), keep
        if isinstance(text, str):
            return str(form.get("name", "")), text.encode(), keep
    raise BadInput([finding("access.no_file", "file")])
