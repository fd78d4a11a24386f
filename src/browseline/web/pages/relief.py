"""The relief sheet: a page to print, a PDF, and the text messages of a plain telephone."""

from __future__ import annotations

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from browseline.papers.relief_page import ReliefPage, relief_page, relief_pdf
from browseline.web.answer import answer
from browseline.web.asked import page_of, picture_of
from browseline.web.describe import gives

router = APIRouter()
DAYS = 3
MOST_DAYS = 14


@router.get("/relief", **gives(ReliefPage))
def relief(request: Request, days: int = Query(DAYS, ge=0, le=MOST_DAYS)) -> Response:
    """GET /relief — what somebody new needs for a few days: on one page, and as text messages."""
    page = page_of(request, f"relief {days}", lambda picture: relief_page(picture, days))
    return answer(request, "relief.html", page, extra={"days": days})


@router.get("/relief.pdf", responses={200: {"content": {"application/pdf": {}}}}, response_class=Response)
def pdf(request: Request, days: int = Query(DAYS, ge=0, le=MOST_DAYS)) -> Response:
    """GET /relief.pdf — the same on one side of paper."""
    content = relief_pdf(picture_of(request), days)
    return Response(content, media_type="application/pdf")
