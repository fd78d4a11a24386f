"""Trees looked at: shares with their intervals, and the rate of biting that looks on this farm teach."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from browseline import tables
from browseline.farm.needs import demand
from browseline.farm.records import Planting
from browseline.figures import Figure, Origin
from browseline.record.state import HeadLine, State, Stay, TreeLook
from browseline.science.draws import normal
from browseline.science.shares import rate_learnt, score_interval
from browseline.units import factor

INTERVAL = 0.90
TAIL = 0.10
DAY = timedelta(days=1)
ANY = "any kind"


def tree_shares(seen: int, found: int, name: str, about: str = "") -> Figure:
    """Return the share of trees found so, with its 90 % interval. [1]"""
    z = float(normal(np.array([(1 + INTERVAL) / 2]))[0])
    low, high = score_interval(found, seen, z)
    origin = Origin("farm", basis="farm")
    return Figure(
        name, found / seen, "1", low, high, origins=(origin,), formula=f"{found} ÷ {seen}", about=about
    )


@dataclass(frozen=True, slots=True)
class StayLook:
    """The last look at a planting in one stay of a mob: what was new, after how many days, by how many.

    ``eating_kg_d`` is what the mob ate a day then; None if not known.
    """

    look: TreeLook
    stay: Stay
    days: float
    fresh: float
    kinds: tuple[str, ...]
    eating_kg_d: float | None

    @property
    def share(self) -> float:
        """Return the share of trees bitten or barked that the look found, whichever is more. [1]"""
        return max(self.look.bitten or 0, self.look.barked or 0) / self.look.seen


def looks_at(state: State, planting: Planting) -> list[TreeLook]:
    """Return the looks at a planting in order of time; a look at its paddock without a name counts."""
    found = [
        look
        for look in state.looks
        if look.seen > 0
        and (look.planting == planting.id or (not look.planting and look.paddock == planting.paddock))
    ]
    return sorted(found, key=lambda look: (look.at.end, look.event))


def stay_looks(state: State, planting: Planting) -> list[StayLook]:
    """Return the last look of every stay in the planting's paddock in which somebody looked.

    What an earlier stay of the same year had left bitten is taken off: it is not bitten again.
    """
    looks = looks_at(state, planting)
    out: list[StayLook] = []
    for stay in state.stays:
        if stay.planned or stay.place.split("/")[0] != planting.paddock:
            continue
        end = stay.end.end if stay.end is not None else state.at
        within = [look for look in looks if stay.begin.start < look.at.end <= end]
        if not within:
            continue
        last = within[-1]
        before = [
            look for look in looks if look.at.end <= stay.begin.start and look.at.end.year == last.at.end.year
        ]
        old = (before[-1].bitten or 0) / before[-1].seen if before else 0.0
        fresh = max((last.bitten or 0) - old * last.seen, 0.0)
        lines = lines_at(state, stay.mob, stay.begin.end)
        needs = demand(lines)
        kinds = tuple(dict.fromkeys(line.kind for line in lines))
        days = (last.at.end - stay.begin.start) / DAY
        out.append(StayLook(last, stay, days, fresh, kinds, needs.value if needs is not None else None))
    return out


def lines_at(state: State, mob: str, at: datetime) -> tuple[HeadLine, ...]:
    """Return who was in a mob at an instant."""
    logged = [(when, lines) for when, name, lines in state.heads if name == mob and when <= at]
    if logged:
        return max(logged, key=lambda entry: entry[0])[1]
    known = state.mob(mob)
    return known.lines if known is not None else ()


def book_rate(kind: str) -> Figure | None:
    """Return the published share of trees bitten a year, spread over the days among trees. [1/d]"""
    if kind not in tables.applies("browsing", "bitten_a_year"):
        return None
    year = tables.row("browsing", "bitten_a_year", kind)
    days = tables.row("browsing", "grazed_among_trees", ANY)
    share = factor(year.unit, "1")
    low, high = (share * (x if x is not None else year.middle()) for x in (year.low, year.high))
    return Figure(
        "bites_a_day", share * year.middle() / days.middle(), "1/d",
        low / days.middle(), high / days.middle(),
        formula=f"{year.middle():g} % ÷ {days.middle():g} d",
        parts=(year.figure("bitten_a_year", kind), days.figure("grazed_among_trees")), about=kind,
    )  # fmt: skip


def taught_rate(
    looks: list[StayLook], planting: Planting, kind: str, eating_kg_d: float | None,
    risk: Figure | None = None,
) -> Figure | None:  # fmt: skip
    """Return the share of trees that a kind bites in a day, as the book says and this farm's looks teach.

    Looks at a bigger or hungrier mob count for fewer tree-days, at a smaller one for more, by what the
    mob ate then and eats now.

    Parameters
    ----------
    looks : list of StayLook
        Those of the planting, as from ``stay_looks``.
    eating_kg_d : float or None
        What the mob that stands or would stand there eats a day. [kg/d]
    risk : Figure, optional
        Times the book's rate, for a species that the kind likes. [1]
    """
    book = book_rate(kind)
    if book is None:
        return None
    prior = (book.value or 0.0) * (risk.value or 1.0 if risk is not None else 1.0)
    weight = tables.row("browsing", "book_weight", ANY)
    found, tree_days = 0.0, 0.0
    used = [s for s in looks if kind in s.kinds]
    for seen in used:
        found += seen.fresh
        tree_days += seen.look.seen * seen.days * _more(seen.eating_kg_d, eating_kg_d)
    low, mean, high = rate_learnt(prior, weight.middle(), found, tree_days, TAIL)
    parts = [book, weight.figure("book_weight"), *([risk] if risk is not None else [])]
    parts += [tree_shares(s.look.seen, s.look.bitten or 0, "bitten", planting.id) for s in used]
    formula = f"({prior:.3g} × {weight.middle():g} + {found:.3g}) ÷ ({weight.middle():g} + {tree_days:.4g} d)"
    return Figure(
        "bites_a_day", mean, "1/d", low, high, formula=formula, parts=tuple(parts), about=planting.id,
        as_of=used[-1].look.at.end.date() if used else None,
    )  # fmt: skip


def _more(then_kg_d: float | None, now_kg_d: float | None) -> float:
    """Return what the mob of a look ate over what the mob of now eats; 1 where either is not known."""
    return then_kg_d / now_kg_d if then_kg_d and now_kg_d else 1.0


def looked_limit_d(seen: StayLook, eating_kg_d: float | None) -> float:
    """Return the stay after which a look found too many bitten, shorter by as much as now eat more. [d]"""
    return seen.days * min(_more(seen.eating_kg_d, eating_kg_d), 1.0)
