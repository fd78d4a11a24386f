"""How wrong the claimed carbon may be: the sample apart from the equation, and what other choices make."""

from __future__ import annotations

from collections.abc import Iterator

from browseline.farm import tree_mass
from browseline.farm.records import Farm, Planting
from browseline.figures import Figure
from browseline.ledger.carbon import CarbonBook
from browseline.ledger.carbon_page import ASKED, PERCENT, change_words, counts, share_words
from browseline.ledger.equation_words import equation_words, group_words
from browseline.ledger.tree_carbon import NINETY, TreeStock
from browseline.papers.section_form import Rows, Section
from browseline.science import wood
from browseline.units import plain, true_minus
from browseline.words import linked, say

HEAD = ("planting", "what", "low", "middle", "high")


def doubt_section(book: CarbonBook) -> Section:
    """Return sampling error and equation error side by side, never added."""
    lines = [say("evidence.wrong.how")]
    rows: list[tuple[str, ...]] = []
    for stock in book.stocks:
        rows += _rows(stock)
        lines += _words(stock)
    head = tuple(say(f"evidence.wrong.head.{name}") for name in HEAD)
    return Section("wrong", say("evidence.head.wrong"), tuple(lines), head, tuple(rows))


def _rows(stock: TreeStock) -> Rows:
    unknown = say("evidence.unknown")
    sample = [tonnes(end) for end in stock.ends] if stock.ends else [unknown, unknown]
    equation = [tonnes(end) for end in equation_ends(stock)] or [unknown, unknown]
    share = linked(f"{plain(NINETY * PERCENT, 0)} %", Figure("range_share", NINETY, "1", origins=(ASKED,)))
    return tuple(
        (stock.name, say(f"evidence.wrong.{what}", share=share), ends[0], tonnes(stock.whole), ends[1])
        for what, ends in (("sample", sample), ("equation", equation))
    )


def _words(stock: TreeStock) -> Iterator[str]:
    trees, n = counts(stock)
    if stock.error.value is None:
        yield say("evidence.wrong.one_stem", planting=stock.name)
    else:
        error = linked(f"{stock.error.value:.1f}", stock.error)
        yield say("evidence.wrong.sampled", planting=stock.name, measured=n, trees=trees, error=error)
    if stock.scatter is not None:
        scatter = linked(f"{stock.scatter.value:.2f}", stock.scatter)
        group = linked(group_words(stock.scatter.about), stock.scatter)
        yield say("evidence.wrong.scatter", planting=stock.name, scatter=scatter, group=group)
    else:
        yield say("evidence.wrong.no_scatter", planting=stock.name)


def equation_ends(stock: TreeStock) -> tuple[Figure, ...]:
    """Return what all trees would hold were each as far off as nine in ten single trees are. [t CO2]"""
    if stock.scatter is None or stock.scatter.value is None or stock.whole.value is None:
        return ()
    factors = wood.equation_range(stock.scatter.value, NINETY)
    signs, parts = ("−", "+"), (stock.whole, stock.scatter)
    return tuple(
        Figure(
            name, stock.whole.value * factor, "t CO2", parts=parts, about=stock.planting,
            formula=f"{stock.whole.value:.4g} × e^({sign}1.645 × {stock.scatter.value:.3g})",
        )
        for name, factor, sign in zip(("equation_low", "equation_high"), factors, signs, strict=True)
    )  # fmt: skip


def choices_section(farm: Farm, book: CarbonBook) -> Section:
    """Return what other equations, groups, root shares and carbon shares would make of each stock."""
    lines = [say("evidence.could_be.how")]
    if book.stocks:
        lines.append(share_words(farm))
    for stock, (_, moved) in zip(book.stocks, book.changes, strict=True):
        found = list(change_words(stock, moved))
        lines += [say("evidence.could_be.of", planting=stock.name, change=line) for line in found]
    return Section("could_be", say("evidence.head.could_be"), tuple(lines))


def tonnes(figure: Figure) -> str:
    """Return a figure in tonnes to one decimal, linked."""
    return linked(true_minus(f"{figure.value:.1f}"), figure)


def equation_text(farm: Farm, planting: Planting) -> tuple[str, str]:
    """Return a planting's equation as it is printed, and the name of its group."""
    line = tree_mass.equation_of(farm, planting)
    equation = true_minus(f"exp({line['b0']} + {line['b1']} ln dbh)")
    return equation, equation_words(f"{line['set']}, {line['group']}")
