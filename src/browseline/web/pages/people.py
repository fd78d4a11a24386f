"""People: who is in, a way in for one more, and the end of one."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from browseline.errors import BadInput
from browseline.web.answer import answer
from browseline.web.asked import texts_in
from browseline.web.describe import gives, takes
from browseline.web.inviting import invite
from browseline.web.people_page import InvitedPage, PeoplePage, instant_words, people_page

router = APIRouter()


def clock_of(request: Request) -> dict[str, Callable[[datetime], str]]:
    """Return how a template says an instant: by the farm's clock, in UTC where the farm cannot be read."""
    state = request.app.state
    try:
        zone = state.store.picture(state.clock()).farm.time_zone
    except BadInput:
        zone = "UTC"
    return {"at": lambda instant: instant_words(instant, zone)}


@router.get("/people", **gives(PeoplePage))
def people(request: Request) -> Response:
    """GET /people — paired devices and open invitations."""
    state = request.app.state
    page = people_page(state.register, request.state.device, state.access.paired)
    return answer(request, "people.html", page, extra=clock_of(request))


@router.post(
    "/people/invite",
    **gives(InvitedPage),
    **takes(
        role="What they may do.",
        who="Who they are; a role is enough.",
        days="For how many days their device stays paired.",
        link="Anything, for a link that lasts a week instead of a code.",
        money="Anything, to share money.",
        treatments="Anything, to share treatments.",
        coordinates="Anything, to share where the farm lies.",
    ),
)
async def invite_one(request: Request) -> Response:
    """POST /people/invite — a code or a link for one device, shown once."""
    texts = texts_in(await request.form())
    page = await run_in_threadpool(invite, request, texts)
    return answer(request, "invited.html", page, extra=clock_of(request))


@router.post(
    "/people/revoke",
    response_class=RedirectResponse,
    status_code=303,
    **takes(id="Of the device or the invitation."),
)
async def revoke(request: Request) -> Response:
    """POST /people/revoke — a device or an invitation ends at once."""
    ident = texts_in(await request.form()).get("id", "")
    await run_in_threadpool(request.app.state.register.revoke, ident)
    return RedirectResponse(f"{request.scope.get('root_path', '')}/people", 303)
