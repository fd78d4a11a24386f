"""What the lender pack rests on: every line with its numbers and marks, the trees, what is not known."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from browseline.chain.look import Picture
from browseline.farm.accounts import MoneyLine, MoneyPlan, Steps
from browseline.farm.names import label
from browseline.farm.site import site_notes, tree_row
from browseline.figures import BASES, Figure, Origin, weakest
from browseline.ledger.cash import counts
from browseline.ledger.drawn import RANGES, Drawn, ranges_of
from browseline.ledger.money import price_figure
from browseline.papers.lender_form import Table
from browseline.units import Quantity
from browseline.words import joined, linked, say

GUESS = (Origin("farm", basis="placeholder"),)
COLUMNS = ("line", "kind", "amount", "price", "range", "years", "mark", "note")
LEASE = ("lease", "lease_maybe", "lease_unknown")
UNKNOWN = ("opening", "income", "living", "tax", "inflation", "appraisal", "debts", "insurance", "history")
"""What a bank asks beside the plan and no farm's file holds."""


def assumptions(plan: MoneyPlan, given: Drawn) -> Table:
    """Return every line with how much, its price, its range, its years, the mark of its number, its note."""
    head = tuple(say(f"lender.assume.{column}") for column in COLUMNS)
    return Table(head, tuple(tuple(_row(plan, line, given)) for line in plan.lines))


def _row(plan: MoneyPlan, line: MoneyLine, given: Drawn) -> Iterator[str]:
    yield line.name
    kind = say(f"lender.kind.{line.kind}")
    yield kind if counts(line) else say("lender.kind.unsigned", kind=kind)
    yield _amount_words(line, given)
    price = linked(line.price.text, price_figure(line.name, line.price, "line_price"))
    less = ""
    if line.less is not None:
        less = linked(line.less.text, price_figure(line.name, line.less, "line_less"))
    yield say("lender.price_less", price=price, less=less) if less else price
    ranges = [_range_words(line, what, said) for what, said in ranges_of(plan, line).items()]
    yield joined(ranges, "; ") or say("lender.no_range")
    yield _years_words(plan, line)
    yield _mark(line, given)
    yield line.note


def _mark(line: MoneyLine, given: Drawn) -> str:
    """Return the marks of how much and of the price: a signed contract is no guess, a price ahead is one."""
    followed = given.follows.get(line.id)
    much = weakest(BASES[one.basis] for one in followed.origins) if followed is not None else "G"
    return say("lender.mark", much=much, price="M" if line.signed is not None else "G")


def _amount_words(line: MoneyLine, given: Drawn) -> str:
    """Return how many and how much each, as typed, or what they follow."""
    each = _steps_words(line, "line_each", line.each)
    if line.id in given.follows:
        means = given.follows[line.id]
        what = say("lender.follows", what=line.follows, unit=means.unit)
        return what if line.each == ((1, 1.0),) else joined((what, each), " × ")
    count = _steps_words(line, "line_count", line.count)
    return count if line.each == ((1, 1.0),) else joined((count, each), " × ")


def _steps_words(line: MoneyLine, name: str, steps: Steps) -> str:
    """Return numbers by the years from which they hold, each linked."""
    words = []
    for year, number in steps:
        figure = Figure(name, number, "1", origins=GUESS, about=f"{line.name}, year {year}")
        said = linked(f"{number:,.10g}", figure)
        words.append(
            said if year == 1 else say("lender.from_year", number=said, year=linked(f"{year}", figure))
        )
    return joined(words, ", ")


def _range_words(line: MoneyLine, what: str, said: Quantity) -> str:
    figure = Figure(RANGES[what], said.to("1"), "1", origins=GUESS, about=line.name, typed=said.text)
    return say(f"lender.range.{what}", range=linked(said.text, figure))


def _years_words(plan: MoneyPlan, line: MoneyLine) -> str:
    """Return the years of a line, or its one day."""
    if line.due is not None:
        return say("lender.on_day", day=line.due.isoformat())
    last = line.to_year or plan.years
    ends = [
        linked(f"{year}", Figure("line_years", float(year), "yr", origins=(Origin("farm"),), about=line.name))
        for year in (line.from_year, last)
    ]
    return ends[0] if line.from_year == last else say("money.run", first=ends[0], last=ends[1])


# ---------------------------------------------------------------- trees, land, what is not known


def tree_words(picture: Picture) -> Iterator[str]:
    """Yield when plantings bear first, leases that end before, and who owns the trees."""
    farm = picture.farm
    if not farm.plantings:
        yield say("lender.no_trees")
        return
    yield from (_bears(planting.name, planting.species, planting.planted) for planting in farm.plantings)
    cautions = [note.words for note in site_notes(farm) if note.kind in LEASE]
    yield from cautions
    leases = [promise for promise in farm.promises if promise.kind == "lease"]
    if not leases:
        yield say("lender.no_lease")
    elif not cautions:
        yield say("lender.lease_clear")
    owner = farm.carbon.owner
    yield say("lender.owner", owner=owner) if owner else say("lender.no_owner")


def _bears(name: str, species: str, planted: int | None) -> str:
    """Return from which years a planting bears, by the table of its species."""
    row: Mapping[str, str] = tree_row(species)
    low, high = row.get("first_bearing_low_yr", ""), row.get("first_bearing_high_yr", "")
    kind = label("species", species)
    if planted is None or not low or not high:
        return say("lender.bears_unknown", planting=name, species=kind)
    basis = row.get("bearing_basis") or row.get("basis") or "placeholder"
    origin = Origin(row.get("bearing_source") or row.get("source", ""), "bearing", basis)  # type: ignore[arg-type]
    figure = Figure(
        "first_bearing", None, "yr", float(low), float(high), (origin,),
        f"{planted} + {low} to {planted} + {high}", about=name,
    )  # fmt: skip
    years = (linked(f"{planted + int(end)}", figure) for end in (low, high))
    return say(
        "lender.bears", planting=name, species=kind, first=next(years), last=next(years), mark=figure.mark
    )


def unknown_words(plan: MoneyPlan) -> Iterator[str]:
    """Yield what a lender will ask and this paper does not hold."""
    if not plan.pledged:
        yield say("lender.unknown.pledged")
    yield from (say(f"lender.unknown.{what}") for what in UNKNOWN)
