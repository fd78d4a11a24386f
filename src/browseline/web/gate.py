"""The gate before all farms: by which name the server is called, who really calls, what answers carry."""

from __future__ import annotations

import ipaddress
from collections.abc import Iterable

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from browseline.web.access import HERE, LOOPBACK_NAMES, Access, Network
from browseline.words import say

METHODS = ("GET", "HEAD", "POST")
FORWARDED = ("forwarded", "x-forwarded-for", "x-forwarded-host", "x-forwarded-proto", "x-real-ip", "via")
WHY = {400: "unreadable", 403: "in_front", 405: "method", 421: "name"}
POLICY = "; ".join((
    "default-src 'none'", "script-src 'self'", "style-src 'self'", "img-src 'self' data: blob:",
    "font-src 'self'", "connect-src 'self'", "manifest-src 'self'", "worker-src 'self'", "form-action 'self'",
    "frame-ancestors 'none'", "base-uri 'none'",
))  # fmt: skip
HEADERS = {
    "Content-Security-Policy": POLICY,
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), payment=(), usb=(), geolocation=(self)",
}
LASTING = "no-store"
"""Pages are never kept outside the browser's own store for the pocket; files of the program say otherwise."""


class Gate:
    """Turns away what is not meant for this server; every answer behind it carries the same headers."""

    def __init__(self, app: ASGIApp, access: Access) -> None:
        self.app, self.access = app, access

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, once it is known where it comes from."""
        if scope["type"] == "lifespan":
            return await self.app(scope, receive, send)
        if scope["type"] != "http":
            return await send({"type": "websocket.close", "code": 1008})
        headers = Headers(scope=scope)
        wrong = None if scope["method"] in METHODS else 405
        wrong = wrong or self._wrong(scope, headers)
        if wrong:
            headers_too = HEADERS | {"Cache-Control": LASTING}
            said = PlainTextResponse(say(f"access.gate.{WHY[wrong]}"), wrong, headers_too)
            return await said(scope, receive, send)
        return await self.app(scope, receive, _dressed(send))

    def _wrong(self, scope: Scope, headers: Headers) -> int | None:
        """Set who calls and by which name in the scope; return the status where it may not be so."""
        here = scope[HERE] = bool(scope.get(HERE, self.access.here))
        told = not here and _within(scope["client"], self.access.proxies)
        if here and (any(name in headers for name in FORWARDED) or not _loopback(scope["client"])):
            return 403
        hosts = headers.getlist("host")
        if told:
            _believe(scope, headers, self.access.proxies)
        if len(hosts) != 1:
            return 400
        name = host_name(hosts[0])
        if name not in (LOOPBACK_NAMES if here else self.access.hosts):
            return 421
        if self.access.base and not here:
            _based(scope, self.access.base)
        return None


def _based(scope: Scope, base: str) -> None:
    """Put a request under the path at which a server in front shows the pages."""
    if not scope["path"].startswith(f"{base}/"):
        scope["path"] = base + scope["path"]
    scope["root_path"] = base


def _believe(scope: Scope, headers: Headers, proxies: tuple[Network, ...]) -> None:
    """Take a trusted server's word on who calls, and how."""
    scheme = headers.get("x-forwarded-proto", "").strip().lower()
    if scheme in ("http", "https"):
        scope["scheme"] = scheme
    # The last is written by the server in front; the first may be written by anybody.
    for address in reversed(",".join(headers.getlist("x-forwarded-for")).split(",")):
        client = (address.strip(), 0)
        if _address(client) is None:
            return
        scope["client"] = client
        if not _within(client, proxies):
            return


def host_name(host: str) -> str:
    """Return the name in a Host header, small and without the port."""
    name, _, port = host.strip().lower().rpartition(":")
    return (name if name and port.isdigit() else host.strip().lower()).removesuffix(".")


def _address(client: tuple[str, int] | None) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    try:
        found = ipaddress.ip_address(client[0].partition("%")[0]) if client else None
    except ValueError:
        return None
    return (found.ipv4_mapped or found) if isinstance(found, ipaddress.IPv6Address) else found


def _loopback(client: tuple[str, int] | None) -> bool:
    found = _address(client)
    return found is not None and found.is_loopback


def _within(client: tuple[str, int] | None, networks: Iterable[Network]) -> bool:
    found = _address(client)
    return found is not None and any(found in network for network in networks)


def _dressed(send: Send) -> Send:
    """Return a way to send where every answer gets the headers."""

    async def dressed(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, text in HEADERS.items():
                headers[name] = text
            headers.setdefault("Cache-Control", LASTING)
        await send(message)

    return dressed
