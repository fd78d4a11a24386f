"""The lender pack: fifteen years of a money plan, the worst first, everything that it rests on beside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from browseline.chain.look import Picture
from browseline.errors import BadInput, finding
from browseline.farm.accounts import MoneyPlan
from browseline.figures import Figure, Origin, money_words
from browseline.ledger.drawn import Drawn
from browseline.ledger.money import MoneyYear, Outlook, unsigned
from browseline.ledger.money_drawn_told import answer_words, spread_words, year_told
from browseline.ledger.money_page import MoneyPage, money_account
from browseline.ledger.money_told import (
    discount_words,
    followed_words,
    loan_words,
    moved_words,
    own_words,
    wanted_figure,
    worst_words,
)
from browseline.ledger.money_words import (
    BASE,
    DOWNSIDE,
    case_words,
    cover_words,
    dated_words,
    percent_words,
    runs_words,
    year_words,
)
from browseline.papers.lender_assume import assumptions, tree_words, unknown_words
from browseline.papers.lender_form import SCHEMA, Drawing, Group, LenderPack, Line, Rows, Table
from browseline.words import day_words, linked, list_words, say

DASHES = ("solid", "dashed", "dotted")
"""How the base, the downside and bad decades are drawn."""
BOTH = (BASE, DOWNSIDE)
YEAR = ("available", "coverage", "beside", "cash", "total")
FACTS = ("least", "below", "deepest", "from", "worth", "end", "rate")


def lender_pack(picture: Picture, given: Drawn, off: Sequence[str] = ()) -> LenderPack:
    """Return the pack.

    Parameters
    ----------
    given : Drawn
        The futures of the plan, and what the decades give its lines.
    off : sequence of str
        Ids of knocks that are switched off.

    Raises
    ------
    BadInput
        If the farm has no money plan.
    """
    farm = picture.farm
    plan = farm.money
    if plan is None:
        raise BadInput([finding("papers.no_money", "farm.toml")])
    page = money_account(picture.scene, picture.events, off, given)
    two = [case for case in page.cases if case.name in BOTH]
    bad = [case for case in page.cases if case.name not in BOTH]
    at = picture.scene.local(picture.now)
    day = f"{day_words(at.date())} {at.year}"
    printed = say("lender.printed", farm=farm.name, day=day, time=f"{at:%H:%M}")
    return LenderPack(
        SCHEMA, farm.name, farm.units, at, printed, _title(plan),
        asked=tuple(_asked(plan, page)), covers=say("money.covers"),
        first=tuple(_first(plan, page)), cases=_facts(plan, page.cases), years=_years(plan, two),
        bad_years=_years(plan, bad), switches=_switches(page), change=tuple(_change(plan, page)),
        drawn=tuple(_drawn(plan, page)), drawn_years=_futures(page),
        assumptions=assumptions(plan, given), notes=tuple(_notes(picture, plan, page, given)),
        trees=tuple(tree_words(picture)), not_known=tuple(unknown_words(plan)),
        record=tuple(_record(page)), disclaimer=say("lender.disclaimer"), drawing=_drawing(plan, page),
    )  # fmt: skip


def _title(plan: MoneyPlan) -> str:
    years = Figure("plan_years", float(plan.years), "yr", origins=(Origin("farm"),), typed=f"{plan.years}")
    return say("lender.title", years=linked(f"{plan.years}", years))


def _asked(plan: MoneyPlan, page: MoneyPage) -> Iterator[str]:
    """Yield what the lender is asked for."""
    if plan.lender:
        yield say("lender.for", lender=plan.lender)
    yield from loan_words(plan, page.cases[0])
    if plan.pledged:
        yield say("lender.pledged", what=plan.pledged)


def _first(plan: MoneyPlan, page: MoneyPage) -> Iterator[str]:
    """Yield the worst of every case, the worst case first, then how often the draws fall short."""
    for case in sorted(page.cases, key=_depth):
        yield from worst_words(plan, case)
    if page.spread is not None and page.spread.uncovered is not None:
        yield from list(spread_words(plan, page.spread, ()))[:1]


def _depth(case: Outlook) -> tuple[float, float]:
    """Return how bad a case is: its deepest hole, then its least coverage."""
    covered = case.worst.coverage
    return case.deepest.total.value or 0.0, (covered.value or 0.0) if covered is not None else 0.0


# ---------------------------------------------------------------- tables


def _facts(plan: MoneyPlan, cases: Sequence[Outlook]) -> Table:
    """Return the cases side by side in a few numbers."""
    head = ("", *(case_words(case.name) for case in cases))
    names = [
        say(f"lender.fact.{name}", wanted=_wanted(plan), discount=discount_words(plan)) for name in FACTS
    ]
    columns = [_case_facts(plan, case) for case in cases]
    return Table(head, tuple((name, *cells) for name, *cells in zip(names, *columns, strict=True)))


def _wanted(plan: MoneyPlan) -> str:
    figure = wanted_figure(plan)
    return linked(f"{figure.value:g}", figure)


def _case_facts(plan: MoneyPlan, case: Outlook) -> list[str]:
    worst, deep = case.worst, case.deepest
    wanted = wanted_figure(plan).value or 1.0
    thin: list[tuple[int, Figure]] = [
        (year.year, year.coverage)
        for year in case.years
        if year.coverage is not None and (year.coverage.value or 0.0) < wanted
    ]
    least = say("lender.in_year", what=cover_words(worst.coverage), year=year_words(worst.year, worst.cash))
    hole = say("lender.in_year", what=money_words(deep.total), year=year_words(deep.year, deep.total))
    back = case.payback
    rate = case.rate_of_return
    return [
        least, list_words(runs_words(thin)) or say("lender.none"), hole,
        linked(f"{back.value:.0f}", back) if back is not None else say("lender.never"),
        money_words(case.worth), money_words(case.end),
        percent_words(rate) if rate is not None else say("lender.no_rate"),
    ]  # fmt: skip


def _years(plan: MoneyPlan, cases: Sequence[Outlook]) -> Table:
    """Return every year of some cases: what the loans take, then each case's four numbers."""
    if not cases:
        return Table()
    heads = [say(f"money.head.{what}") for _ in cases for what in YEAR]
    head = (say("money.head.year"), say("money.head.payment"), *heads)
    groups = (Group("", 2), *(Group(case_words(case.name), len(YEAR)) for case in cases))
    rows: list[tuple[str, ...]] = []
    for n, first in enumerate(cases[0].years):
        year = dated_words(first.year, first.calendar, first.cash)
        rows.append((year, money_words(first.payment), *_cells(cases, n)))
    return Table(head, tuple(rows), groups)


