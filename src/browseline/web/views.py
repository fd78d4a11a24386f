"""Every page that shows numbers, by the name its keys begin with."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from browseline.chain.look import Picture
from browseline.chain.pages import PAGES
from browseline.chain.walk_step import walk_round
from browseline.errors import BadInput, finding
from browseline.papers.farm_map import farm_map
from browseline.papers.season_view import season_view
from browseline.words import list_words

VIEWS: Mapping[str, Callable[[Picture], Any]] = {
    **{name: page.make for name, page in PAGES.items()},
    "period": PAGES["record"].make, "walk-round": walk_round, "walk-step": walk_round,
    "season-view": season_view, "map-page": farm_map,
}  # fmt: skip


def view(name: str, key: str) -> Callable[[Picture], Any]:
    """Return what makes the page that a key begins with.

    Raises
    ------
    BadInput
        If no page has that name.
    """
    if name not in VIEWS:
        raise BadInput([finding("why.no_page", key, pages=list_words(VIEWS))])
    return VIEWS[name]
