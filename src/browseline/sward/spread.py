"""How a typed yearly yield is spread over the months of a year, by printed shares."""

from __future__ import annotations

from browseline import tables
from browseline.figures import Figure
from browseline.words import say

SPREAD = {
    "mixed_cool": "Tall grass + N",
    "ryegrass_clover": "Tall grass + N",
    "bluegrass_clover": "Kentucky bluegrass/white clover",
    "orchardgrass_legume": "Alfalfa/grass",
    "timothy_legume": "Red clover/grass",
    "tall_fescue": "Tall grass + N",
    "bermudagrass": "Warm-season grass",
    "bahiagrass": "Warm-season grass",
    "tall_native_warm": "Warm-season grass",
}
"""Which printed forage stands in for a sward when a year's yield is spread over months: a guess."""


def month_share(kind: str, month: int) -> Figure | None:
    """Return the share of a year's yield that falls in a month; None where the sward has no row. [1]

    Printed shares sum to 99 or 101 by rounding: they are scaled to the whole.
    """
    forage = SPREAD.get(kind)
    if forage is None:
        return None
    rows = {m: tables.row("balance", "month_share", f"{forage}, {m}") for m in range(4, 13)}
    whole = sum(row.middle() for row in rows.values())
    own = rows.get(month)
    if own is None:
        first = rows[4].figure("month_share").origins
        return Figure("month_share", 0.0, "1", origins=first, formula="0", about=forage)
    book = own.figure("month_share", f"{forage}, {say(f'dates.month.{month}')}")
    formula = f"{own.middle():g} % ÷ {whole:g} %"
    return Figure("month_share", own.middle() / whole, "1", formula=formula, parts=(book,), about=forage)
