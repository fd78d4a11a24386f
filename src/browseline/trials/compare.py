"""Designs in one table under common assumptions, and the assumption that would turn their order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np

from browseline.chain.keep import content_key
from browseline.chain.kept_page import kept_page, page_key
from browseline.chain.years_ahead import MEMBERS
from browseline.errors import BadInput, finding
from browseline.figures import Figure
from browseline.ledger.account import Account
from browseline.trials.assumptions import Assumption, assumptions
from browseline.trials.designs import laid_out, locks_of
from browseline.trials.differs import Differs, differs_of
from browseline.trials.flip import Flip, flips_of
from browseline.trials.lands import BY, By, Land, alike, chosen, first_of, lands_of, value_of
from browseline.trials.table import Column, Rows, table_of
from browseline.trials.told import BY_YEARS, amount_of, span_words
from browseline.units import factor
from browseline.words import joined, linked, list_words, say

SCHEMA = "browseline/compare/1"
LEAST = 2
REACHED = 1e-9
PERCENT = factor("1", "%")


@dataclass(frozen=True)
class ComparePage(Account):
    """Designs side by side.

    ``order`` are the designs' names by their mean, the best first; ``in_futures`` is the share of members
    in which the first is best. ``flip`` is None where no single assumption within its range turns the order.
    """

    less_head: tuple[str, ...] = ()
    less_rows: Rows = ()
    designs: tuple[str, ...] = ()
    by: str = ""
    order: tuple[str, ...] = ()
    in_futures: float | None = None
    flip: Flip | None = None
    tried: tuple[str, ...] = ()
    differs: tuple[Differs, ...] = ()


def compare(
    folder: Path,
    wanted: Sequence[str],
    now: datetime,
    *,
    locks: Sequence[str] = (),
    years: int | None = None,
    members: int = MEMBERS,
    by: By | None = None,
) -> ComparePage:
    """Return designs in one table.

    Parameters
    ----------
    folder : Path
        The farm whose ``designs/`` are meant.
    wanted : sequence of str
        Paths of farm folders, ids of designs, or *here*. All take luck, weather, prices, factors and rules of
        the first.
    locks : sequence of str
        Edits that are made in every design.
    by : str, optional
        What they are put in order by; by default what they are worth today, else the feed they grow.

    Raises
    ------
    BadInput
        If there are fewer than two, or one cannot be used.
    """
    if len(wanted) < LEAST:
        raise BadInput([finding("trials.too_few", list_words(wanted) or "compare")])
    common = (*locks_of(folder).edits, *locks)
    with laid_out(folder, wanted, now, locks) as designs:
        own = [(d.id, d.name, d.note, d.edits, page_key(d.folder, now)) for d in designs]
        key = content_key(SCHEMA, own, common, years, members, by)
        return kept_page(
            "compare", key, lambda: _page(lands_of(designs, now, years, members), by, common),
            ComparePage, (Flip, Differs),
        )  # fmt: skip


def _page(lands: Sequence[Land], by: By | None, locks: Sequence[str]) -> ComparePage:
    farm = lands[0].start.farm
    ordered = chosen(lands, by)
    columns = [Column(land.design.name, land.measures()) for land in lands]
    table = table_of(columns, farm.units, "trials.compare.less")
    values = [value_of(column.measures, ordered) for column in columns]
    first = first_of(values) if not alike(values) else None
    given = assumptions(farm)
    turns = flips_of(lands, ordered, first, given) if first is not None else ()
    flips = sorted(turns, key=lambda one: one.far)
    known = [v for v in values if v is not None]
    share = None
    order: tuple[str, ...] = ()
    if first is not None and len(known) == len(values):
        best = np.max(known, axis=0)
        share = float((known[first] >= best - REACHED).mean())
        ranked = sorted(range(len(known)), key=lambda n: -float(np.mean(known[n])))
        order = tuple(lands[n].design.name for n in ranked)
    flip = flips[0] if flips else None
    said = tuple(_told(lands, ordered, order, share, flip, given, locks))
    return ComparePage(
        SCHEMA, "compare", said, (), table.head, table.rows, table.less_head, table.less_rows,
        tuple(land.design.id for land in lands), ordered, order, share, flip,
        tuple(one.name for one in given), differs_of(table, farm.money, farm.plantings),
    )  # fmt: skip


def _with_means(lands: Sequence[Land], by: By, order: Sequence[str]) -> Iterator[str]:
    """Yield each design with the mean that it is ordered by."""
    named = {land.design.name: land for land in lands}
    for name in order:
        land, (group, measure, _) = named[name], BY[by]
        mine = [m for m in land.measures() if (m.group, m.name) == (group, measure)]
        mean = float(np.mean(np.sum([m.by_member for m in mine], axis=0)))
        about = say("trials.compare.on_average", design=name)
        formula = f"Σ ÷ {len(land.ahead.members)}"
        figure = Figure(measure, mean, mine[0].unit, origins=BY_YEARS, formula=formula, about=about)
        told = linked(amount_of(mean, mine[0].unit, lands[0].start.farm.units), figure)
        yield joined((name, " (", told, ")"))


def _by_middle(lands: Sequence[Land], by: By) -> tuple[str, ...]:
    """Return the designs' names by their middle future, the best first: as the table would order them."""
    values = [value_of(land.measures(), by) for land in lands]
    middle = [-float(np.median(v)) if v is not None else np.inf for v in values]
    return tuple(lands[n].design.name for n in sorted(range(len(lands)), key=middle.__getitem__))


def _told(
    lands: Sequence[Land], by: By, order: Sequence[str], share: float | None, flip: Flip | None,
    given: Sequence[Assumption], locks: Sequence[str],
) -> Iterator[str]:  # fmt: skip
    ahead = lands[0].ahead
    yield span_words("trials.compare.years", len(ahead.years) - 1, len(ahead.members))
    yield say("trials.compare.locked", design=lands[0].design.name)
    yield from (say("trials.compare.lock", edit=edit) for edit in locks)
    by_words = say(f"trials.compare.by.{by}")
    if rows := [p.name for p in lands[0].start.farm.plantings if p.id in lands[0].planted]:
        yield say("trials.compare.planted", plantings=list_words(rows))
    if by == "feed" and alike([value_of(land.measures(), "worth") for land in lands]):
        yield say("trials.compare.alike", by=say("trials.compare.by.worth"))
    if share is None or not order:
        same = alike([value_of(land.measures(), by) for land in lands])
        yield say("trials.compare.alike" if same else "trials.compare.no_order", by=by_words)
        return
    yield say("trials.compare.order", by=by_words, designs=list_words(_with_means(lands, by, order)))
    if order != _by_middle(lands, by):
        yield say("trials.compare.middle")
    formula = say("decades.formula", members=str(len(ahead.members)))
    often = Figure("ahead_share", share, "1", origins=BY_YEARS, formula=formula, about=order[0])
    yield say("trials.compare.share", design=order[0], share=linked(f"{share * PERCENT:.0f} %", often))
    names = list_words(dict.fromkeys(one.name for one in given))
    if flip is None:
        yield say("trials.compare.no_flip", tried=names)
    else:
        fields = {"assumption": flip.assumption, "was": flip.was, "then": flip.then, "design": flip.first}
        yield say("trials.compare.flip", **fields)
        yield say("trials.compare.tried", tried=names)
    yield from (
        say("trials.brief.note", design=land.design.name, note=land.design.note)
        for land in lands
        if land.design.note
    )
