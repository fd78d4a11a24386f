"""The sward: weather, soil, stays and heights in; herbage of every paddock out."""

from browseline.sward.grow import grow
from browseline.sward.growing import Growing, growing_days
from browseline.sward.herbage import Ending, Herbage, days_of_grass, grazed_everywhere, left_alone, still
from browseline.sward.numbers import SwardNumbers, leave_at, share_eaten, sward_numbers

__all__ = [
    "Ending",
    "Growing",
    "Herbage",
    "SwardNumbers",
    "days_of_grass",
    "grazed_everywhere",
    "grow",
    "growing_days",
    "leave_at",
    "left_alone",
    "share_eaten",
    "still",
    "sward_numbers",
]
