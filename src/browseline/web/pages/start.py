"""Start: the first answer in at most twelve entries, with no account and no farm."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from browseline.chain.desk.begin import QUESTIONS
from browseline.chain.first_answer import FirstAnswer, StartPage, first_answer, start_page
from browseline.errors import BadInput
from browseline.farm import zone as zones
from browseline.web.answer import answer, wants_json
from browseline.web.asked import texts_in
from browseline.web.context import FindingsPage
from browseline.web.describe import gives, takes
from browseline.words import say

router = APIRouter()


@router.get("/start", **gives(StartPage))
def start(request: Request) -> Response:
    """GET /start — the questions."""
    return answer(request, "start.html", start_page(zones.of_machine(), may_keep(request)))


@router.post(
    "/start",
    **gives(FirstAnswer),
    **takes(**{q.name: say(f"form.start.{q.name}") for q in QUESTIONS if q.name != "kind"}),
)
async def first(request: Request) -> Response:
    """POST /start — by when they must move, which limit says so, and what comes after it."""
    given = texts_in(await request.form())
    return await run_in_threadpool(_first, request, given)


def may_keep(request: Request) -> bool:
    """Return whether the answers may be kept as a farm here: there is none yet."""
    return getattr(request.app.state, "begin_in", None) is not None


def _first(request: Request, given: dict[str, str]) -> Response:
    state, zone = request.app.state, given.get("zone", "") or zones.of_machine()
    keep = getattr(state, "begin_in", None) if given.get("keep") else None
    try:
        return answer(
            request, "first.html", first_answer(given, zone, state.clock(), keep, may_keep=may_keep(request))
        )
    except BadInput as wrong:
        form = start_page(zone, may_keep(request), given, wrong.findings)
        page = FindingsPage.of(wrong.findings) if wants_json(request) else form
        return answer(request, "start.html", page, status=422)
