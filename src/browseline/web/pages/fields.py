"""Pages for the field: the walk, shut gates, ready dates, harvests."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from browseline.chain.desk.form_given import typed_in
from browseline.chain.field_pages import ReadyPage, ShutPage, harvest_page, ready_page, shut_page
from browseline.chain.harvest import HarvestAdvice
from browseline.chain.walk_step import WalkRound, WalkStep, walk_round, walk_step
from browseline.errors import BadInput
from browseline.web.answer import answer, wants_json
from browseline.web.asked import page_of, picture_of, system_of, texts_in
from browseline.web.context import FindingsPage, ToldPage
from browseline.web.describe import gives, takes
from browseline.web.pages.entry import once, shown, told_page
from browseline.web.people import person_of
from browseline.words import say

router = APIRouter()


@router.get("/walk", **gives(WalkRound))
def walk(request: Request) -> Response:
    """GET /walk — every paddock in the order in which it is walked, with its heights."""
    return answer(request, "walk.html", page_of(request, "walk", walk_round))


@router.get("/walk/{paddock}", **gives(WalkStep))
def step(request: Request, paddock: str, kept: str = "") -> Response:
    """GET /walk/{paddock} — one paddock of the walk: its height, typed large, and on to the next."""
    page = walk_step(picture_of(request), paddock)
    said = told_page(request, kept) if kept else None
    return answer(request, "walk_step.html", page, extra={"said": said, "once": once()})


@router.post(
    "/walk/{paddock}",
    **gives(ToldPage, 201),
    **takes(height="The height, in the units you read or with its unit.", density="fair, good or excellent"),
)
async def height(request: Request, paddock: str) -> Response:
    """POST /walk/{paddock} — keep a height, and go on to the next paddock."""
    given = texts_in(await request.form())
    return await run_in_threadpool(_height, request, paddock, given)


def _height(request: Request, paddock: str, given: dict[str, str]) -> Response:
    state, page = request.app.state, walk_step(picture_of(request), paddock, given)
    try:
        command = typed_in(page.form, {**given, "paddock": paddock}, person_of(request).who)
        told = state.store.enter(command, state.clock(), system_of(request), given.get("once", ""))
    except BadInput as wrong:
        again = walk_step(picture_of(request), paddock, given, wrong.findings)
        page_json = FindingsPage.of(wrong.findings) if wants_json(request) else again
        return answer(request, "walk_step.html", page_json, status=422, extra={"said": None, "once": once()})
    if wants_json(request) or not page.after:
        return shown(request, told.event)
    return RedirectResponse(f"{request.scope.get('root_path', '')}/walk/{page.after}?kept={told.event}", 303)


@router.get("/shut", **gives(ShutPage))
def shut(request: Request) -> Response:
    """GET /shut — what is shut and why, and what the calendar will shut."""
    return answer(request, "shut.html", page_of(request, "shut", shut_page))


@router.get("/ready", **gives(ReadyPage))
def ready(request: Request) -> Response:
    """GET /ready — from when on each paddock is fit for each mob."""
    return answer(request, "ready.html", page_of(request, "ready", ready_page))


@router.get("/harvest", **gives(HarvestAdvice))
def harvest(request: Request) -> Response:
    """GET /harvest — the harvests, the last grazing before each, and what closes."""
    page = page_of(request, "harvest", harvest_page)
    return answer(
        request, "sentences.html", page, extra={"name": "harvest", "title": say("web.page.harvest")}
    )
