"""Why: numbers opened to their formulas, who measured what when, their sources, marks and ages."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from browseline.chain.why import WhyTogether, why_together
from browseline.web.answer import answer
from browseline.web.asked import page_of, picture_of
from browseline.web.describe import gives
from browseline.web.trying import PAGES as TRIALS
from browseline.web.trying import page_of_keys
from browseline.web.views import view

router = APIRouter()
BACK = {"period": "record", "walk-round": "walk", "walk-step": "walk", "season-view": "season",
        "map-page": "map", "settings-page": "settings", "same-land": "compare"}  # fmt: skip
"""Where a page is found whose keys begin with another name."""


@router.get("/why/{key:path}", **gives(WhyTogether))
def why(request: Request, key: str) -> Response:
    """GET /why/{key} — one number opened, or several with commas between their keys."""
    name = key.partition(".")[0]
    page = page_of_keys(request, name) if name in TRIALS else page_of(request, name, view(name, key))
    found = why_together(picture_of(request), page, key)
    return answer(request, "why.html", found, extra={"back": BACK.get(name, name)})
