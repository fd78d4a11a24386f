"""What nobody knows of the years ahead, drawn: prices and yields by member, and what the decades give.

A draw is keyed by (farm seed, quantity, member, year). A price's level is one draw for all years of a
member, shared by all lines of one market, for they are wrong together; its swing is drawn anew each year.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from browseline.farm.accounts import Knock, MoneyLine, MoneyPlan
from browseline.figures import Figure, Origin
from browseline.ledger.cash import Amounts, Array, Cash, Draws, Mixed, counts, plan_cash
from browseline.science import draws
from browseline.units import Quantity

MEMBERS = 100
"""So many futures are drawn where the decades bring none of their own."""
Z_OF_TEN = 1.2815515655446004
"""Standard normal below which nine draws of ten lie: the ends of a range of four in five. [1]"""
LEVEL = 0
"""The year under which what holds for all years is drawn."""
RANGES = {"price": "range_price", "swing": "range_swing", "yield": "range_yield"}
"""What the figure of a range is called, by what it is of."""
CONTRACTS = ("refund", "carbon")
"""Lines with an agreed price, which a plan's common range leaves alone."""


@dataclass(frozen=True, eq=False)
class Followed:
    """What the decades give a line: ``amount`` shape (year, member) in ``unit``, and where it comes from."""

    amount: Array
    unit: str
    origins: tuple[Origin, ...] = ()


@dataclass(frozen=True, eq=False)
class Drawn:
    """The futures of a plan.

    Attributes
    ----------
    members : tuple of int
    draws : mapping
        Factors by (line, what), shape (year, member). [1]
    follows : mapping
        By line.
    unknown : tuple of str
        Names of lines that follow what the decades do not have: their typed count stands.
    mixed : Mixed or None
        What is on record already, the same in every future.
    """

    members: tuple[int, ...] = ()
    draws: Draws = field(default_factory=dict)
    follows: Mapping[str, Followed] = field(default_factory=dict)
    unknown: tuple[str, ...] = ()
    mixed: Mixed | None = None

    @property
    def amounts(self) -> Amounts:
        """Return what lines take from the decades, shape (year, member)."""
        return {name: one.amount for name, one in self.follows.items()}

    @property
    def means(self) -> Amounts:
        """Return the mean over members, shape (year,): what the plan and its downside reckon with."""
        return {name: one.amount.mean(axis=1) for name, one in self.follows.items()}

    @property
    def any(self) -> bool:
        """Return whether one future differs from another."""
        return bool(self.draws) or bool(self.follows)


NOBODY = Drawn()
"""No draw, no decade, no record: a plan as it is typed."""


def middle_cash(plan: MoneyPlan, knocks: Sequence[Knock] = (), given: Drawn = NOBODY) -> Cash:
    """Return a plan's money by year, shape (year,): what is typed, the mean of what follows the decades."""
    return plan_cash(plan, knocks, None, given.means, given.mixed)


def drawn_cash(plan: MoneyPlan, knocks: Sequence[Knock], given: Drawn) -> Cash:
    """Return a plan's money by year and member."""
    return plan_cash(plan, knocks, given.draws, given.amounts, given.mixed)


def ranges_of(plan: MoneyPlan, line: MoneyLine) -> Mapping[str, Quantity]:
    """Return the ranges of a line by what they are of: its own, else the plan's for all lines."""
    common = line.kind not in CONTRACTS
    grows = common and line.kind == "income" and not line.follows
    found = {
        "price": line.price_range or (plan.price_range if common else None),
        "swing": line.price_swing,
        "yield": line.yield_range or (plan.yield_range if grows else None),
    }
    return {what: said for what, said in found.items() if said is not None and said.value}


def plan_draws(plan: MoneyPlan, seed: int, members: tuple[int, ...]) -> Draws:
    """Return factors on prices and yields, four of five within what was typed.

    Parameters
    ----------
    plan : MoneyPlan
    seed : int
        The farm's.
    members : tuple of int

    Returns
    -------
    mapping from (line, what) to array, shape (year, member)
        exp(z ln(1 + range) / 1.28), so as often above as below what is typed. [1]
    """
    made: dict[tuple[str, str], Array] = {}
    for line in plan.lines:
        if not counts(line):
            continue
        for of, factor in _factors(plan, line, seed, members):
            key = (line.id, of)
            made[key] = made[key] * factor if key in made else factor
    return made


def _factors(
    plan: MoneyPlan, line: MoneyLine, seed: int, members: tuple[int, ...]
) -> Iterator[tuple[str, Array]]:
    shape = (plan.years, len(members))
    for what, said in ranges_of(plan, line).items():
        of = "yield" if what == "yield" else "price"
        about = line.id if what == "yield" else line.market or line.id
        z = _normals(plan, f"money.{what}.{about}", seed, members, each_year=what == "swing")
        factor = np.exp(z * np.log1p(said.to("1")) / Z_OF_TEN)
        yield of, np.broadcast_to(factor, shape)


def _normals(
    plan: MoneyPlan, quantity: str, seed: int, members: tuple[int, ...], *, each_year: bool
) -> Array:
    first, last = (plan.first_year, plan.first_year + plan.years) if each_year else (LEVEL, LEVEL + 1)
    chance = draws.uniform_by_year(seed, quantity, members, np.arange(first, last))
    return draws.normal(chance).T


def drawn(
    plan: MoneyPlan,
    seed: int,
    follows: Mapping[str, Followed] | None = None,
    unknown: tuple[str, ...] = (),
    members: tuple[int, ...] = (),
    mixed: Mixed | None = None,
) -> Drawn:
    """Return the futures of a plan; those of the decades where it follows them."""
    several = members or tuple(range(MEMBERS))
    return Drawn(several, plan_draws(plan, seed, several), follows or {}, unknown, mixed)


def range_figures(plan: MoneyPlan) -> tuple[Figure, ...]:
    """Return every range that somebody typed, as figures: guesses of who typed them."""
    guess = (Origin("farm", basis="placeholder"),)
    return tuple(
        Figure(RANGES[what], said.to("1"), "1", origins=guess, about=line.name, typed=said.text)
        for line in plan.lines
        if counts(line)
        for what, said in ranges_of(plan, line).items()
    )


def without_range(plan: MoneyPlan) -> tuple[str, ...]:
    """Return the lines that the draws take for sure, because nobody typed a range of their price."""
    return tuple(
        line.name
        for line in plan.lines
        if counts(line) and line.kind not in CONTRACTS and (line.price_range or plan.price_range) is None
    )
