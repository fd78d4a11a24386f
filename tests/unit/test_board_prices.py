"""What a paddock still costs at the prices, beside a plain search of the same tables."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from benchmarks.plan_farms import season
from benchmarks.plan_file import board_of
from browseline.moves.board.prices import Dual, tables_of


@pytest.mark.parametrize("mu", [0.0, 0.5])
def test_costs_to_go_are_those_of_a_plain_search_of_the_tables(mu: float) -> None:
    """Tree dose without a price is left out of the sum, with one it counts."""
    b = board_of(season(1, 4, 40, 2))
    t = tables_of(b, 0.3, False)
    dual = Dual(b, t)
    dual.climb(5, 10.0, 10.0)
    dual.now[2][:] = mu
    dual.ask()
    arrival, _, leave, spent, coming = dual.asked_at()
    days, band, mobs = len(b.can_move), t.end.shape[1], range(len(b.start))

    def onto(p: int, i: int, day: int, then: int) -> int:
        return int(min(i + t.low[p, day] - t.low[p, then], band - 1))

    @cache
    def left(p: int, m: int, day: int, i: int) -> float:
        found = [float(t.end[p, onto(p, i, day, days)])]
        for then in mobs:
            begin = int(max(day + b.rest_d[m, then], b.fit_from[then, p]))
            found += [go(p, then, begin, onto(p, i, day, begin))] if begin < days else []
        return min(found)

    @cache
    def go(p: int, m: int, day: int, i: int) -> float:
        if day == days:
            return np.inf
        found = [go(p, m, day + 1, onto(p, i, day, day + 1))]
        for k, length in enumerate(t.lengths if b.can_move[day] else ()):
            if i >= t.opens[p, day, m, k]:
                then, after = day + int(length), int(t.after[p, day, m, k, i])
                usd = t.usd[p, day, m, k, i] + b.prices.dose * mu * t.dose[p, day, m, k, i]
                usd += coming[m, day, p] + arrival[day] + spent[m, day] - spent[m, then] - leave[m, then, p]
                found.append(float(usd) + left(p, m, then, after))
        return min(found)

    held = 0
    for p, m, day in np.ndindex(len(b.area_ha), len(b.start), days):
        plain = [go(p, m, day, i) for i in range(band)]
        assert dual.go[p, m, day] == pytest.approx(plain, rel=1e-4, abs=1e-2)
        held += int(np.isfinite(plain).sum())
    assert held > 1_000
    assert (t.dose[np.isfinite(t.usd)] > 0).any(), "some visit has a dose to be priced"
