"""What a request asks for: a page of the farm in the person's units, or what a form sent."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, cast

from starlette.datastructures import FormData
from starlette.requests import Request

from browseline.chain import Picture
from browseline.chain.in_units import in_units
from browseline.units import CHOSEN, System
from browseline.web.people import person_of
from browseline.web.sight import hidden_from, seen

UNITS = "units"
"""The cookie of the units that a person reads."""


def system_of(request: Request) -> System | None:
    """Return the units that the person chose; None is the farm's own."""
    chosen = request.cookies.get(UNITS, "")
    return next((system for system in CHOSEN if system == chosen), None)


def picture_of(request: Request) -> Picture:
    """Return the farm as it is now, in the person's units, without what the person may not see."""
    system, hidden = system_of(request), hidden_from(person_of(request))
    state = request.app.state
    if system is None and not hidden:
        return cast("Picture", state.store.picture(state.clock()))
    name = f"picture {_view(request)}"
    return cast("Picture", state.store.page(name, lambda p: in_units(seen(p, hidden), system), state.clock()))


def _view(request: Request) -> str:
    """Return by what the pages of two persons differ: the units, and what is hidden."""
    return " ".join([system_of(request) or "", *sorted(hidden_from(person_of(request)))])


def page_of(request: Request, name: str, make: Callable[[Picture], Any]) -> Any:
    """Return a page of the farm in the person's units; ``name`` tells it from every other page."""
    picture, state = picture_of(request), request.app.state
    return state.store.page(f"{name} {_view(request)}", lambda _: make(picture), state.clock())


def texts_in(form: FormData) -> dict[str, str]:
    """Return the texts of a form; files are left out."""
    return {name: text for name, text in form.items() if isinstance(text, str)}
