"""Decades: the years ahead in five bands, windows across all, what was foretold before."""

from __future__ import annotations

from fastapi import APIRouter
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from browseline.chain.decades_page import DecadesPage
from browseline.web.answer import answer
from browseline.web.describe import gives
from browseline.web.trying import decades_of, session_of, with_session

router = APIRouter()


@router.get("/decades", **gives(DecadesPage))
def decades(request: Request, bad: bool = False) -> Response:
    """GET /decades — the years ahead, drawn and in tables; ``bad``: of the leanest ten years alone."""
    session = session_of(request)
    view = decades_of(request, session, bad)
    drawn = tuple(Markup(svg) for svg in (view.narrow, view.wide))
    extra = {"drawn": drawn, "lacking": view.lacking, "others": others(view.page)}
    return with_session(request, session, answer(request, "decades.html", view.page, extra=extra))


def others(page: DecadesPage) -> tuple[tuple[str, ...], ...]:
    """Return the rows of what is told every so many years: a name, and the likely number of each year.

    The first row is the head: nothing, and the years.
    """
    bands = [band for band in page.bands if band.name not in page.head]
    if not bands:
        return ()
    years = bands[0].years
    rows = ((band.name, *(band.likely_words(year, page.units) for year in years)) for band in bands)
    return (("", *(f"{year}" for year in years)), *rows)
