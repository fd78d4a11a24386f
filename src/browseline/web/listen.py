"""Listening: on this machine's own address, in the house's network by HTTPS, or for a server in front."""

from __future__ import annotations

import asyncio
import contextlib
import signal
import socket
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import uvicorn
from starlette.types import ASGIApp, Receive, Scope, Send

from browseline.errors import BadInput, finding
from browseline.web.access import HERE
from browseline.web.certificate import Leaf

LOOPBACK = "127.0.0.1"
EVERYWHERE = ""
PORT = 8737
MOST_AT_ONCE = 200
KEEP_ALIVE_S = 20
LAST_ANSWERS_S = 3
MOST_HEAD_BYTES = 32_768
"""Headers of a request."""


class OnThisMachine:
    """Marks requests that came in on this machine's own address: whoever sits there is the owner."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on with its mark."""
        await self.app({**scope, HERE: True}, receive, send)


@dataclass(frozen=True, slots=True)
class Listener:
    """Where to listen, for which application; with ``leaf`` by HTTPS."""

    app: ASGIApp
    address: str = LOOPBACK
    port: int = PORT
    leaf: Leaf | None = None

    def bound(self) -> socket.socket:
        """Return a socket that listens.

        Raises
        ------
        BadInput
            If somebody else listens there, or the address is not this machine's.
        """
        family = socket.AF_INET6 if ":" in self.address else socket.AF_INET
        both = self.address == EVERYWHERE and socket.has_dualstack_ipv6()
        try:
            if both:
                return socket.create_server(("", self.port), family=socket.AF_INET6, dualstack_ipv6=True)
            return socket.create_server((self.address, self.port), family=family)
        except OSError as wrong:
            where = f"{self.address}:{self.port}"
            raise BadInput([finding("access.port", where, why=wrong.strerror or str(wrong))]) from None


class _Server(uvicorn.Server):
    """A server that leaves signals to whoever runs several of them."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield


def listen(listeners: Sequence[tuple[Listener, socket.socket]]) -> None:
    """Serve until stopped."""
    asyncio.run(_serve([(server_of(listener), bound) for listener, bound in listeners]))


def server_of(listener: Listener) -> uvicorn.Server:
    """Return the server of a listener. It believes nobody about who calls: the gate does that."""
    leaf = listener.leaf
    tls: dict[str, Any] = {"ssl_certfile": leaf.certificate, "ssl_keyfile": leaf.key} if leaf else {}
    config = uvicorn.Config(
        listener.app, log_level="warning", server_header=False, proxy_headers=False, lifespan="off",
        ws="none", access_log=False, limit_concurrency=MOST_AT_ONCE, timeout_keep_alive=KEEP_ALIVE_S,
        timeout_graceful_shutdown=LAST_ANSWERS_S, h11_max_incomplete_event_size=MOST_HEAD_BYTES, **tls,
    )  # fmt: skip
    return _Server(config)


async def _serve(servers: Sequence[tuple[uvicorn.Server, socket.socket]]) -> None:
    loop = asyncio.get_running_loop()

    def stop() -> None:
        for server, _ in servers:
            server.should_exit = True

    for name in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(name, stop)
    await asyncio.gather(*(server.serve(sockets=[bound]) for server, bound in servers))
