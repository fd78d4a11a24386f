"""What a typed number can be at all. Outside these it is a slip of the pen or of the unit."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Bounds:
    """The least and the most that can be true, in a unit; ``open`` leaves out the least itself."""

    least: float
    most: float
    unit: str
    open: bool = False

    def hold(self, value: float) -> bool:
        """Return whether a value in ``unit`` can be true."""
        return (value > self.least if self.open else value >= self.least) and value <= self.most


AREA = Bounds(0, 100_000, "ha", open=True)
ROW_AREA = Bounds(0, 100_000, "ha")
GRASS_HEIGHT = Bounds(0, 200, "cm")
START_HEIGHT = Bounds(0, 200, "cm", open=True)
MASS_PER_HEIGHT = Bounds(0, 1000, "kg/ha/cm", open=True)
SHARE = Bounds(0, 1, "%")
SHARE_EATEN = Bounds(0, 1, "%", open=True)
YEARLY_YIELD = Bounds(0, 60_000, "kg/ha", open=True)
FERTILITY = Bounds(0, 1.5, "%", open=True)
AVAILABLE_WATER = Bounds(0, 1000, "mm", open=True)
WEIGHT = Bounds(0, 1500, "kg", open=True)
INTAKE = Bounds(0, 60, "kg/d")
WATER_NEED = Bounds(0, 300, "L/d")
TROUGH = Bounds(0, 1_000_000, "L", open=True)
ELEVATION = Bounds(-500, 9000, "m")
POSITION_ERROR = Bounds(0, 1000, "m")
SPACING = Bounds(0, 1000, "m", open=True)
LEADER = Bounds(0, 120, "m")
SETBACK = Bounds(0, 500, "m")
IMPLEMENT = Bounds(0, 60, "m", open=True)
DRIFT = Bounds(0, 0.2, "%", open=True)
STAY = Bounds(0, 3660, "d", open=True)
INTERVAL = Bounds(0, 3660, "d")
HAY_PASS = Bounds(0, 100_000, "USD/ha")
HAY_HOURS = Bounds(0, 500, "h/ha")
HAY_DAYS = Bounds(0, 60, "d", open=True)
LEAF = Bounds(0, 1000, "kg", open=True)
WOOL = Bounds(0, 50, "kg")
BALES = Bounds(0, 1_000_000, "bales")
BALE_WEIGHT = Bounds(0, 2000, "kg", open=True)
HOURS_A_DAY = Bounds(0, 24, "h")
VOLTAGE = Bounds(0, 20_000, "V")
WET_DAY = Bounds(0, 20, "mm")
MOST_HEAD = 1_000_000
MOST_TREES = 10_000_000
MOST_ROWS_IN_SET, MOST_PASSES = 3, 100
FIRST_YEAR, LAST_YEAR = 1000, 2500
