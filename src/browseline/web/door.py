"""The door of one farm: which person a request comes from, and whether they may do what it asks."""

from __future__ import annotations

from dataclasses import replace

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import MutableHeaders
from starlette.exceptions import HTTPException
from starlette.formparsers import MultiPartException
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from browseline.web import tickets
from browseline.web.access import HERE, Access
from browseline.web.blanked_answer import Blanked
from browseline.web.body import MOST_BYTES, MOST_OF, BadBody, replayed, whole_body
from browseline.web.people import NOBODY, OWNER, Person, asking
from browseline.web.rates import ALL_GUESSES, ENTRIES, GUESSES, READS, Rates, caller
from browseline.web.refused import refused
from browseline.web.register import HOUR_S, Register
from browseline.web.sight import FILES, hidden_from, is_open, may_ask, row_of

PAIR = "/pair"
VISIT_LASTS_S = HOUR_S
PACKED = ("application/x-www-form-urlencoded", "multipart/form-data")


class Door:
    """Lets people in: whoever sits at the machine as the owner, everybody else by a paired device.

    Parameters
    ----------
    register : Register
        The farm's people.
    """

    def __init__(self, app: ASGIApp, register: Register, access: Access, rates: Rates) -> None:
        self.app, self.register, self.access, self.rates = app, register, access, rates

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in as the person who asks."""
        if scope["type"] != "http":
            return await self.app(scope, receive, send)
        request = Request(scope, receive)
        path = scope["path"].removeprefix(scope.get("root_path", "")) or "/"
        new_visit = await run_in_threadpool(self._recognise, request, path)
        wrong = self._wrong(request, path)
        if wrong is not None:
            return await wrong(scope, receive, send)
        if request.method == "POST":
            try:
                most = MOST_OF.get(path, MOST_BYTES)
                body = await whole_body(receive, request.headers.get("content-length"), most)
            except BadBody as bad:
                return await refused(request, bad.status)(scope, receive, send)
            if not await self._meant(request, body):
                return await refused(request, 403, "access.refused.form")(scope, receive, send)
            receive = replayed(body, receive)
        if new_visit:
            send = self._giving(scope, send, new_visit)
        held = asking.set(request.state.person)
        try:
            await self._answer(request, path, receive, send)
        finally:
            asking.reset(held)

    async def _answer(self, request: Request, path: str, receive: Receive, send: Send) -> None:
        """Pass a request on; what comes back is gone through where the person may not see everything."""
        hidden = hidden_from(request.state.person)
        if not hidden or is_open(request.method, path):
            await self.app(request.scope, receive, send)
            return
        row = row_of(request.method, path)
        whole = Blanked(request, hidden, sealed=row is not None and row.sealed)
        await self.app(request.scope, receive, whole.take)
        await whole.give(receive, send)

    def _recognise(self, request: Request, path: str) -> str:
        """Set the person and the token of their forms; return a new token for a browser that has none."""
        state, new_visit = request.state, ""
        state.device, state.person = None, NOBODY
        if request.scope.get(HERE):
            state.person = replace(OWNER, sandbox=self.access.sandbox)
            state.csrf = tickets.form_token(self.register, HERE)
            return ""
        kind, token = tickets.carried(request, self.register, self.access.secure)
        if kind == tickets.SESSION:
            state.device = self.register.device(token)
            token = token if state.device else ""
        if state.device:
            state.person = state.device.person
        if not token and path == PAIR:
            token = new_visit = tickets.fresh_token()
        state.csrf = tickets.form_token(self.register, token) if token else ""
        return new_visit

    def _wrong(self, request: Request, path: str) -> Response | None:
        """Return the page that turns a request away; None where it may be asked."""
        if wait_s := self._wait_s(request, path):
            return refused(request, 429, wait_s=wait_s)
        person: Person = request.state.person
        if may_ask(person, request.method, path):
            return None
        return refused(request, 401 if person is NOBODY else 403)

    def _wait_s(self, request: Request, path: str) -> float:
        """Return how long the caller must wait. [s]"""
        address = request.client.host if request.client else ""
        device = request.state.device
        who = device.id if device else caller(address)
        if path.startswith(FILES):
            return 0.0
        if request.method != "POST":
            return self.rates.wait_s(who, READS)
        if path == PAIR:
            return self.rates.wait_s(caller(address), GUESSES) or self.rates.wait_s("", ALL_GUESSES)
        return self.rates.wait_s(who, ENTRIES)

    async def _meant(self, request: Request, body: bytes) -> bool:
        """Return whether a page of ours sent this, not one from elsewhere in the person's browser."""
        headers = request.headers
        ours = f"{request.scope['scheme']}://{headers.get('host', '')}"
        if headers.get("origin", ours).lower() != ours.lower():
            return False
        if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return False
        sent = headers.get("x-csrf") or await form_token(request, body)
        return bool(request.state.csrf) and tickets.same(sent, request.state.csrf)

    def _giving(self, scope: Scope, send: Send, visit: str) -> Send:
        """Return a way to send that gives a browser its cookie before it is paired."""
        path = scope.get("root_path", "") + "/"
        given = tickets.cookie(self.register, tickets.VISIT, visit, path, VISIT_LASTS_S, self.access.secure)

        async def giving(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).append("Set-Cookie", given)
            await send(message)

        return giving


async def form_token(request: Request, body: bytes) -> str:
    """Return the token in a form that was sent."""
    if not request.headers.get("content-type", "").lower().startswith(PACKED):
        return ""
    again = Request(request.scope, replayed(body, request.receive))
    try:
        async with again.form(max_files=4, max_fields=200) as form:
            found = form.get("csrf", "")
            return found if isinstance(found, str) else ""
    except (HTTPException, MultiPartException, ValueError):
        return ""
