"""One context, two forms: a page for people, JSON with the same facts for programs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from browseline.chain.why import amount
from browseline.errors import by_level
from browseline.exchange.plain import document
from browseline.units import SIGNS
from browseline.web.opens import Opens
from browseline.web.people import person_of
from browseline.web.sight import may_ask
from browseline.words import begun, language, list_words, say

HERE = Path(__file__).parent


@cache
def templates() -> Environment:
    """Return the templates; whatever people typed reaches them as data."""
    made = Environment(
        loader=FileSystemLoader(HERE / "templates"), autoescape=select_autoescape(default=True),
        undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    made.globals |= {
        "say": say,
        "begun": begun,
        "list_words": list_words,
        "amount": amount,
        "by_level": by_level,
    }
    made.globals["coins"] = SIGNS
    return made


def ready(*names: str) -> None:
    """Read templates before anybody asks for a page of theirs."""
    for name in names:
        templates().get_template(name)


def wants_json(request: Request) -> bool:
    """Return whether a program asks: by its Accept header, or by ``?as=json``."""
    return request.query_params.get("as") == "json" or (
        "text/html" not in request.headers.get("accept", "")
        and "application/json" in request.headers.get("accept", "")
    )


def answer(
    request: Request, template: str, page: Any, *, status: int = 200, extra: Mapping[str, Any] | None = None,
    switched: Sequence[tuple[str, str]] = (),
) -> Response:  # fmt: skip
    """Return a page as HTML or JSON, both from the one context.

    Parameters
    ----------
    template : str
        File under ``templates/``; it gets ``page``, ``person``, ``may`` (whether they may see a path),
        ``base`` (before every path), ``opens`` (numbers as links to Why), ``here`` (the page's name),
        ``csrf``, and what is in ``extra``.
    page : dataclass
        Has ``schema``; its fields are the context's documentation.
    switched : pairs of str
        What the page was asked with that changes its numbers: Why is asked with it too.
    """
    if wants_json(request):
        return JSONResponse(document(page.schema, page), status)
    base, person = request.scope.get("root_path", ""), person_of(request)
    whole = templates().get_template(template).render(
        page=page, person=person, base=base, language=language.get(),
        may=lambda path: may_ask(person, "GET", f"/{path}"),
        opens=Opens(page, base, switched),
        here=request.url.path.removeprefix(base).strip("/").partition("/")[0] or "today",
        csrf=getattr(request.state, "csrf", ""), **(extra or {}),
    )  # fmt: skip
    return HTMLResponse(whole, status)
