"""Soil carbon by the book where land changes its use: a projection that stands apart, never a claim."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from browseline import tables
from browseline.figures import Figure
from browseline.science import carbon
from browseline.units import factor, plain


@dataclass(frozen=True)
class LandUse:
    """Use, management and input of ground, as the rows of the table of soil carbon name them."""

    use: str
    management: str
    amount: str

    def rows(self) -> tuple[tables.Row, ...]:
        """Return the three factors. [1]

        Raises
        ------
        LookupError
            If the table lacks one.
        """
        return (
            tables.row("soil_carbon", "use_factor", self.use),
            tables.row("soil_carbon", "management_factor", self.management),
            tables.row("soil_carbon", "input_factor", self.amount),
        )

    def factor(self) -> float:
        """Return the product of the three factors. [1]"""
        return float(np.prod([row.middle() for row in self.rows()]))


def projected(
    stock: str, before: LandUse, after: LandUse, area_ha: float, years: int
) -> tuple[Figure, np.ndarray]:
    """Return a projection of soil carbon where land changed its use: a year's gain, and that of every year.

    It is worked out from defaults, marked so, off unless asked for, and in no claim and no carbon pack.

    Parameters
    ----------
    stock : str
        *edition, climate, soil* of a reference stock, 0-30 cm.
    area_ha : float
        [ha]
    years : int
        [yr]

    Returns
    -------
    Figure, array of shape (year,)
        [t CO2; t CO2/yr]
    """
    row = tables.row("soil_carbon", "reference_stock", stock)
    was, now = before.rows(), after.rows()
    old, new = before.factor(), after.factor()
    by_year = carbon.soil_change_t_c(row.middle(), old, new, np.arange(float(years))) * area_ha
    gained = by_year * factor("t C", "t CO2")
    formula = f"{row.middle():g} × ({plain(new, 3)} − {plain(old, 3)}) ÷ 20 × {plain(area_ha)} ha × 44 ÷ 12"
    parts = tuple(r.figure(r.key, r.applies_to) for r in (row, *was, *now))
    first = float(gained[0]) if years else 0.0
    return Figure("soil_projected", first, "t CO2", formula=formula, parts=parts, about=stock), gained
