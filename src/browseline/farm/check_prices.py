"""Prices of ``farm.toml`` that nothing would read, or that the plan of a season cannot reckon with."""

from __future__ import annotations

from browseline.farm.draft import Draft
from browseline.farm.names import nearest, words
from browseline.farm.own_hay import SEASON_CURRENCY, SOLD_PRICE, in_dollars

SEASON = (
    "hay", "yard_day", "left_short", "entered_early", "move", "walk", "end_cover", "heat_day", "change_near",
    "change_later", "water_trip",
)  # fmt: skip
"""The prices that the plan of a season reads."""
OTHER = (SOLD_PRICE, "tree")


def check_prices(draft: Draft) -> None:
    """Refuse prices below nothing; ask about unknown names, and those of the season in another currency."""
    listed = (*SEASON, *OTHER)
    known = (*listed, *words("species"), *(planting.species for planting in draft.plantings))
    for item, price in draft.prices:
        path = ("prices", item)
        if price.value < 0:
            draft.told.finding("farm.price_below", path, key=item, price=price.text)
        elif item not in known:
            near = nearest(item, known) or "tree"
            draft.told.finding(
                "farm.unknown_price", path, level="question", key=item, near=near, known=", ".join(listed)
            )
        elif item in SEASON and in_dollars(price) is None:
            draft.told.finding(
                "farm.price_currency", path, level="question", price=price.text, currency=SEASON_CURRENCY
            )
