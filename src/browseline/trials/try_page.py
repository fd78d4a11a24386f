"""Try it: what edits on a copy change in today's answer, in the money and in the decades; the farm stays."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from browseline.chain import Picture, Today, look, today
from browseline.chain.accounts import PAGES
from browseline.chain.today import MobPart
from browseline.figures import Figure, Origin
from browseline.ledger.account import Account
from browseline.ledger.money_page import MoneyPage
from browseline.trials.copies import scratch
from browseline.trials.decade_rows import decade_rows
from browseline.trials.edits import apply_all
from browseline.trials.told import label, less, told, told_change
from browseline.units import System
from browseline.words import joined, linked, say

SCHEMA = "browseline/try/1"
BOOKS = ("balance", "store")
"""Pages of the ledger whose numbers are set side by side, beside the money."""
Cells = tuple[str, str, str, str]
Pair = tuple[Picture, Picture]


@dataclass(frozen=True)
class TryPage(Account):
    """The page Try it. ``edits`` are those on the copy, ``same`` tells how many numbers they leave alone."""

    edits: tuple[str, ...] = ()
    same: int = 0


def try_(folder: Path, edits: Sequence[str], now: datetime, *, ahead: bool = True) -> TryPage:
    """Return what edits would change, made on a copy that is gone afterwards.

    ``ahead`` tells whether the years ahead are worked out too, which takes longer.

    Raises
    ------
    BadInput
        If an edit cannot be made, or the farm cannot be used with it.
    """
    with scratch(folder) as before, scratch(folder) as after:
        apply_all(after, edits, now)
        return try_page(look(before, now), look(after, now), edits, ahead=ahead)


def try_page(before: Picture, after: Picture, edits: Sequence[str], *, ahead: bool = True) -> TryPage:
    """Return what differs between a farm and its copy: today, books, money, decades."""
    system = before.farm.units
    rows, same = [], 0
    for cells, alike in _all_rows(before, after, system, ahead) if edits else ():
        rows += [] if alike else [cells]
        same += alike
    said = list(_sentences(edits, rows, same))
    head = tuple(say(f"trials.head.{column}") for column in ("what", "before", "after", "difference"))
    return TryPage(SCHEMA, "try", tuple(said), (), head, tuple(rows), tuple(edits), same)


def _sentences(edits: Sequence[str], rows: Sequence[Cells], same: int) -> Iterator[str]:
    yield say("trials.copy")
    if not edits:
        yield say("trials.no_edits")
    elif not rows:
        yield say("trials.nothing_changes")
    if same and edits:
        figure = Figure(
            "things_same", float(same), "1", origins=(Origin("derived_here", "counted", "derived"),)
        )
        yield say("trials.same_numbers", count=same, number=linked(f"{same}", figure))


def _all_rows(before: Picture, after: Picture, system: System, ahead: bool) -> Iterator[tuple[Cells, bool]]:
    yield from _today_rows(today(before), today(after), system)
    for name in BOOKS:
        yield from _account_rows(PAGES[name](before), PAGES[name](after), system)
    yield from _money_rows((before, after), system)
    if ahead:
        names = (say("trials.head.before"), say("trials.head.after"))
        yield from decade_rows((before, after), system, *names)


# ---------------------------------------------------------------- today


def _today_rows(before: Today, after: Today, system: System) -> Iterator[tuple[Cells, bool]]:
    was = {mob.id: mob for mob in before.mobs}
    now = {mob.id: mob for mob in after.mobs}
    for ident in dict.fromkeys([*was, *now]):
        old, new = was.get(ident), now.get(ident)
        name = (old or new).name if old or new else ident  # type: ignore[union-attr]
        first, second = _first(old), _first(new)
        yield _texts(say("trials.first_limit", mob=name), first, second)
        yield _texts(say("trials.next_place", mob=name), _next(old), _next(new))
    for name in ("still", "growing", "grass", "demand"):
        yield from _figures(getattr(before.ahead, name), getattr(after.ahead, name), system)


def _first(mob: MobPart | None) -> str:
    """Return a mob's first limit and when it bites."""
    if mob is None:
        return say("trials.none")
    if not mob.lines:
        return say("trials.no_limit")
    line = mob.lines[0]
    return joined((line.name, line.when or line.short), ": ")


def _next(mob: MobPart | None) -> str:
    return mob.next.name if mob is not None and mob.next is not None else say("trials.none")


def _texts(what: str, first: str, second: str) -> tuple[Cells, bool]:
    alike = str(first) == str(second)
    return (what, first, second, say("trials.same") if alike else say("trials.other")), alike


# ---------------------------------------------------------------- numbers


def _figures(one: Figure | None, other: Figure | None, system: System) -> Iterator[tuple[Cells, bool]]:
    known = one or other
    if known is None:
        return
    change = less(one, other)
    alike = _alike(one, other)
    yield (label(known), told(one, system), told(other, system), told_change(change, system)), alike


def _alike(one: Figure | None, other: Figure | None) -> bool:
    ends = [(f.value, f.low, f.high) if f is not None else None for f in (one, other)]
    return ends[0] == ends[1]


def _account_rows(before: Account, after: Account, system: System) -> Iterator[tuple[Cells, bool]]:
    """Yield the figures that an account names itself, those of one name and about together."""
    was, now = (_by_name(account.figures) for account in (before, after))
    for key in dict.fromkeys([*was, *now]):
        yield from _figures(was.get(key), now.get(key), system)


def _by_name(figures: Sequence[Figure]) -> dict[tuple[str, str, int], Figure]:
    out: dict[tuple[str, str, int], Figure] = {}
    for figure in figures:
        if figure.about.isdecimal():
            continue  # the balance at other ages of the trees moves as today's does
        number = sum(1 for name, about, _ in out if (name, about) == (figure.name, figure.about))
        out[figure.name, figure.about, number] = figure
    return out


def _money_rows(pair: Pair, system: System) -> Iterator[tuple[Cells, bool]]:
    """Yield the deepest hole, the worst year, what all is worth and the end, of each case."""
    was, now = (_cases(PAGES["money"](picture)) for picture in pair)
    for key in dict.fromkeys([*was, *now]):
        yield from _figures(was.get(key), now.get(key), system)


def _cases(page: Account) -> dict[tuple[str, str], Figure]:
    out: dict[tuple[str, str], Figure] = {}
    for case in page.cases if isinstance(page, MoneyPage) else ():
        out[case.name, "deepest"], out[case.name, "worst"] = case.deepest.total, case.worst.cash
        out[case.name, "worth"], out[case.name, "end"] = case.worth, case.end
    return out
