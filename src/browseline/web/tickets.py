"""What a browser carries for us: a signed cookie, and the token that its forms and scripts send back."""

from __future__ import annotations

import hashlib
import hmac
import secrets

from itsdangerous import BadSignature, URLSafeSerializer
from starlette.requests import Request

from browseline.web.register import Register

NAME = "browseline"
VISIT, SESSION = "visit", "session"
MOST_SIGNS = 400


def cookie_name(register: Register, secure: bool) -> str:
    """Return the cookie's name: one a farm, so that farms on one host do not write over each other.

    A browser lets a page without HTTPS plant none whose name says that it is secure.
    """
    return f"{'__Secure-' if secure else ''}{NAME}-{hashlib.sha256(register.key).hexdigest()[:8]}"


def signed(register: Register, kind: str, token: str) -> str:
    """Return the cookie's text: what it is for, and a token of ours, signed with the farm's key."""
    return URLSafeSerializer(register.key, salt=NAME).dumps([kind, token])


def carried(request: Request, register: Register, secure: bool) -> tuple[str, str]:
    """Return what for and which token a browser carries; two empty texts if none of ours."""
    text = request.cookies.get(cookie_name(register, secure), "")
    if not text or len(text) > MOST_SIGNS:
        return "", ""
    try:
        kind, token = URLSafeSerializer(register.key, salt=NAME).loads(text)
    except (BadSignature, ValueError, TypeError):
        return "", ""
    return (kind, token) if kind in (VISIT, SESSION) and isinstance(token, str) else ("", "")


def fresh_token() -> str:
    """Return a token that nobody guesses, for a browser that is not paired."""
    return secrets.token_urlsafe(32)


def form_token(register: Register, token: str) -> str:
    """Return what forms and scripts of one browser must send back; another browser's is another."""
    return hmac.new(register.key, f"form {token}".encode(), hashlib.sha256).hexdigest()


def same(one: str, other: str) -> bool:
    """Return whether two tokens are the same, in a time that tells nothing of where they differ."""
    return hmac.compare_digest(one.encode(), other.encode())


def cookie(register: Register, kind: str, token: str, path: str, lasts_s: int, secure: bool) -> str:
    """Return the header that gives a browser its cookie.

    Parameters
    ----------
    path : str
        Where the farm's pages are: the cookie goes nowhere else.
    lasts_s : int
        For how long the browser keeps it; 0 takes it away. [s]
    """
    text = signed(register, kind, token)
    parts = [
        f"{cookie_name(register, secure)}={text}",
        f"Path={path}",
        f"Max-Age={lasts_s}",
        "HttpOnly",
        "SameSite=Lax",
    ]
    return "; ".join([*parts, "Secure"] if secure else parts)
