"""What a farm types to set its trees and stock against something else on the same land."""

from __future__ import annotations

from dataclasses import dataclass, field

from browseline.units import Quantity

MAIZE, TONNE, ACRE, DIESEL = "maize", "t", "ac", "diesel"
"""What is meant where nothing else is typed."""


@dataclass(frozen=True, slots=True)
class Pass:
    """A machine that goes over the ground so many times a year; ``machine`` is a row of the table of fuel."""

    machine: str
    times: float


@dataclass(frozen=True, slots=True)
class CropCost:
    """Money that an annual crop takes a year, for each unit of area."""

    name: str
    amount: Quantity
    per: str


@dataclass(frozen=True, slots=True)
class Crop:
    """An annual crop on the land instead: what is None takes the table's row, or is not known.

    ``price`` is money for each ``per`` (a unit of mass); four years of five lie within ``yield_range`` of
    ``grain`` (fresh, of an area). ``hours`` are of an area, in ``hours_per``. No ``paddocks`` are all.
    """

    kind: str = MAIZE
    paddocks: tuple[str, ...] = ()
    grain: Quantity | None = None
    yield_range: Quantity | None = None
    nitrogen: Quantity | None = None
    price: Quantity | None = None
    per: str = TONNE
    hours: Quantity | None = None
    hours_per: str = ACRE
    passes: tuple[Pass, ...] = ()
    costs: tuple[CropCost, ...] = ()


@dataclass(frozen=True, slots=True)
class Mowing:
    """Mowing that grazing really stands for: machine passes a year on paddocks, named by whoever mowed."""

    id: str
    name: str
    paddocks: tuple[str, ...]
    passes: int
    machine: str
    fuel: str = DIESEL


@dataclass(frozen=True, slots=True)
class SameLand:
    """Everything of ``[same_land]``.

    ``tree_lines`` and ``stock_lines`` are lines of the money plan that go with the trees, with the stock.
    ``alone`` is how close the trees of a planting would stand in an orchard of their own. ``food`` is what a
    product holds, by planting, by ``crop``. ``tree_nitrogen`` is what a tree takes up a
    year, one number or two; ``hours_by_month`` is the work by month. [h/week]
    """

    tree_lines: tuple[str, ...] = ()
    stock_lines: tuple[str, ...] = ()
    alone: tuple[tuple[str, Quantity], ...] = ()
    food: tuple[tuple[str, Quantity], ...] = ()
    tree_nitrogen: tuple[tuple[str, tuple[Quantity, ...]], ...] = ()
    hours_by_month: tuple[float, ...] | None = None
    crop: Crop = field(default_factory=Crop)
    mowing: tuple[Mowing, ...] = ()
