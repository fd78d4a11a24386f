"""Decades: a farm in the years ahead, as columns of years and members."""

from browseline.decades.form import (
    CarbonAhead,
    FeedAhead,
    LightAhead,
    Projection,
    Window,
    Yield,
)

__all__ = ["CarbonAhead", "FeedAhead", "LightAhead", "Projection", "Window", "Yield"]
