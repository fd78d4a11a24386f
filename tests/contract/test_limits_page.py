"""The page of what limits rest on agrees with the tables, and with the marks that the tool shows."""

from __future__ import annotations

import pytest

from browseline.farm.names import words
from browseline.figures import BASES, weakest
from browseline.limits import bites, known
from scripts.limit_bases import BY_HAND, PAGE, bases, page
from tests.small_farm import scene


def test_the_page_is_the_one_that_the_tables_make() -> None:
    assert PAGE.read_text(encoding="utf-8") == page(), "run: python -m scripts.limit_bases"


@pytest.mark.parametrize("limit", [one.name for one in known()])
def test_every_limit_stands_on_the_page(limit: str) -> None:
    assert f"\n## {limit}\n" in page()


def test_a_limit_says_itself_what_it_rests_on_or_the_page_does() -> None:
    silent = {one.name for one in known() if not any(one.rows(kind) for kind in words("kind"))}
    assert silent - set(BY_HAND) == {"count", "hay", "job", "poison", "promise", "shut"}


def test_a_mark_on_the_page_is_never_stronger_than_the_one_shown() -> None:
    """A bite that rests on the book shows at best the weakest mark of the rows of its kind."""
    from dataclasses import replace

    from browseline.farm.records import Planting
    from tests.small_farm import farm, state

    place = farm(plantings=(Planting("rows", "Rows", "willow", "1", 2020, 40),))
    seen = scene(place, state(place))
    for bite in bites(replace(seen, memo={}), "ewes", "1"):
        if bite.limit in ("trees", "young"):
            assert bite.mark == weakest(BASES[b] for b in bases(bite.limit, "sheep"))
