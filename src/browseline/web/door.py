"""The door: who comes in, and what every answer carries."""

from __future__ import annotations

from starlette.types import ASGIApp, Receive, Scope, Send

from browseline.web.people import Person


class Door:
    """Lets requests in; on the machine's own address whoever sits there is the owner."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in as the person who asks."""
        if scope["type"] == "http":
            scope.setdefault("state", {})["person"] = Person("owner", "owner")
        await self.app(scope, receive, send)
