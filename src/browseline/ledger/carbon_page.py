"""The page of the carbon book: what trees hold and how wrong it may be, gases by line, soil, doubts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from browseline.events import Event
from browseline.farm.herd_words import animals_words
from browseline.farm.names import label
from browseline.farm.records import Farm
from browseline.figures import Figure, Origin
from browseline.ledger.account import Account, dated
from browseline.ledger.carbon import KG_T, BookLine, CarbonBook, Flock, carbon_book
from browseline.ledger.equation_words import equation_words, group_words
from browseline.ledger.facts import counted
from browseline.ledger.intensity import ByKilogram, by_kilogram
from browseline.ledger.star import Star, herd_star
from browseline.ledger.tree_carbon import NINETY, Change, TreeStock, carbon_figure
from browseline.limits import Scene
from browseline.units import factor, plain, true_minus
from browseline.words import joined, linked, list_words, say

PERCENT = factor("1", "%")
ASKED = Origin("common_practice", "", "common-practice")
"""Ninety in a hundred is the range that buyers ask for."""


@dataclass(frozen=True)
class CarbonPage(Account):
    """The page of the carbon book, the book, GWP* of the herd, and on request gases by kilogram sold."""

    book: CarbonBook | None = None
    star: Star | None = None
    a_kg: tuple[ByKilogram, ...] = ()


def carbon_account(scene: Scene, events: Iterable[Event], *, per_kg: bool = False) -> CarbonPage:
    """Return the page of the carbon book.

    Parameters
    ----------
    per_kg : bool
        Whether lines of animals are told by kilogram of live weight sold as well.
    """
    book, star = carbon_book(scene, events), herd_star(scene)
    a_kg = by_kilogram(scene, events, book) if per_kg else ()
    told = [*_told(scene, book, star), *(_kilogram_words(a_kg) if per_kg else ())]
    figures = tuple(f for one in book.stocks for f in (one.whole, one.above, one.mean, one.error))
    figures += tuple(figure for flock in book.flocks for _, figure in flock.by_metric)
    head = tuple(say(f"carbon.head.{c}") for c in ("year", "line", "about", "gas", "amount", "warming"))
    return CarbonPage(
        "browseline/carbon/1", "carbon", tuple(told), figures, head, tuple(book_rows(book)), book, star, a_kg
    )


# ---------------------------------------------------------------- the table


def book_rows(book: CarbonBook) -> Iterator[tuple[str, ...]]:
    """Yield the lines of every year as rows of words; there is no row of sums."""
    for year in book.years:
        for line in year.lines:
            yield _row(year.year, line)


def _row(year: int, line: BookLine) -> tuple[str, ...]:
    amount, warm = line.gas.amount, line.co2e
    none = say("carbon.no_factor")
    return (
        f"{year}", say(f"carbon.line.{line.gas.line}"), animals_words(line.gas.about), line.gas.gas,
        linked(f"{plain(amount.value or 0.0)} kg", amount) if amount is not None else none,
        linked(f"{plain((warm.value or 0.0) * KG_T, 3)} t", warm) if warm is not None else none,
    )  # fmt: skip


# ---------------------------------------------------------------- the sentences


def _told(scene: Scene, book: CarbonBook, star: Star | None) -> Iterator[str]:
    for stock, (_, moved) in zip(book.stocks, book.changes, strict=True):
        yield from stock_words(stock)
        yield share_words(scene.farm)
        yield from change_words(stock, moved)
    if book.unmeasured:
        yield say("carbon.unmeasured", plantings=list_words(book.unmeasured))
    for flock in book.flocks:
        yield from flock_words(flock)
    yield say("carbon.never_netted")
    yield from soil_words(scene, book)
    yield say(
        "carbon.factors", edition=book.edition, region=book.region, climate=book.climate, metric=book.metric
    )
    if book.outside:
        yield say("carbon.outside", what=list_words(book.outside))
    yield from star_words(star)
    yield from _hand_over(scene, book)
    yield say("carbon.disclaimer")


def _tonnes(figure: Figure) -> str:
    return linked(true_minus(f"{figure.value:.1f}"), figure)


def span_words(stock: TreeStock) -> str:
    """Return the 90 % range of a stock, of the sample alone, or that one stem tells none."""
    if stock.ends is None:
        return say("carbon.no_range")
    share = linked(f"{plain(NINETY * PERCENT, 0)} %", Figure("range_share", NINETY, "1", origins=(ASKED,)))
    return say("carbon.range", share=share, low=_tonnes(stock.ends[0]), high=_tonnes(stock.ends[1]))


def counts(stock: TreeStock) -> tuple[str, str]:
    """Return the live trees and the stems measured as linked numbers."""
    stems = stock.stems
    measured = counted("stems_measured", float(len(stems.dbh_cm)), "trees", about=stock.planting)
    alive = counted("trees_alive", float(stems.trees), "trees", about=stock.planting)
    return linked(f"{stems.trees}", alive), linked(f"{len(stems.dbh_cm)}", measured)


def stock_words(stock: TreeStock) -> Iterator[str]:
    """Yield what a planting holds, its mean tree with its error, and what the errors leave out."""
    stems, name = stock.stems, stock.name
    trees, measured = counts(stock)
    yield say(
        "carbon.stock", planting=name, trees=trees, measured=measured, day=dated(stems.day),
        whole=_tonnes(stock.whole), range=span_words(stock), above=_tonnes(stock.above),
    )  # fmt: skip
    mean = linked(f"{stock.mean.value:.1f} kg", stock.mean)
    group = linked(group_words(stock.equation), stock.mean)
    if stock.error.value is not None:
        error = linked(f"{stock.error.value:.1f}", stock.error)
        yield say("carbon.mean", planting=name, mean=mean, error=error, group=group)
    else:
        yield say("carbon.mean_alone", planting=name, mean=mean, group=group)
    short = stock.by_mean_stem
    if (short.value or 0.0) > 0:
        yield say("carbon.mean_stem", share=linked(f"{100 * (short.value or 0.0):.1f} %", short))
    if stock.scatter is not None:
        yield say("carbon.scatter", scatter=linked(f"{stock.scatter.value:.2f}", stock.scatter))
    if stock.a_year is not None:
        yield say("carbon.a_year", amount=linked(f"{stock.a_year.value:.2f}", stock.a_year))


def share_words(farm: Farm) -> str:
    """Return which share of carbon in dry wood is taken, and by whose choice."""
    used = carbon_figure(farm)
    chosen = "named" if farm.carbon.carbon_share else "default"
    case = linked(used.about, used.origins[-1])
    return say(f"carbon.share.{chosen}", share=linked(f"{used.value:g}", used), case=case)


def change_words(stock: TreeStock, moved: tuple[Change, ...]) -> Iterator[str]:
    """Yield what other choices make of a stock, and whether they outweigh the sampling."""
    for change in moved:
        share = change.share.value or 0.0
        percent = linked(true_minus(f"{100 * share:+.0f} %"), change.share)
        taken = change.taken
        case = linked(equation_words(change.case), (taken or change.mean).origins[-1])
        fields = {} if taken is None else {"taken": linked(f"{taken.value:g}", taken)}
        yield say(
            f"carbon.change.{change.what}", case=case, mean=linked(f"{change.mean.value:.1f}", change.mean),
            whole=_tonnes(change.whole), share=percent, **fields,
        )  # fmt: skip
    if stock.ends is None:
        return
    low, high = (end.value or 0.0 for end in stock.ends)
    others = [c.whole.value or 0.0 for c in moved if c.what == "set"]
    if others and all(low <= other <= high for other in others):
        yield say("carbon.sets_agree")
    half = (high - low) / 2
    wide = [
        c
        for c in moved
        if c.what != "set" and abs((c.whole.value or 0.0) - (stock.whole.value or 0.0)) > half
    ]
    if wide:
        yield say("carbon.outweigh")


def flock_words(flock: Flock) -> Iterator[str]:
    """Yield the methane of the animals of a kind, by the metric in use and by others."""
    kind = label("kind", flock.kind)
    if not flock.by_metric:
        yield say("carbon.no_methane", kind=kind)
        return
    name, figure = flock.by_metric[0]
    head = linked(f"{flock.head.value:.0f}", flock.head)
    yield say("carbon.flock", head=head, kind=kind, amount=_tonnes(figure), metric=name)
    if flock.young is not None and flock.young_head is not None:
        young = linked(f"{flock.young_head.value:.0f}", flock.young_head)
        yield say("carbon.flock_young", kind=kind, head=young)
    beside = [
        say("carbon.by_metric", amount=_tonnes(other), metric=metric) for metric, other in flock.by_metric[1:]
    ]
    if beside:
        yield say("carbon.beside", amounts=joined(beside, "; "))


def star_words(star: Star | None) -> Iterator[str]:
    """Yield GWP* of the herd: the first year that can be told, and what this year could be."""
    yield say("carbon.star")
    if star is None:
        return
    yield say(
        "carbon.star_then", first=_year(star.first), recorded=_year(star.recorded), then=_we(star.then),
        yearly=_tonnes(star.yearly),
    )  # fmt: skip
    yield say("carbon.star_now", new=_we(star.new), steady=_we(star.steady))


def _year(figure: Figure) -> str:
    return linked(f"{figure.value:.0f}", figure)


def _we(figure: Figure) -> str:
    return linked(plain(figure.value or 0.0, 1), figure)


def _kilogram_words(a_kg: tuple[ByKilogram, ...]) -> Iterator[str]:
    """Yield gases by kilogram sold, a line each, never added up and never less what trees took."""
    if not a_kg:
        yield say("carbon.per_kg.none")
        return
    yield say("carbon.per_kg.how")
    for one in a_kg:
        kind, line = label("kind", one.kind), say(f"carbon.line.{one.line}")
        if one.a_kg is None:
            yield say("carbon.per_kg.unknown", year=_year(one.year_figure), kind=kind, line=line)
        else:
            amount = linked(plain(one.a_kg.value or 0.0, 2), one.a_kg)
            yield say("carbon.per_kg.line", year=_year(one.year_figure), kind=kind, line=line, amount=amount)


def soil_words(scene: Scene, book: CarbonBook) -> Iterator[str]:
    """Yield what two like samplings of soil say; without them, that nothing is claimed."""
    for change in book.soil:
        paddock = scene.paddock(change.paddock)
        yield say(
            "carbon.soil_change", paddock=paddock.name if paddock else change.paddock,
            amount=linked(plain(change.change.value or 0.0, 1), change.change),
            first=dated(change.first.day), last=dated(change.last.day),
            depth=linked(change.first.depth, change.change),
        )  # fmt: skip
    changed = {change.paddock for change in book.soil}
    once = sorted({sample.paddock for sample in book.samples} - changed)
    if once:
        yield say("carbon.soil_once", paddocks=list_words(once))
    elif not book.soil:
        yield say("carbon.soil_none")
    yield say("carbon.soil_doubt")


def _hand_over(scene: Scene, book: CarbonBook) -> Iterator[str]:
    """Yield what goes along to whoever asks for evidence; nothing to hand over without trees."""
    if not book.stocks:
        return
    yield say("carbon.hand_over")
    rules = scene.farm.carbon
    yield say("carbon.owner", owner=rules.owner) if rules.owner else say("carbon.no_owner")
    yield say("carbon.paid", paid=rules.paid) if rules.paid else say("carbon.no_paid")
    yield say("carbon.could_kill")
