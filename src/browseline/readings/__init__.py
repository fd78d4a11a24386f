"""What was seen on this farm, and what it teaches: states, factors and rates with their weights."""

from browseline.readings.fell import Fell, fell
from browseline.readings.fertility import Interval, intervals, taught
from browseline.readings.trees import (
    StayLook,
    book_rate,
    looked_limit_d,
    looks_at,
    stay_looks,
    taught_rate,
    tree_shares,
)  # fmt: skip

__all__ = [
    "Fell",
    "Interval",
    "StayLook",
    "book_rate",
    "fell",
    "intervals",
    "looked_limit_d",
    "looks_at",
    "stay_looks",
    "taught",
    "taught_rate",
    "tree_shares",
]
