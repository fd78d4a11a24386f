"""The pages of one farm as an application of its own: mounted at the root, or under its name."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from datetime import UTC, datetime

from fastapi import FastAPI
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.staticfiles import StaticFiles

from browseline import __version__
from browseline.errors import BadInput
from browseline.web.answer import HERE, answer
from browseline.web.context import FindingsPage
from browseline.web.door import Door
from browseline.web.pages import entry, pocket, today
from browseline.web.pocket_held import Held
from browseline.web.store import Store

ROUTERS = (today.router, entry.router, pocket.router)
Clock = Callable[[], datetime]
Handler = Callable[[Request], Awaitable[Response]]


def utc_now() -> datetime:
    """Return the machine's clock."""
    return datetime.now(UTC)


def farm_app(store: Store, clock: Clock = utc_now) -> FastAPI:
    """Return the pages of one farm.

    Parameters
    ----------
    clock : callable
        What time it is; a demo may stand still.
    """
    app = FastAPI(
        title="browseline", version=__version__, docs_url=None, redoc_url=None,
        middleware=[Middleware(Door)], exception_handlers={BadInput: findings},
    )  # fmt: skip
    app.state.store, app.state.clock, app.state.pocket = store, clock, Held(store)
    app.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
    for router in ROUTERS:
        app.include_router(router)
    return app


async def findings(request: Request, wrong: Exception) -> Response:
    """Answer with every finding: where, what, how to mend it."""
    found = wrong.findings if isinstance(wrong, BadInput) else ()
    return answer(request, "findings.html", FindingsPage.of(found), status=422)
