"""Tables of a season kept for its later days: they depend on forecast and calendar, not on what stands."""

from __future__ import annotations

import numpy as np

from browseline.moves.board.form import Board
from browseline.moves.board.prices import EARLIEST_KG_HA, Tables, fill


def later_tables(before: Board, t: Tables, b: Board) -> Tables | None:
    """Return a season's tables, cut to what is left of it, under the calendar as it is by now.

    What the calendar bars by now is barred in the tables; paddocks where it bars less than before are asked
    anew. The sum of growth counts on from the first day of the season: a later board keeps that count.

    Parameters
    ----------
    before : Board
        The board that the tables were made of.
    b : Board
        What is left of it.

    Returns
    -------
    Tables or None
        None where the forecast, demand or what land and mobs need is another by now.
    """
    days = len(b.can_move)
    day = len(before.can_move) - days
    if day < 0 or not _same(before, b, day):
        return None
    usd, opens = np.ascontiguousarray(t.usd[:, day:]), np.ascontiguousarray(t.opens[:, day:])
    dose, after = np.ascontiguousarray(t.dose[:, day:]), np.ascontiguousarray(t.after[:, day:])
    low, fine, band = np.ascontiguousarray(t.low[:, day:]), t.fine, t.end.shape[1]
    u = np.log(b.start_kg_ha / (b.ceiling - b.start_kg_ha)) - b.growth[:, 0]
    start = np.clip(np.floor(u / fine + 0.5).astype(np.int64) - low[:, 0], 0, band - 1)
    found = Tables(fine, low, t.lengths, usd, dose, after, opens, t.end, start)
    then = np.arange(days)[:, None] + t.lengths
    moves = np.append(b.can_move, True)
    free = b.can_move[:, None] & (then <= days) & moves[np.minimum(then, days)]
    stays = t.lengths <= np.minimum(b.clear_d.transpose(2, 1, 0), b.longest_d.T[:, None])[..., None]
    barred = ~(free[:, None] & stays)
    opens[barred] = band
    usd[barred] = np.inf
    freed = (b.clear_d > before.clear_d[:, day:]).any(axis=(0, 1))
    for p in np.flatnonzero(freed | (b.can_move > before.can_move[day:]).any()):
        fill(b, found, False, EARLIEST_KG_HA, int(p), int(p) + 1)
    return found


def _same(before: Board, b: Board, day: int) -> bool:
    """Return whether everything but the calendar and what stands is as it was foreseen."""
    cut = {"growth": before.growth[:, day:], "demand_kg_d": before.demand_kg_d[:, day:],
           "lu": before.lu[:, day:], "heat_usd": before.heat_usd[:, day:]}  # fmt: skip
    kept = ("area_ha", "ceiling", "residual", "cover", "entry", "sigma", "longest_d")
    was = {name: getattr(before, name) for name in kept} | cut
    alike = all(np.array_equal(x, getattr(b, name)) for name, x in was.items())
    numbers = ("floor", "wasted", "nightly", "spread", "prices")
    return alike and all(getattr(before, name) == getattr(b, name) for name in numbers)
