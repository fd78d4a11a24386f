"""Pair: a device that has a code becomes a person's device."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from browseline.web.answer import answer
from browseline.web.asked import texts_in
from browseline.web.describe import gives, takes
from browseline.web.pairing import paired_cookie
from browseline.web.people_page import PairPage

router = APIRouter()
SCHEMA = "browseline/pair/1"


@router.get("/pair", **gives(PairPage))
def pair(request: Request, code: str = "") -> Response:
    """GET /pair — the form for a code; opening it uses nothing up."""
    return answer(request, "pair.html", PairPage(SCHEMA, code[:60], wrong=False))


@router.post("/pair", **gives(PairPage, 403), **takes(code="Of the invitation."))
async def pair_device(request: Request) -> Response:
    """POST /pair — the code is used up, and the device gets a cookie that it never had before."""
    code = texts_in(await request.form()).get("code", "")[:60]
    given = await run_in_threadpool(paired_cookie, request, code)
    if given is None:
        return answer(request, "pair.html", PairPage(SCHEMA, "", wrong=True), status=403)
    return RedirectResponse(f"{request.scope.get('root_path', '')}/phone", 303, headers={"Set-Cookie": given})
