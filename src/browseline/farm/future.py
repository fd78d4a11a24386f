"""What a farm chooses for its decades: how stock follow the feed, work meant for the trees, the log rule."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from browseline.units import Quantity

StockRule = Literal["fixed", "follow", "sell_down"]
STOCK_RULES: tuple[StockRule, ...] = ("fixed", "follow", "sell_down")
LogRule = Literal["doyle", "scribner", "international", "cubic"]
LOG_RULES: tuple[LogRule, ...] = ("doyle", "scribner", "international", "cubic")
WorkKind = Literal["thin", "fell", "prune", "plant", "guard"]
WORK_KINDS: tuple[WorkKind, ...] = ("thin", "fell", "prune", "plant", "guard")


@dataclass(frozen=True, slots=True)
class PlannedWork:
    """Something meant to be done to the trees of a planting in a calendar year.

    ``trees`` None is every tree (prune, guard), those that are missing (plant), or every other (thin).
    """

    id: str
    planting: str
    kind: WorkKind
    year: int
    trees: int | None = None
    to_height: Quantity | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class PlannedInput:
    """Something meant to be spread: lime, urea, fertiliser by the grade on its bag; so much each time.

    ``year`` is the first, ``every`` how many years lie from one time to the next; None is once. ``entered``
    says that it is of the record, beyond what the farm's file says.
    """

    id: str
    what: str
    amount: Quantity
    year: int
    every: int | None = None
    entered: bool = False

    def falls(self, year: int) -> bool:
        """Return whether it is meant for a calendar year."""
        since = year - self.year
        return since == 0 or (since > 0 and self.every is not None and since % self.every == 0)


@dataclass(frozen=True, slots=True)
class LeafCut:
    """Leaf fodder of a planting: so much dry matter a tree each time, from an age on, by the farm's own word.

    ``every`` is how many years lie from one cut to the next, ``month`` that in which stock have it; None is
    cut and told, and feeds none of the stock.
    """

    id: str
    planting: str
    each: Quantity
    from_age: int
    every: int = 1
    month: int | None = None

    def falls(self, age_yr: int) -> bool:
        """Return whether trees of an age are cut. [yr]"""
        return age_yr >= self.from_age and (age_yr - self.from_age) % self.every == 0


@dataclass(frozen=True, slots=True)
class SoilChange:
    """Ground whose use changes in a year, as the rows of the table of soil carbon name use and soil.

    Asked for, the years ahead show what the book says of its soil, apart from every other line.
    """

    stock: str
    use_before: str
    management_before: str
    input_before: str
    use_after: str
    management_after: str
    input_after: str
    area: Quantity
    year: int


@dataclass(frozen=True, slots=True)
class Future:
    """The farm's own choices for the years ahead; what is None takes the table's row.

    ``stock`` is the stocking rule: *fixed* keeps the head and buys hay, *follow* carries what the feed
    bears from year to year, *sell_down* sells in a drought and builds up again by ``build_up`` of the head a
    year. ``replant`` fills gaps again. ``diesel`` and ``petrol`` are what a year burns, ``inputs`` what is
    meant to be spread, ``fodder`` the leaf that trees give; ``soil`` asks for the book's soil carbon.
    """

    years: int = 40
    stock: StockRule = "fixed"
    build_up: Quantity | None = None
    log_rule: LogRule = "international"
    form_class: Quantity | None = None
    replant: bool = False
    works: tuple[PlannedWork, ...] = ()
    diesel: Quantity | None = None
    petrol: Quantity | None = None
    soil: SoilChange | None = None
    inputs: tuple[PlannedInput, ...] = ()
    fodder: tuple[LeafCut, ...] = ()
