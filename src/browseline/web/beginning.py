"""A server before there is a farm: the first answer, and the farm that is begun from it."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from fastapi import FastAPI
from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import RedirectResponse
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp, Receive, Scope, Send

from browseline.web.answer import HERE
from browseline.web.body import MOST_BYTES, BadBody, replayed, whole_body
from browseline.web.door import form_token
from browseline.web.pages import start
from browseline.web.people import OWNER
from browseline.web.refused import refused
from browseline.web.tickets import same

FARM_FILE = "farm.toml"
START = "/start"


def may_begin(folder: Path) -> bool:
    """Return whether a farm may be begun in a folder: it is not there yet, or there is nothing in it."""
    return not folder.exists() or (folder.is_dir() and not any(folder.iterdir()))


def beginning(folder: Path, clock: Callable[[], datetime], farm: Callable[[], FastAPI]) -> FastAPI:
    """Return the application of a folder that holds no farm yet.

    Parameters
    ----------
    clock : callable
        What time it is.
    farm : callable
        Makes the application of the farm, once it is there.
    """
    app = FastAPI(openapi_url=None, docs_url=None, redoc_url=None,
                  middleware=[Middleware(Begun, folder=folder, farm=farm)])  # fmt: skip
    app.state.clock, app.state.begin_in, app.state.farms = clock, folder, {}
    app.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
    app.include_router(start.router)
    return app


class Begun:
    """Gives the questions until there is a farm, and from then on the farm."""

    def __init__(self, app: ASGIApp, folder: Path, farm: Callable[[], FastAPI]) -> None:
        self.app, self._folder, self._make = app, folder, farm
        self._farm: FastAPI | None = None
        self._token = secrets.token_urlsafe(32)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request: by the farm, or by the questions."""
        if scope["type"] != "http":
            return await self.app(scope, receive, send)
        if self._farm is None and (self._folder / FARM_FILE).is_file():
            self._farm = await run_in_threadpool(self._make)
        if self._farm is not None:
            return await self._farm(scope, receive, send)
        request = Request(scope, receive)
        request.state.person, request.state.csrf = OWNER, self._token
        if request.method == "POST":
            return await self._post(request, receive, send)
        if not scope["path"].startswith((START, "/static/")):
            return await RedirectResponse(START, 303)(scope, receive, send)
        return await self.app(scope, receive, send)

    async def _post(self, request: Request, receive: Receive, send: Send) -> None:
        """Take answers that a page of ours sent."""
        try:
            body = await whole_body(receive, request.headers.get("content-length"), MOST_BYTES)
        except BadBody as bad:
            return await refused(request, bad.status)(request.scope, receive, send)
        sent = request.headers.get("x-csrf") or await form_token(request, body)
        if not same(sent, self._token):
            return await refused(request, 403, "access.refused.form")(request.scope, receive, send)
        return await self.app(request.scope, replayed(body, receive), send)
