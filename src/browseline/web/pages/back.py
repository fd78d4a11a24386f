"""Back: the address of what a form sent, asked for without sending, leads to where the form stands."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import RedirectResponse

router = APIRouter()
FORM_OF = {
    "typed": "enter", "undo/{event}": "told/{event}", "bring/map": "bring", "bring/week": "bring",
    "people/invite": "people", "people/revoke": "people",
}  # fmt: skip
"""The page of a form that sends to another address than its own."""


def _to_form(path: str, form: str) -> None:
    """Add the route of one address."""

    def back(request: Request) -> RedirectResponse:
        base = request.scope.get("root_path", "")
        return RedirectResponse(f"{base}/{form.format(**request.path_params)}", 303)

    router.get(f"/{path}", include_in_schema=False)(back)


for _path, _form in FORM_OF.items():
    _to_form(_path, _form)
