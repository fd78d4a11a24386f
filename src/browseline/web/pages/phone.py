"""Phone: the steps that are made once, and whether a phone will work without a signal."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from browseline.web.answer import answer
from browseline.web.describe import gives
from browseline.web.people_page import PhonePage
from browseline.web.refused import refused

router = APIRouter()


@router.get("/phone", **gives(PhonePage))
def phone(request: Request) -> Response:
    """GET /phone — the steps that are made once on a phone."""
    authority = request.app.state.access.authority
    made = PhonePage("browseline/phone/1", authority is not None, authority.fingerprint if authority else "")
    return answer(request, "phone.html", made)


@router.get(
    "/phone/authority.crt",
    responses={200: {"content": {"application/x-x509-ca-cert": {}}}},
    response_class=Response,
)
def authority(request: Request) -> Response:
    """GET /phone/authority.crt — the certificate of this server's own authority, to be trusted once."""
    found = request.app.state.access.authority
    if found is None:
        return refused(request, 404)
    return Response(found.certificate, media_type="application/x-x509-ca-cert")