def _cells(cases: Sequence[Outlook], n: int) -> Iterator[str]:
    for case in cases:
        year: MoneyYear = case.years[n]
        yield from (
            money_words(year.available), cover_words(year.coverage), money_words(year.beside),
            money_words(year.cash), money_words(year.total),
        )  # fmt: skip


def _futures(page: MoneyPage) -> Table:
    """Return the table of the draws, coverage, cash left and money in hand each with its three ends."""
    if not page.spread_rows:
        return Table()
    ends = [say(f"money.head.{end}") for end in ("low", "middle", "high")]
    groups = (Group("", 1), *(Group(say(f"money.head.{what}"), 3) for what in ("coverage", "cash", "total")))
    return Table((say("money.head.year"), *ends * 3), page.spread_rows, groups)


def _switches(page: MoneyPage) -> Table:
    head = tuple(say(f"lender.switch.{column}") for column in ("case", "what", "state"))
    rows: Rows = tuple(
        (
            switch.decade or case_words(DOWNSIDE),
            switch.name,
            say(f"lender.switch.{'on' if switch.on else 'off'}"),
        )
        for switch in page.switches
    )
    return Table(head, rows)


# ---------------------------------------------------------------- sentences


def _change(plan: MoneyPlan, page: MoneyPage) -> Iterator[str]:
    for asked in page.asked:
        yield from answer_words(plan, asked.case, asked.answer)
    yield from moved_words(page.break_even, page.movers)


def _drawn(plan: MoneyPlan, page: MoneyPage) -> Iterator[str]:
    if page.spread is None:
        yield say("money.drawn.none")
    else:
        yield from spread_words(plan, page.spread, page.widest)


def _notes(picture: Picture, plan: MoneyPlan, page: MoneyPage, given: Drawn) -> Iterator[str]:
    """Yield what the numbers rest on beside the lines, and what is in no sum."""
    yield say("money.guesses")
    yield from followed_words(plan, given)
    main = next((case for case in page.cases if case.name == DOWNSIDE), page.cases[0])
    yield from own_words(picture.scene, plan, main)
    yield from (say("money.unsigned", line=line) for line in unsigned(plan))
    yield say("lender.before_tax")
    yield say("lender.marks")


def _record(page: MoneyPage) -> Iterator[str]:
    if page.under_way is not None:
        yield from year_told(page.under_way, page.cases[0])
    if not page.on_record:
        yield say("lender.no_record")
    for figure in page.on_record:
        key = "money.came_in" if figure.name == "money_in" else "money.went_out"
        yield say(key, year=figure.about, amount=money_words(figure, 2))


# ---------------------------------------------------------------- the chart


def _drawing(plan: MoneyPlan, page: MoneyPage) -> Drawing:
    lines = tuple(
        Line(
            case_words(case.name), DASHES[min(n, len(DASHES) - 1)],
            tuple(year.total.value or 0.0 for year in case.years),
            tuple(year.coverage.value if year.coverage is not None else None for year in case.years),
        )
        for n, case in enumerate(page.cases)
    )  # fmt: skip
    spread = page.spread
    band = tuple((year.total.low or 0.0, year.total.high or 0.0) for year in spread.years) if spread else ()
    years = tuple(year.calendar for year in page.cases[0].years)
    return Drawing(years, lines, band, wanted_figure(plan).value or 1.0, plan.currency)
