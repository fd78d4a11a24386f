"""What a request asks for: a page of the farm in the person's units, or what a form sent."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request

from browseline.chain import Picture
from browseline.chain.in_units import in_units
from browseline.errors import BadInput, finding
from browseline.units import CHOSEN, System
from browseline.web.people import Share, person_of
from browseline.web.sight import hidden_from, seen

LONGEST = 10
UNITS = "units"
"""The cookie of the units that a person reads."""


def system_of(request: Request) -> System | None:
    """Return the units that the person chose; None is the farm's own."""
    chosen = request.cookies.get(UNITS, "")
    return next((system for system in CHOSEN if system == chosen), None)


def picture_of(request: Request) -> Picture:
    """Return the farm as it is now, in the person's units, without what the person may not see."""
    state = request.app.state
    return viewed(state.store.picture(state.clock()), system_of(request), hidden_from(person_of(request)))


def page_of(request: Request, name: str, make: Callable[[Picture], Any]) -> Any:
    """Return a page of the farm as ``picture_of`` gives it; ``name`` tells it from every other page.

    ``make`` must hang on the picture alone: the page is made again by it when the picture changes.
    """
    system, hidden = system_of(request), hidden_from(person_of(request))
    whole_name = " ".join([name, system or "", *sorted(hidden)])
    state = request.app.state
    return state.store.page(whole_name, lambda whole: make(viewed(whole, system, hidden)), state.clock())


def viewed(whole: Picture, system: System | None, hidden: frozenset[Share]) -> Picture:
    """Return a picture as one person sees it, made once for all who see alike."""
    if system is None and not hidden:
        return whole
    return whole.scene.once(("view", system, hidden), lambda: in_units(seen(whole, hidden), system))


def whole_number(name: str, text: str, least: int, most: int) -> int | None:
    """Return a whole number that a form sent; None where it was left empty.

    Raises
    ------
    BadInput
        If it is none, or out of its range.
    """
    said = text.strip()
    if not said:
        return None
    if not (said.isascii() and said.isdigit() and len(said) < LONGEST and least <= int(said) <= most):
        raise BadInput([finding("web.whole", name, text=said[:LONGEST], least=least, most=most)])
    return int(said)


def texts_in(form: FormData) -> dict[str, str]:
    """Return the texts of a form; files are left out."""
    return {name: text for name, text in form.items() if isinstance(text, str)}
