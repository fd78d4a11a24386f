"""The same land otherwise: without trees, without stock, left alone; farms made out of a farm."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Literal

from browseline.farm.accounts import MoneyLine, MoneyPlan
from browseline.farm.records import Farm

Use = Literal["here", "pasture", "trees", "crop", "alone"]
USES: tuple[Use, ...] = ("here", "pasture", "trees", "crop", "alone")
"""Uses of the land in the order of the table: as it is, pasture without trees, trees without stock …"""
TREE_SHAPES = ("tree_row", "tree")
TREE_WORDS = ("yield", "wood")
STOCK_WORDS = ("head", "sold", "bought", "born", "died", "hay", "wool")
INPUT_WORDS = ("input",)
"""First words of what a line of money follows in the decades, by what it goes with."""


def without_trees(farm: Farm) -> Farm:
    """Return the farm as plain pasture: no tree stands or will, and grass grows where the rows were.

    Money lines that follow a yield or wood, and those that the farm named as lines of its trees, go too.
    """
    paddocks = tuple(replace(p, row_area_ha=0.0, light=None, cover=None) for p in farm.paddocks)
    return replace(
        farm, paddocks=paddocks, plantings=(), planned=(),
        shapes=tuple(s for s in farm.shapes if s.kind not in TREE_SHAPES),
        future=replace(farm.future, works=(), fodder=()),
        money=_plan(farm.money, lambda line: not _goes(line, TREE_WORDS, farm.same_land.tree_lines)),
    )  # fmt: skip


def without_stock(farm: Farm) -> Farm:
    """Return the farm with its trees alone: no stock, no hay for any, their money lines gone."""
    return replace(
        farm, mobs=(), hay=(),
        money=_plan(farm.money, lambda line: not _goes(line, STOCK_WORDS, farm.same_land.stock_lines)),
    )  # fmt: skip


def left_alone(farm: Farm) -> Farm:
    """Return the farm with its trees left to themselves: no stock, nothing gathered, spread or felled."""
    bare, words = without_stock(farm), (*TREE_WORDS, *INPUT_WORDS)
    return replace(
        bare, future=replace(farm.future, works=(), replant=False, inputs=(), fodder=()),
        money=_plan(bare.money, lambda line: not _goes(line, words, farm.same_land.tree_lines)),
    )  # fmt: skip


OTHERWISE: Mapping[Use, Callable[[Farm], Farm]] = {
    "here": lambda farm: farm, "pasture": without_trees, "trees": without_stock, "alone": left_alone,
}  # fmt: skip
"""How each use that the decades can project is made; the annual crop is none of them."""


def _goes(line: MoneyLine, words: tuple[str, ...], named: tuple[str, ...]) -> bool:
    """Return whether a line of money goes with the trees, or with the stock."""
    return line.id in named or line.follows.split(" ", 1)[0] in words


def _plan(plan: MoneyPlan | None, stays: Callable[[MoneyLine], bool]) -> MoneyPlan | None:
    """Return a plan with some of its lines, and the knocks that strike those."""
    if plan is None:
        return None
    lines = tuple(line for line in plan.lines if stays(line))
    known = {line.id for line in lines}
    return replace(plan, lines=lines, knocks=tuple(k for k in plan.knocks if k.line in known))
