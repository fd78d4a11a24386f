"""An invitation from what a form says, with the address that opens it."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import quote

from starlette.requests import Request

from browseline.errors import BadInput, finding
from browseline.web.access import Access
from browseline.web.people import ROLES, SHARES, Share
from browseline.web.people_page import InvitedPage, invited_page


def invite(request: Request, texts: Mapping[str, str]) -> InvitedPage:
    """Return a way in for one device.

    Parameters
    ----------
    texts : mapping
        The fields of the form: ``role``, ``who``, ``days``, ``link``, and a field for each share.

    Raises
    ------
    BadInput
        If the role is none, or the days are no number.
    """
    role = texts.get("role", "")
    if role not in ROLES:
        raise BadInput([finding("access.role", "role", known=", ".join(ROLES))])
    days = texts.get("days", "").strip()
    if days and not (days.isascii() and days.isdigit() and len(days) < 5):
        raise BadInput([finding("access.days", "days", days=days)])
    shares: frozenset[Share] = frozenset(share for share in SHARES if texts.get(share))
    secret, made = request.app.state.register.invite(
        role, texts.get("who", ""), shares,
        stays_d=int(days) if days else None, link=bool(texts.get("link")),
    )  # fmt: skip
    return invited_page(secret, made, pair_address(request, request.app.state.access, secret))


def pair_address(request: Request, access: Access, secret: str) -> str:
    """Return the address that opens the form with its code filled in."""
    base = request.scope.get("root_path", "")
    front = access.address or f"{request.scope['scheme']}://{request.headers.get('host', '')}"
    return f"{front}{base}/pair?code={quote(secret)}"
