"""More and Settings: the way to every other page; the units that one person reads."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from browseline.chain.settings_page import settings_account
from browseline.units import CHOSEN
from browseline.web.answer import answer
from browseline.web.asked import UNITS, page_of, picture_of, system_of, texts_in
from browseline.web.context import MorePage, SettingsPage
from browseline.web.describe import gives, takes
from browseline.web.people import person_of
from browseline.web.sight import may_ask

router = APIRouter()
YEAR_S = 31_536_000


@router.get("/more", **gives(MorePage))
def more(request: Request) -> Response:
    """GET /more — the way to every page that this person may see."""
    person = person_of(request)
    page = MorePage.of(lambda path: may_ask(person, "GET", f"/{path}"))
    return answer(request, "more.html", page)


@router.get("/settings", **gives(SettingsPage))
def settings(request: Request) -> Response:
    """GET /settings — the units that you read, and every question on which sources differ."""
    chosen = system_of(request) or picture_of(request).farm.units
    page = SettingsPage.of(page_of(request, "settings", settings_account), chosen)
    return answer(request, "settings.html", page)


@router.post(
    "/settings", response_class=RedirectResponse, status_code=303, **takes(units="acres or hectares")
)
async def choose(request: Request) -> Response:
    """POST /settings — the units that this person reads, on this device; nothing recorded changes."""
    chosen = texts_in(await request.form()).get(UNITS, "")
    base = request.scope.get("root_path", "")
    back = RedirectResponse(f"{base}/settings", 303)
    if chosen in CHOSEN:
        back.set_cookie(UNITS, chosen, max_age=YEAR_S, path=f"{base}/", samesite="lax", httponly=True,
                        secure=request.url.scheme == "https")  # fmt: skip
    return back
