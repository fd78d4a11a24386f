"""What the years ahead hold, in columns: years down, members across; never an object for a member.

Year 0 is the year of today. Every array has the year first and the member second. What a member draws is
keyed by (farm seed, quantity, member, year), so more years, members or paddocks change no other draw, and
years 0 to n of a long projection equal a short one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt

from browseline.canopy import TreeSizes
from browseline.farm.future import Future
from browseline.figures import Origin

Array = npt.NDArray[np.float64]
MEMBERS = 101
"""Futures where nobody asks for another number."""
WindowKind = Literal["thin", "guards", "hay_gap", "light", "harvest", "lease"]


@dataclass(frozen=True, eq=False)
class LightAhead:
    """Light on the grass of every paddock.

    Attributes
    ----------
    light_frac : array, shape (year, member, paddock)
        Of the growing season, by the light that months bring; 1 is open sky. [1]
    month_frac : array, shape (year, member, month, paddock)
        The same by calendar month. [1]
    cover_frac : array, shape (year, member, paddock)
        Crown cover, union of circles or its stand-in by random overlap. [1]
    error_frac : array, shape (year, paddock)
        What interpolation between the ages that were worked out is off by, from ages left out. [1]
    stand_in : tuple of str
        Paddocks that are on no map: the cover of their rows stands for the shade.
    month_weight : array, shape (month,)
        Share of the open year's light that each month brings. [1]
    pattern : array, shape (month, paddock)
        Shade of a month over that of the year, mean by light 1: which months trees shade most. [1]
    """

    paddocks: tuple[str, ...]
    light_frac: Array
    month_frac: Array
    cover_frac: Array
    error_frac: Array
    stand_in: tuple[str, ...] = ()
    month_weight: Array = field(default_factory=lambda: np.full(12, 1 / 12))
    pattern: Array = field(default_factory=lambda: np.ones((12, 0)))


@dataclass(frozen=True, eq=False)
class OwnFeed:
    """Feed of the farm's own beside the grass that stock graze as it grows. [kg DM as eaten]

    Attributes
    ----------
    store_kg, hay_kg, winter_kg : array, shape (year, member, month)
        Eaten of the bales that are in store today, of hay that is made, of grass kept for winter.
    cut_ha : array, shape (year, member)
        Area cut for hay. [ha]
    made_kg : array, shape (year, member)
        What is made of it, after all losses up to the mouth.
    beyond_kg, lost_kg, over_kg : array, shape (year, member)
        What a cut takes beyond what stock might have had of that grass; what is lost in field, store,
        feeding and standing; what is there at the year's end. [kg DM]
    bales_kg : float
        Of the bales in store today.
    sold_kg : array, shape (year, member)
        Hay sold off the field. [kg DM]
    makes, winter : bool
        Whether hay is made, and whether grass is kept for winter.
    first : int
        Month of year 0, from 0, in which the store is opened: that of today.
    """

    store_kg: Array
    hay_kg: Array
    winter_kg: Array
    cut_ha: Array
    made_kg: Array
    beyond_kg: Array
    lost_kg: Array
    over_kg: Array
    bales_kg: float
    makes: bool
    winter: bool
    first: int
    origins: tuple[Origin, ...] = ()
    sold_kg: Array = field(default_factory=lambda: np.zeros((0, 0)))


@dataclass(frozen=True, eq=False)
class FeedAhead:
    """Feed grown and needed, and the stock that the stocking rule carries. [kg DM as eaten]

    Attributes
    ----------
    grown_kg, need_kg, hay_kg : array, shape (year, member, month)
        What stock may have of the growth; what they need; what is short and comes as bought hay.
    spare_kg : array, shape (year, member)
        Growth that nobody ate.
    grown_paddock_kg : array, shape (year, member, paddock)
    head : array, shape (year, member, class)
        Carried through the year. [head]
    sold, bought, born, died : array, shape (year, member, class)
        Within the year. [head]
    classes : tuple of (mob, kind, class)
    eggs : array, shape (year, member)
        0 without hens. [1/yr]
    own : OwnFeed or None
        Bales in store, hay made, grass kept for winter; None where the farm types none of it.
    """

    paddocks: tuple[str, ...]
    classes: tuple[tuple[str, str, str], ...]
    grown_kg: Array
    need_kg: Array
    hay_kg: Array
    spare_kg: Array
    grown_paddock_kg: Array
    head: Array
    sold: Array
    bought: Array
    born: Array
    died: Array
    origins: tuple[Origin, ...] = ()
    eggs: Array = field(default_factory=lambda: np.zeros((0, 0)))
    own: OwnFeed | None = None

    @property
    def off_grass_kg(self) -> Array:
        """Return what is eaten beside the grass that is grazed: hay of all kinds, shape (year, member)."""
        if self.own is None:
            return np.asarray(self.hay_kg.sum(axis=2))
        return np.asarray((self.hay_kg + self.own.store_kg + self.own.hay_kg).sum(axis=2))

    @property
    def grows(self) -> bool:
        """Return whether anything is known to grow; where not, neither is what is short."""
        return bool(self.grown_kg.any())


@dataclass(frozen=True, eq=False)
class Yield:
    """One product of one planting by year and member.

    Attributes
    ----------
    amount : array, shape (year, member)
        [``unit`` of the product: kg, m3, board feet, posts]
    per_tree : array, shape (year, member)
        The same for a standing tree, before frost where frost took it.
    frosted : bool array, shape (year, member)
        Years in which a late frost took (part of) the crop.
    first : array, shape (member,)
        Calendar year of the first harvest; NaN where none falls into the years. [yr]
    past_data : bool
        Whether trees grow older within the years than any the table knows of.
    form : str
        In which form the weight is: *hulled dry*; of wood the log rule.
    """

    planting: str
    species: str
    product: str
    unit: str
    amount: Array
    per_tree: Array
    frosted: npt.NDArray[np.bool_]
    first: Array
    origins: tuple[Origin, ...] = ()
    past_data: bool = False
    form: str = ""


@dataclass(frozen=True, eq=False)
class CarbonAhead:
    """Carbon and gases by line, never netted, shape (year, member) each.

    ``stock_t`` is what stands at a year's end by (planting, pool): above, below, dead, products [t CO2];
    ``flow_kg`` is the gas of a year by (line, gas) [kg of the gas]. ``projected`` marks the years after the
    last measurement. ``no_factor`` names lines and classes for which no factor is known, ``left_out`` what
    no line holds. ``soil_book_kg`` is what the book says of soil whose use changes, shape (year,), below 0
    from the air: asked for only, no line of the others, never claimed. [kg CO2] ``line_origins`` is where
    those lines are from that have sources of their own; ``no_input_factor`` names what is to be spread
    without a factor.
    """

    stock_t: Mapping[tuple[str, str], Array]
    flow_kg: Mapping[tuple[str, str], Array]
    projected: npt.NDArray[np.bool_]
    origins: tuple[Origin, ...] = ()
    no_factor: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    soil_book_kg: Array | None = None
    line_origins: Mapping[tuple[str, str], tuple[Origin, ...]] = field(default_factory=dict)
    no_input_factor: tuple[str, ...] = ()

    def origins_of(self, line: tuple[str, str]) -> tuple[Origin, ...]:
        """Return where a line of gas is from: its own sources, else those of the book."""
        return self.line_origins.get(line, self.origins)


@dataclass(frozen=True)
class Window:
    """A decision with the years in which it is open: thin by, replace guards by, a gap in hay.

    ``first``, ``last`` are calendar years, ``likely`` the middle over members; ``share`` is the share of
    members in which it comes at all. [yr, 1]
    """

    kind: WindowKind
    about: str
    first: int
    likely: int
    last: int
    share: float
    because: str


@dataclass(frozen=True, eq=False)
class Projection:
    """A farm, years 0 to n: one frozen record of columns.

    ``work_h`` has shape (year, member): hours of own work, of what the tables or the farm know. [h]
    ``fodder`` is the leaf that is cut of trees, ``wool_kg`` (year, member, class of the feed) the wool, both
    by what the farm typed. [kg] ``future`` is what the farm means to do, what its record plans with it.
    """

    first_year: int
    years: tuple[int, ...]
    members: tuple[int, ...]
    measured_to: int
    sizes: TreeSizes
    light: LightAhead
    feed: FeedAhead
    yields: tuple[Yield, ...]
    wood: tuple[Yield, ...]
    carbon: CarbonAhead
    work_h: Array
    windows: tuple[Window, ...]
    unknown: tuple[str, ...] = ()
    fodder: tuple[Yield, ...] = ()
    wool_kg: Array = field(default_factory=lambda: np.zeros((0, 0, 0)))
    future: Future = field(default_factory=Future)
