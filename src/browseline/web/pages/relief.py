"""The relief sheet: a page to print, a PDF, text messages of a plain telephone; a button alone issues it."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from browseline.papers.issued import reprint
from browseline.papers.relief_page import ReliefPage, relief_page, relief_pdf
from browseline.web.answer import answer, wants_json
from browseline.web.asked import page_of, picture_of, system_of, texts_in, whole_number
from browseline.web.context import ToldPage
from browseline.web.describe import gives, takes
from browseline.web.pages.entry import once, shown
from browseline.web.people import person_of
from browseline.web.sight import may_ask
from browseline.words import say

router = APIRouter()
DAYS = 3
MOST_DAYS = 14


def days_in(text: str) -> int:
    """Return the days after today that somebody typed; by default three.

    Raises
    ------
    BadInput
        If it is no whole number, or more days than one side of paper holds.
    """
    wanted = whole_number(say("web.relief.days", most=MOST_DAYS), text, 0, MOST_DAYS)
    return DAYS if wanted is None else wanted


@router.get("/relief", **gives(ReliefPage))
def relief(request: Request, days: str = "") -> Response:
    """GET /relief — what somebody new needs for a few days: on one page, and as text messages."""
    ahead = days_in(days)
    page = page_of(request, f"relief {ahead}", lambda picture: relief_page(picture, ahead))
    may_issue = may_ask(person_of(request), "POST", "/relief")
    extra = {"days": ahead, "most": MOST_DAYS, "once": once(), "may_issue": may_issue}
    return answer(request, "relief.html", page, extra=extra)


@router.get("/relief.pdf", responses={200: {"content": {"application/pdf": {}}}}, response_class=Response)
def pdf(request: Request, days: str = "") -> Response:
    """GET /relief.pdf — the same on one side of paper."""
    content = relief_pdf(picture_of(request), days_in(days))
    return Response(content, media_type="application/pdf")


@router.post(
    "/relief", **gives(ToldPage, 201), **takes(days="After today.", once="The same word: the same paper.")
)
async def print_and_keep(request: Request) -> Response:
    """POST /relief — issue the relief sheet: the record keeps what it was printed from."""
    given = texts_in(await request.form())
    return await run_in_threadpool(_issued, request, given)


def _issued(request: Request, given: dict[str, str]) -> Response:
    state, view, who = request.app.state, picture_of(request), person_of(request).who
    days, word = days_in(given.get("days", "")), given.get("once", "")
    told = state.store.issue_relief(view, days, who, state.clock(), system_of(request), word)
    if wants_json(request):
        return shown(request, told.event)
    return RedirectResponse(f"{request.scope.get('root_path', '')}/relief/{told.event}.pdf", 303)


@router.get(
    "/relief/{event}.pdf", responses={200: {"content": {"application/pdf": {}}}}, response_class=Response
)
def issued(request: Request, event: str) -> Response:
    """GET /relief/{event}.pdf — a relief sheet as it was issued, from what the record kept."""
    state = request.app.state
    paper = state.store.issued(event, "relief", state.clock())
    return Response(reprint(paper)["pdf"], media_type="application/pdf")
