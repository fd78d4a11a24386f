"""What a farm types for its ledgers: money ahead year by year, loans, what could go wrong, carbon rules."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from browseline.units import Quantity

LineKind = Literal["income", "cost", "planting", "refund", "carbon"]
KnockOn = Literal["price", "yield", "count", "amount", "later"]
LINE_KINDS: tuple[LineKind, ...] = ("income", "cost", "planting", "refund", "carbon")
KNOCKS: tuple[KnockOn, ...] = ("price", "yield", "count", "amount", "later")
FOLLOWS = ("yield", "wood", "head", "sold", "bought", "born", "died", "hay", "hours", "input", "wool")
"""What of the decades a line may follow, the first word of ``follows``."""

Steps = tuple[tuple[int, float], ...]
"""Numbers from a year on: ((1, 327), (4, 294.3)) is 327 in the first three years, 294.3 from the fourth."""


@dataclass(frozen=True, slots=True)
class Loan:
    """Money borrowed: what it bought, its yearly rate, its years, the first of them of interest only.

    ``first`` is the year of the plan at whose end the first payment falls.
    """

    id: str
    name: str
    amount: Quantity
    rate: Quantity
    years: int
    interest_only: int = 0
    first: int = 1
    buys: str = ""


@dataclass(frozen=True, slots=True)
class MoneyLine:
    """One line of money ahead: so many, each of so much, at a price less what each costs to sell.

    ``income`` and ``cost`` count towards the cash that pays loans; ``planting`` and ``refund`` (a cost
    shared by somebody else) stand beside it; ``carbon`` counts only once ``signed``. Years are those of
    the plan, the first is 1, both ends included.

    ``follows`` names what of the decades gives its count, year by year and member by member (``yield hazel
    nuts``, ``sold heifers/dairy heifer``, ``hay bought``, ``hours``, ``input lime``), in the unit ``per``.
    Four draws of five lie within ``price_range``, ``yield_range`` of what is typed, one level for all years;
    ``price_swing`` comes on top, anew each year. Lines of one ``market`` share the draws of their price.
    ``due`` is the one day on which it falls; ``record`` are words under which entries of the record count
    towards it.
    """

    id: str
    name: str
    kind: LineKind
    price: Quantity
    count: Steps = ((1, 1.0),)
    each: Steps = ((1, 1.0),)
    less: Quantity | None = None
    from_year: int = 1
    to_year: int | None = None
    signed: date | None = None
    note: str = ""
    follows: str = ""
    per: str = ""
    market: str = ""
    price_range: Quantity | None = None
    yield_range: Quantity | None = None
    price_swing: Quantity | None = None
    due: date | None = None
    record: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Knock:
    """One thing that could go wrong: a line's price, yield or count times a factor, its money more, or later.

    ``amount`` adds money to a line; ``later`` moves it by whole years. One of a ``decade`` strikes in that
    named run of bad years and not in the downside.
    """

    id: str
    name: str
    line: str
    on: KnockOn
    factor: float = 1.0
    add: Quantity | None = None
    years_later: int = 0
    from_year: int = 1
    to_year: int | None = None
    decade: str = ""


@dataclass(frozen=True, slots=True)
class MoneyPlan:
    """Money of the years ahead, as the farm typed it.

    ``price_range``, ``yield_range`` hold for lines that have none of their own; ``pledged`` is what stands
    as security, ``lender`` who reads the pack.
    """

    first_year: int
    years: int
    discount: Quantity
    loans: tuple[Loan, ...] = ()
    lines: tuple[MoneyLine, ...] = ()
    knocks: tuple[Knock, ...] = ()
    own_hours: Quantity | None = None
    cover_wanted: float | None = None
    currency: str = "USD"
    price_range: Quantity | None = None
    yield_range: Quantity | None = None
    pledged: str = ""
    lender: str = ""

    @property
    def decades(self) -> tuple[str, ...]:
        """Return the named runs of bad years, in the order typed."""
        return tuple(dict.fromkeys(knock.decade for knock in self.knocks if knock.decade))

    def knocks_of(self, decade: str = "") -> tuple[Knock, ...]:
        """Return the knocks of the downside, or of a named run of bad years."""
        return tuple(knock for knock in self.knocks if knock.decade == decade)


@dataclass(frozen=True, slots=True)
class Diet:
    """What the second tier needs to know of animals of one kind and class, as the farm typed it."""

    kind: str
    klass: str
    digestible: Quantity
    milk: Quantity | None = None
    fat: Quantity | None = None
    young_gain: Quantity | None = None
    pregnant: Quantity | None = None
    litter: int = 1
    gain: Quantity | None = None
    mature: Quantity | None = None
    wool: Quantity | None = None


@dataclass(frozen=True, slots=True)
class CarbonRules:
    """The farm's choice of factors for its carbon book; None takes what ``ledger/factors.py`` says.

    ``trees`` is the set of tree equations, ``groups`` names another group of the set for a planting,
    ``root_share`` and ``carbon_share`` name a row of the table of tree carbon, ``owner`` owns the trees and
    ``paid`` tells what was already paid for.
    """

    edition: str | None = None
    region: str | None = None
    climate: str | None = None
    metric: str | None = None
    trees: str | None = None
    groups: tuple[tuple[str, str], ...] = ()
    root_share: str | None = None
    carbon_share: str | None = None
    diets: tuple[Diet, ...] = ()
    owner: str = ""
    paid: str = ""
