"""A code used up: the device's new cookie."""

from __future__ import annotations

from starlette.requests import Request

from browseline.web import tickets
from browseline.web.register import Register


def paired_cookie(request: Request, code: str) -> str | None:
    """Return the cookie of a device that is paired by a code; None if the code opens nothing.

    The cookie holds a new token, whatever the browser carried before; a device that was paired before
    ends.
    """
    register: Register = request.app.state.register
    found = register.pair(code)
    if found is None:
        return None
    if request.state.device is not None:
        register.revoke(request.state.device.id)
    token, device = found
    path = f"{request.scope.get('root_path', '')}/"
    lasts_s = int(device.ends - device.made)
    return tickets.cookie(register, tickets.SESSION, token, path, lasts_s, request.app.state.access.secure)
