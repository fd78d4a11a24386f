"""Money ahead, each thing that could go wrong switched on or off, and the pack for a lender."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from browseline.chain.accounts import PAGES
from browseline.chain.money_ahead import money_given
from browseline.ledger.money_page import MoneyPage, money_account
from browseline.web.answer import answer
from browseline.web.asked import page_of, picture_of
from browseline.web.describe import gives

router = APIRouter()
NAME = "money"
MOST_OFF = 40
Off = Annotated[list[str] | None, Query(max_length=MOST_OFF)]


@router.get("/money", **gives(MoneyPage))
def money(request: Request, off: Off = None) -> Response:
    """GET /money — the years ahead, the worst first; ``off`` names what is switched off."""
    named = tuple(sorted(set(off or ())))
    page = money_without(request, named)
    return answer(request, "money.html", page, extra={"off": named}, switched=[("off", one) for one in named])


def money_without(request: Request, named: tuple[str, ...]) -> MoneyPage:
    """Return the page with what is named switched off."""
    if named:
        picture = picture_of(request)
        return money_account(picture.scene, picture.events, named, money_given(picture))
    page: MoneyPage = page_of(request, NAME, PAGES[NAME])
    return page


@router.get("/lender.pdf", responses={200: {"content": {"application/pdf": {}}}}, response_class=Response)
def lender(request: Request, off: Off = None) -> Response:
    """GET /lender.pdf — the pack for a lender, printed and not issued."""
    from browseline.papers.lender import lender_pack
    from browseline.papers.lender_print import TEMPLATE, lender_data
    from browseline.papers.sheets import pdf

    picture = picture_of(request)
    pack = lender_pack(picture, money_given(picture), tuple(off or ()))
    return Response(pdf(TEMPLATE, lender_data(pack)), media_type="application/pdf")
