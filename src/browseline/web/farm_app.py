"""The pages of one farm as an application of its own: mounted at the root, or under its name."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from datetime import UTC, datetime

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.staticfiles import StaticFiles

from browseline import __version__
from browseline.errors import BadInput, BrokenRecord, finding
from browseline.web.access import Access, state_folder
from browseline.web.answer import HERE, answer
from browseline.web.context import FindingsPage, WorkingPage
from browseline.web.describe import described
from browseline.web.door import Door
from browseline.web.pages import (
    back,
    books,
    bring,
    decades,
    entry,
    fields,
    money,
    more,
    pair,
    people,
    phone,
    pocket,
    record,
    relief,
    season,
    start,
    today,
    trees,
    trials,
    why,
)
from browseline.web.pocket_held import Held
from browseline.web.rates import Rates
from browseline.web.refused import refused
from browseline.web.register import Register, register_path
from browseline.web.store import Store
from browseline.web.trying import StillWorking, Trials

ROUTERS = (
    today.router, entry.router, fields.router, books.router, season.router, why.router, relief.router,
    record.router, more.router, start.router, pocket.router, people.router, pair.router, phone.router,
    bring.router, money.router, trees.router, trials.router,
    decades.router, back.router,
)  # fmt: skip
LOCAL = Access()
Clock = Callable[[], datetime]
Handler = Callable[[Request], Awaitable[Response]]


def utc_now() -> datetime:
    """Return the machine's clock."""
    return datetime.now(UTC)


def farm_app(store: Store, clock: Clock = utc_now, access: Access = LOCAL) -> FastAPI:
    """Return the pages of one farm.

    Parameters
    ----------
    clock : callable
        What time it is; a demo may stand still.
    access : Access
        Who comes in.
    """
    people_of_farm = Register(
        register_path(access.state or state_folder(), store.folder), sandbox=access.sandbox
    )
    rates = Rates()
    app = FastAPI(
        title="browseline", version=__version__, docs_url=None, redoc_url=None,
        middleware=[Middleware(Door, people_of_farm, access, rates)],
        exception_handlers={
            BadInput: findings, BrokenRecord: broken, HTTPException: not_there, StillWorking: working,
            RequestValidationError: unread,
        },
    )  # fmt: skip
    app.state.store, app.state.clock, app.state.pocket = store, clock, Held(store)
    app.state.trials = Trials()
    app.state.register, app.state.access, app.state.rates = people_of_farm, access, rates
    app.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
    for router in ROUTERS:
        app.include_router(router)
    described(app)
    return app


async def findings(request: Request, wrong: Exception) -> Response:
    """Answer with every finding: where, what, how to mend it."""
    found = wrong.findings if isinstance(wrong, BadInput) else ()
    return answer(request, "findings.html", FindingsPage.of(found), status=422)


async def unread(request: Request, wrong: Exception) -> Response:
    """Answer which part of what was asked or sent cannot be read, in the words of every other finding."""
    errors = wrong.errors() if isinstance(wrong, RequestValidationError) else ()
    names = dict.fromkeys(str(name) for one in errors for name in one["loc"][1:2])
    found = tuple(finding("web.unread", name, name=name) for name in names)
    return answer(request, "findings.html", FindingsPage.of(found), status=422)


async def working(request: Request, _wrong: Exception) -> Response:
    """Answer that a page is being made, and have the browser ask again."""
    return answer(request, "working.html", WorkingPage("browseline/working/1"), status=202)


async def broken(request: Request, _wrong: Exception) -> Response:
    """Answer that the record cannot be read or written; nothing was changed."""
    return refused(request, 503)


async def not_there(request: Request, wrong: Exception) -> Response:
    """Answer what the routes themselves turn away."""
    return refused(request, wrong.status_code if isinstance(wrong, HTTPException) else 400)
