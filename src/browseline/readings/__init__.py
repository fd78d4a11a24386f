"""What was seen on this farm, and what it teaches: states, factors and rates with their weights."""

from browseline.readings.fertility import Interval, intervals, taught

__all__ = ["Interval", "intervals", "taught"]
