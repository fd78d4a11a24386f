"""The pocket: the page that works without a signal, what it carries, and the entries that it sends home."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Body
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from browseline import __version__
from browseline.chain.in_units import in_units
from browseline.chain.pocket.page import Pocket, lengths, news_of
from browseline.chain.pocket.received import MOST_ENTRIES, PocketKept, received, sorted_out
from browseline.exchange.plain import document
from browseline.papers.relief import ReliefSheet
from browseline.web import pocket_files
from browseline.web.answer import answer
from browseline.web.asked import system_of
from browseline.web.context import NewsPage
from browseline.web.describe import gives, sends
from browseline.web.people import person_of
from browseline.web.pocket_held import sees_all

router = APIRouter()
WORDS = {"type": "object", "additionalProperties": {"type": "string"}}


@router.get("/pocket", **gives(pocket_files.PocketShell))
def shell(request: Request) -> Response:
    """GET /pocket — the page that works without a signal; the same for everybody."""
    return answer(request, "pocket.html", pocket_files.shell())


@router.get("/pocket/table", **sends(Pocket))
def table(request: Request, have: str = "") -> Response:
    """GET /pocket/table — where everything stands and when each limit bites, for the coming 14 days.

    ``have`` is the edition of the phone's own; nothing is sent where there is no other.
    """
    state, person = request.app.state, person_of(request)
    page = state.pocket.carried(person, __version__, state.clock(), system_of(request))
    if have == page.edition:
        return Response(status_code=204)
    return JSONResponse(document(page.schema, page))


@router.get("/pocket/news", **sends(NewsPage))
def news(request: Request) -> Response:
    """GET /pocket/news — how many entries the record holds, and what is wrong now."""
    state, person = request.app.state, person_of(request)
    picture = state.store.picture(state.clock())
    found = news_of(picture, whole=sees_all(person))
    units = lengths(system_of(request) or picture.farm.units)
    page = NewsPage(found.schema, found.events, found.alarms, getattr(request.state, "csrf", ""), units)
    return JSONResponse(document(page.schema, page))


@router.get("/pocket/relief", **sends(ReliefSheet))
def relief(request: Request) -> Response:
    """GET /pocket/relief — the relief sheet that a phone carries, for the coming three days."""
    state, system = request.app.state, system_of(request)
    name = f"pocket relief {system or ''}"
    page = state.store.page(
        name, lambda full: pocket_files.relief_sheet(in_units(full, system)), state.clock()
    )
    return JSONResponse(document(page.schema, page))


@router.get("/pocket/words", responses={200: {"content": {"application/json": {"schema": WORDS}}}})
def words() -> Response:
    """GET /pocket/words — the sentences of the pocket with their fields open."""
    return JSONResponse(pocket_files.words())


@router.post("/pocket/events", **sends(PocketKept))
async def events(
    request: Request,
    device: Annotated[str, Body(max_length=40)],
    events: Annotated[list[Any], Body(max_length=MOST_ENTRIES)],
    sent: Annotated[datetime | None, Body()] = None,
) -> Response:
    """POST /pocket/events — entries of a phone into the record; answers what was kept and what was not."""
    state, person = request.app.state, person_of(request)
    found = sorted_out(events, person.role, person.who)
    before, after = await run_in_threadpool(state.store.take, found.good, state.clock())
    page = received(found, before, after, sent, device)
    return JSONResponse(document(page.schema, page))


@router.get("/sw.js", include_in_schema=False)
def worker(request: Request) -> Response:
    """GET /sw.js — the service worker, with the edition and the names of what it keeps."""
    text = pocket_files.worker(request.scope.get("root_path", ""))
    return Response(text, media_type="text/javascript", headers={"Cache-Control": "no-cache"})


@router.get("/manifest.webmanifest", include_in_schema=False)
def manifest(request: Request) -> Response:
    """GET /manifest.webmanifest — how the pocket stands on a phone's first screen."""
    found = pocket_files.manifest(request.scope.get("root_path", ""))
    return JSONResponse(found, media_type="application/manifest+json")
