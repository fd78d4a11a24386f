"""The pages of the ledger and of the site: sentences, tables, and their figures."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from browseline.chain.accounts import PAGES
from browseline.chain.pages import PAGES as PAGES_BY_NAME
from browseline.web.answer import answer
from browseline.web.asked import page_of
from browseline.web.describe import gives
from browseline.words import known, say

router = APIRouter()
APART = ("settings", "money")
"""Pages that have more than their sentences."""


def title_of(name: str) -> str:
    """Return what a page is called; one that no catalogue names yet goes by its verb."""
    key = f"web.page.{name}"
    return say(key) if known(key) else name


def _route(name: str) -> Callable[[Request], Response]:
    def page(request: Request) -> Response:
        extra = {"name": name, "title": title_of(name)}
        return answer(request, "sentences.html", page_of(request, name, PAGES[name]), extra=extra)

    page.__name__ = name
    page.__doc__ = f"GET /{name} — the page of the ledger or the site that ``browseline why {name}`` prints."
    return page


for _name in PAGES:
    if _name not in APART:
        router.add_api_route(f"/{_name}", _route(_name), methods=["GET"], **gives(PAGES_BY_NAME[_name].of))
