"""The records of a board: its calendar, herbage and prices, and a plan's cost by term."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
Index = NDArray[np.int64]
TERMS = ("hay", "yard_hay", "yard_d", "residual", "entry", "dose", "heat", "moves", "km", "end")
"""hay on pasture [kg], hay in the yard [kg], yard [mob-day], left short [kg], entered early [kg], tree dose
over the limit [LU d/ha], heat [USD], moves [1], walked [km], cover short at the end [kg]"""
HAY, YARD_HAY, YARD_D, RESIDUAL, ENTRY, DOSE, HEAT, MOVES, KM, END = range(10)


class Prices(NamedTuple):
    """What each term costs. [USD per unit of the term]"""

    hay: float
    yard_d: float
    residual: float
    entry: float
    dose: float
    move: float
    km: float
    end: float


class Board(NamedTuple):
    """A season on one forecast. Places are paddocks 0 … P - 1 and the yard, P.

    clear_d (mob, day, paddock) open days from a day on; can_move (day,); cap (day,) most arrivals; longest_d
    (mob, paddock) longest stay; rest_d (mob, mob) days between one's leaving and another's coming; fit_from
    (mob, paddock) first day on which the rest after the past is over; far_km (place, place); heat_usd (mob,
    day, paddock); demand_kg_d, lu (mob, day); start, been_d (mob,) where each stands and for how many days;
    area_ha, ceiling, residual, start_kg_ha, dose_limit, cover (paddock,), entry (mob, paddock) [kg/ha];
    sigma (mob, paddock) tree dose of a livestock unit and day; growth (paddock, day + 1) the growth sum that
    the invariant counts in; step (paddock, day) exp of a day of it; floor [kg/ha]; wasted (1,) herbage that
    disappears for each kg eaten; nightly (1,) whether herbage left short counts on every evening of a visit
    or on the last alone; spread (1,) how far members' herbage lies about the board's: what falls short of a
    height is counted over them. [kg DM/ha] What a file of a season has no word on: own_rest_d (mob, paddock)
    days between two stays of the same mob; leader (mob,) whom each follows, -1 for nobody; follow_d (mob, 3)
    how soon and how late after it, and what the first day adds; led_ago_d (mob, paddock) days since its
    leader left each paddock before the first day. Empty where there are none.
    """

    clear_d: Index
    can_move: Bools
    cap: Index
    longest_d: Index
    rest_d: Index
    fit_from: Index
    far_km: Array
    heat_usd: Array
    demand_kg_d: Array
    lu: Array
    start: Index
    been_d: Index
    area_ha: Array
    ceiling: Array
    residual: Array
    start_kg_ha: Array
    dose_limit: Array
    cover: Array
    entry: Array
    sigma: Array
    growth: Array
    step: Array
    floor: float
    wasted: float
    nightly: bool
    spread: float
    prices: Prices
    own_rest_d: Index = np.zeros((0, 0), np.int64)
    leader: Index = np.zeros(0, np.int64)
    follow_d: Array = np.zeros((0, 3))
    led_ago_d: Array = np.zeros((0, 0))
