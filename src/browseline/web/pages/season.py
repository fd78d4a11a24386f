"""Season and Map: drawings, each with the same facts in a table."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from browseline.chain.what_if_page import what_if_page
from browseline.ledger.account import Account
from browseline.papers.farm_map import FarmMap, farm_map
from browseline.papers.season_view import SeasonView, season_view
from browseline.web.answer import answer
from browseline.web.asked import page_of
from browseline.web.describe import gives
from browseline.words import say

router = APIRouter()


@router.get("/season", **gives(SeasonView))
def season(request: Request) -> Response:
    """GET /season — the stays that happened and those of the plan in force, as strings and as a table."""
    return answer(request, "season.html", page_of(request, "season-view", season_view))


@router.get("/what-if", **gives(Account))
def what_if(request: Request) -> Response:
    """GET /what-if — what each rule of the farm is worth in the plan in force."""
    extra = {"name": "what-if", "title": say("web.page.what-if")}
    return answer(request, "sentences.html", page_of(request, "what-if", what_if_page), extra=extra)


@router.get("/map", **gives(FarmMap))
def map_(request: Request) -> Response:
    """GET /map — the farm's map, and the list of all that is on it."""
    return answer(request, "map.html", page_of(request, "map-page", farm_map))
