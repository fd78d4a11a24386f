"""Try it, and Against what?: edits on a copy, the same land in other uses, designs, their brief."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from browseline.errors import BadInput
from browseline.papers.brief_print import TEMPLATE, brief_data
from browseline.papers.sheets import pdf
from browseline.trials.brief import Brief, subtitle
from browseline.trials.compare import ComparePage
from browseline.trials.designs import HERE, design_ids
from browseline.trials.same_land import SameLandPage
from browseline.web.answer import answer, wants_json
from browseline.web.asked import picture_of, texts_in
from browseline.web.context import FindingsPage
from browseline.web.describe import gives, takes
from browseline.web.trying import (
    TriedPage,
    brief_seen,
    checked,
    compared_of,
    same_land_of,
    session_of,
    tried_page,
    with_session,
)

router = APIRouter()


@router.get("/try", **gives(TriedPage))
def try_(request: Request, ahead: bool = Query(False)) -> Response:
    """GET /try — the edits of this session on a copy, and what they change; ``ahead``: in the decades too."""
    session = session_of(request)
    page = tried_page(request, session, request.app.state.trials.edits(session), ahead)
    return with_session(request, session, answer(request, "try.html", page, extra={"found": (), "typed": ""}))


@router.post(
    "/try", response_class=RedirectResponse, status_code=303,
    **takes(edit="A value or an entry.", undo="Which edit goes, counted from 1.", away="Throw all away."),
)  # fmt: skip
async def edit(request: Request) -> Response:
    """POST /try — one more edit on the copy, one undone, or all thrown away; the farm is not written to."""
    given = texts_in(await request.form())
    return await run_in_threadpool(_edited, request, given)


def _edited(request: Request, given: dict[str, str]) -> Response:
    session, trials = session_of(request), request.app.state.trials
    edits = _after(trials.edits(session), given)
    try:
        checked(request, edits)
    except BadInput as wrong:
        if wants_json(request):
            return answer(request, "try.html", FindingsPage.of(wrong.findings), status=422)
        page = tried_page(request, session, trials.edits(session), False)
        extra = {"found": wrong.findings, "typed": given.get("edit", "")}
        return with_session(request, session, answer(request, "try.html", page, status=422, extra=extra))
    trials.keep(session, edits)
    return with_session(request, session, RedirectResponse(f"{_base(request)}/try", 303))


def _after(edits: tuple[str, ...], given: dict[str, str]) -> tuple[str, ...]:
    """Return a session's edits after what a form says."""
    if given.get("away"):
        return ()
    undo = given.get("undo", "")
    if undo.isdecimal():
        return tuple(text for n, text in enumerate(edits, start=1) if n != int(undo))
    text = given.get("edit", "").strip()
    return (*edits, text) if text else edits


@router.get("/compare", **gives(SameLandPage))
def compare(request: Request) -> Response:
    """GET /compare — the farm's land as it is, as plain pasture, as trees alone, under a crop, left alone."""
    session = session_of(request)
    page, ids = same_land_of(request, session), design_ids(request.app.state.store.folder)
    return with_session(request, session, answer(request, "compare.html", page, extra={"designs": ids}))


@router.get("/compare/designs", **gives(ComparePage))
def compare_designs(request: Request, design: Annotated[list[str] | None, Query()] = None) -> Response:
    """GET /compare/designs — designs of the farm side by side; all of them where none is named."""
    session = session_of(request)
    wanted = tuple(dict.fromkeys(design or ())) or (HERE, *design_ids(request.app.state.store.folder))
    page = compared_of(request, session, wanted)
    return with_session(request, session, answer(request, "compare.html", page, extra={"designs": ()}))


@router.get("/brief", **gives(Brief))
def brief(request: Request) -> Response:
    """GET /brief — a class's design brief: crowns, grass and thinning, design beside design."""
    session = session_of(request)
    page = brief_seen(request, session)
    seen = answer(request, "brief.html", page, extra={"subtitle": subtitle(page)})
    return with_session(request, session, seen)


@router.get("/brief.pdf", responses={200: {"content": {"application/pdf": {}}}}, response_class=Response)
def brief_pdf(request: Request) -> Response:
    """GET /brief.pdf — the same on paper."""
    made = brief_seen(request, session_of(request))
    return Response(pdf(TEMPLATE, brief_data(made, picture_of(request))), media_type="application/pdf")


def _base(request: Request) -> str:
    return str(request.scope.get("root_path", ""))
