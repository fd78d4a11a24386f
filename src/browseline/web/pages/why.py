"""Why: numbers opened to their formulas, who measured what when, their sources, marks and ages."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from browseline.chain.why import WhyTogether, why_together
from browseline.web.answer import answer
from browseline.web.asked import page_of, picture_of
from browseline.web.describe import gives
from browseline.web.pages.money import MOST_OFF, money_without
from browseline.web.pages.trees import canopy_at
from browseline.web.trying import PAGES as TRIALS
from browseline.web.trying import page_of_keys
from browseline.web.views import view

router = APIRouter()
BACK = {"period": "record", "walk-round": "walk", "walk-step": "walk", "season-view": "season",
        "map-page": "map", "settings-page": "settings", "same-land": "compare"}  # fmt: skip
"""Where a page is found whose keys begin with another name."""


def _money(request: Request) -> Any:
    return money_without(request, tuple(sorted(set(request.query_params.getlist("off")[:MOST_OFF]))))


def _canopy(request: Request) -> Any:
    asked = request.query_params
    return canopy_at(request, asked.get("year", ""), asked.get("month", "")).page


SWITCHED: Mapping[str, Callable[[Request], Any]] = {"money": _money, "canopy": _canopy}
"""Pages that may be asked for in another way than their name tells."""


@router.get("/why/{key:path}", **gives(WhyTogether))
def why(request: Request, key: str) -> Response:
    """GET /why/{key} — one number opened, or several with commas between their keys.

    Numbers of a page that was asked for with switches are opened with the same ones: ``?off=…``, or
    ``?year=…&month=…``.
    """
    name = key.partition(".")[0]
    if name in TRIALS:
        page = page_of_keys(request, name)
    elif request.query_params and name in SWITCHED:
        page = SWITCHED[name](request)
    else:
        page = page_of(request, name, view(name, key))
    found = why_together(picture_of(request), page, key)
    return answer(request, "why.html", found, extra={"back": BACK.get(name, name)})
