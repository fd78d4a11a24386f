"""Layout and Canopy: where trees stand or shall stand, and the light that they leave."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from browseline.chain.canopy_page import CanopyPage
from browseline.chain.layout_page import LayoutTold, source_words
from browseline.papers.trees_map import CanopyView, canopy_view, layout_view
from browseline.web.answer import answer
from browseline.web.asked import page_of, whole_number
from browseline.web.describe import gives
from browseline.web.refused import refused

router = APIRouter()
LAST_YEAR = 2400


@router.get("/layout", **gives(LayoutTold))
def layout(request: Request) -> Response:
    """GET /layout — rows and trees by planting, drawn, and what is to be looked at."""
    view = page_of(request, "layout", layout_view)
    return answer(request, "layout.html", view.page, extra={"map": view.map, "sources": source_words})


@router.get("/canopy", **gives(CanopyPage))
def canopy(request: Request, year: str = "", month: str = "") -> Response:
    """GET /canopy — the light under the trees in one month of one year, by paddock and from the row."""
    view = canopy_at(request, year, month)
    asked = {"year": year.strip(), "month": month.strip()}
    switched = [(name, said) for name, said in asked.items() if said]
    return answer(
        request, "canopy.html", view.page, extra={"map": view.map, "asked": asked}, switched=switched
    )


@router.get("/canopy.png", responses={200: {"content": {"image/png": {}}}}, response_class=Response)
def greys(request: Request, year: str = "", month: str = "") -> Response:
    """GET /canopy.png — the same light in greys, the ground alone."""
    view = canopy_at(request, year, month)
    return Response(view.greys, media_type="image/png") if view.greys else refused(request, 404)


def canopy_at(request: Request, year: str, month: str) -> CanopyView:
    """Return the light in a month of a year, as typed; empty is this year, and the warmest month."""
    at, of = whole_number("year", year, 0, LAST_YEAR), whole_number("month", month, 1, 12)
    name = f"canopy {'' if at is None else at} {of or ''}"
    found: CanopyView = page_of(request, name, lambda picture: canopy_view(picture, at, of))
    return found
