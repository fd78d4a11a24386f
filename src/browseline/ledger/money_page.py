"""The page of money: the deepest hole first, then years, futures, loans, what moves it, what is in no sum."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from browseline.events import Event
from browseline.farm.accounts import MoneyPlan
from browseline.figures import Figure, entered, money_words
from browseline.ledger.account import Account, happened
from browseline.ledger.changes import edits_of
from browseline.ledger.drawn import NOBODY, Drawn
from browseline.ledger.flip import Answer, Question, ask
from browseline.ledger.mixed import ThisYear, mixed_of, this_year
from browseline.ledger.money import Outlook, outlook, unsigned
from browseline.ledger.money_cases import Fold, cases_table, first_words, years_folds
from browseline.ledger.money_drawn_told import answer_words, other_draws, year_told
from browseline.ledger.money_told import followed_words, knock_words, loan_words, moved_words, own_words
from browseline.ledger.money_words import (
    BASE,
    DOWNSIDE,
    cover_words,
    dated_words,
    high_words,
    low_words,
    plain_cover,
)
from browseline.ledger.postings import CASH, money_entries
from browseline.ledger.sensitivity import BreakEven, Mover, break_even, movers, wideners
from browseline.ledger.spread import Spread, spread_of
from browseline.limits import Scene
from browseline.units import amount_words
from browseline.words import linked, say

__all__ = ["BASE", "DOWNSIDE", "MoneyPage", "amount_words", "cover_words", "money_account", "money_words"]
MONEY_OUT, MONEY_IN = "money_out", "money_in"
QUESTIONS: tuple[Question, ...] = ("covers", "worth")


@dataclass(frozen=True)
class Switch:
    """A knock that can be switched on or off; ``decade`` names the bad decade that it belongs to."""

    id: str
    name: str
    on: bool
    decade: str


@dataclass(frozen=True)
class Asked:
    """A question of one case with its answer and what turns it; ``edits`` make the smallest in a copy."""

    case: str
    answer: Answer
    edits: tuple[str, ...] = ()


@dataclass(frozen=True)
class MoneyPage(Account):
    """The page of money.

    ``sentences`` are what bites first, ``rows`` the measures by case, ``folds`` the rest in the order of
    need, ``closing`` what holds for all of it. ``cases`` are the base and, where something can go wrong, the
    downside and each bad decade; ``asked`` tells what would change each answer.
    """

    cases: tuple[Outlook, ...] = ()
    break_even: tuple[BreakEven, ...] = ()
    movers: tuple[Mover, ...] = ()
    on_record: tuple[Figure, ...] = ()
    switches: tuple[Switch, ...] = ()
    spread: Spread | None = None
    widest: tuple[Mover, ...] = ()
    asked: tuple[Asked, ...] = ()
    under_way: ThisYear | None = None
    folds: tuple[Fold, ...] = ()
    closing: tuple[str, ...] = ()

    @property
    def spread_rows(self) -> tuple[tuple[str, ...], ...]:
        """The table of the futures by year; empty where nothing is drawn."""
        return next((fold.rows for fold in self.folds if fold.key == "draws"), ())

    def told(self) -> tuple[str, ...]:
        """Return every sentence of the page, in its order."""
        folded = (sentence for fold in self.folds for sentence in fold.sentences)
        return (*self.sentences, *folded, *self.closing)


def money_account(
    scene: Scene, events: Iterable[Event], off: Sequence[str] = (), given: Drawn = NOBODY
) -> MoneyPage:
    """Return the page.

    Parameters
    ----------
    off : sequence of str
        Ids of knocks that are switched off.
    given : Drawn
        The futures, and what the decades give; by default none.
    """
    events = tuple(events)
    record = _on_record(scene, events)
    plan = scene.farm.money
    if plan is None:
        said = (say("money.no_plan"), *_record_words(record))
        closing = (say("money.disclaimer"),)
        return MoneyPage("browseline/money/2", "money", said, record, on_record=record, closing=closing)
    given = replace(given, mixed=mixed_of(plan, events, scene.now, scene.zone, given.means))
    page = _made(scene, plan, events, off, given)
    figures = tuple(
        figure for case in reversed(page.cases) for figure in (case.deepest.total, case.worth, case.end)
    )
    return replace(
        page, sentences=tuple(first_words(page.cases, page.spread)), figures=figures, on_record=record,
        folds=tuple(_folds(scene, plan, page, given, record, off)),
        closing=(say("money.guesses"), say("money.disclaimer")),
    )  # fmt: skip


def _made(
    scene: Scene, plan: MoneyPlan, events: tuple[Event, ...], off: Sequence[str], given: Drawn
) -> MoneyPage:
    """Return the page without its sentences."""
    cases = cases_of(plan, off, given)
    down = tuple(knock for knock in plan.knocks_of() if knock.id not in off)
    spread = spread_of(plan, given) if given.any else None
    head, rows = cases_table(plan, cases, spread)
    return MoneyPage(
        "browseline/money/2", "money", (), (), head, rows, cases,
        break_even(plan, down, given), movers(plan, down, given),
        switches=tuple(Switch(k.id, k.name, k.id not in off, k.decade) for k in plan.knocks),
        spread=spread, widest=wideners(plan, given) if given.any else (),
        asked=tuple(_asked(plan, cases, given)),
        under_way=this_year(plan, given.mixed, events, scene.now, scene.zone, given.means),
    )  # fmt: skip


def cases_of(plan: MoneyPlan, off: Sequence[str], given: Drawn) -> tuple[Outlook, ...]:
    """Return the base, the downside if anything strikes in it, and each bad decade."""
    cases = [outlook(plan, BASE, (), given)]
    for name in ("", *plan.decades):
        knocks = tuple(knock for knock in plan.knocks_of(name) if knock.id not in off)
        if knocks:
            cases.append(outlook(plan, name or DOWNSIDE, knocks, given))
    return tuple(cases)


def _asked(plan: MoneyPlan, cases: Sequence[Outlook], given: Drawn) -> Iterator[Asked]:
    """Yield the questions of the base and the downside."""
    for case in cases:
        if case.name not in (BASE, DOWNSIDE):
            continue
        knocks = tuple(knock for knock in plan.knocks if knock.id in case.knocks)
        for question in QUESTIONS:
            if question != "covers" or plan.loans:
                answer = ask(question, plan, knocks, given)
                yield Asked(case.name, answer, edits_of(plan, answer.flips[0].change) if answer.flips else ())


# ---------------------------------------------------------------- the tables


def _spread_table(found: Spread) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Return the table of the futures: one draw in ten below, the middle, one in ten above."""
    ends = ("low", "middle", "high")
    head = (
        say("money.head.year"),
        *(say("money.column", case=say(f"money.head.{what}"), what=say(f"money.head.{end}"))
          for what in ("coverage", "cash", "total") for end in ends),
    )  # fmt: skip
    rows = []
    for year in found.years:
        covered = ("", cover_words(None), "")
        if year.coverage is not None:
            low, high = (
                linked(plain_cover(end), year.coverage) if end is not None else ""
                for end in (year.coverage.low, year.coverage.high)
            )
            covered = (low, cover_words(year.coverage), high)
        money = [
            words(of) for of in (year.cash, year.total) for words in (low_words, money_words, high_words)
        ]
        rows.append((dated_words(year.year, year.calendar, year.cash), *covered, *money))
    return head, tuple(rows)


# ---------------------------------------------------------------- what is folded away


def _folds(
    scene: Scene, plan: MoneyPlan, page: MoneyPage, given: Drawn, record: Sequence[Figure], off: Sequence[str]
) -> Iterator[Fold]:
    """Yield the rest of the page in the order of need."""
    wrong = tuple(knock_words(plan, off))
    if wrong:
        yield Fold("wrong", say("money.fold.wrong"), wrong)
    asked = [line for one in page.asked for line in answer_words(plan, one.case, one.answer)]
    yield Fold("change", say("money.fold.change"), (*asked, *moved_words(page.break_even, page.movers)))
    yield _draws(plan, page)
    yield from years_folds(plan, page.cases)
    yield Fold("loans", say("money.fold.loans"), tuple(_loans(plan, page.cases)))
    yield Fold("work", say("money.fold.work"), tuple(own_words(scene, plan, _main(page.cases))))
    counted = (*followed_words(plan, given), *(say("money.unsigned", line=line) for line in unsigned(plan)))
    if counted:
        yield Fold("counts", say("money.fold.counts"), counted)
    happened_so_far = (
        *(year_told(page.under_way, page.cases[0]) if page.under_way is not None else ()),
        *_record_words(record),
    )
    if happened_so_far:
        yield Fold("record", say("money.fold.record"), happened_so_far)


def _draws(plan: MoneyPlan, page: MoneyPage) -> Fold:
    title = say("money.fold.draws")
    if page.spread is None:
        return Fold("draws", title, (say("money.drawn.none"),))
    head, rows = _spread_table(page.spread)
    return Fold("draws", title, tuple(other_draws(plan, page.spread, page.widest)), head, rows)


def _loans(plan: MoneyPlan, cases: Sequence[Outlook]) -> Iterator[str]:
    yield from loan_words(plan, cases[0])
    if any(case.worst.coverage is not None for case in cases):
        yield say("money.covers")


def _main(cases: Sequence[Outlook]) -> Outlook:
    """Return the downside, or the base where nothing goes wrong."""
    return next((case for case in cases if case.name == DOWNSIDE), cases[0])


# ---------------------------------------------------------------- what happened


def _on_record(scene: Scene, events: Iterable[Event]) -> tuple[Figure, ...]:
    """Return the money on record by year and currency: what came in, what went out."""
    said: dict[tuple[int, str, str], list[tuple[float, str, object, str]]] = {}
    done = happened(events, scene.now)
    people = {event.id: event.who for event in done}
    for entry in money_entries(done, scene.zone):
        for posting in entry.postings:
            if posting.account == CASH:
                name = MONEY_IN if posting.amount > 0 else MONEY_OUT
                amount = abs(float(posting.amount))
                text = f"{amount_words(amount, posting.unit, 2)} {posting.because}"
                line = (amount, text, posting.day, people.get(posting.event, ""))
                said.setdefault((posting.day.year, name, posting.unit), []).append(line)
    return tuple(
        entered(name, unit, lines, about=str(year))  # type: ignore[arg-type]
        for (year, name, unit), lines in sorted(said.items())
    )


def _record_words(record: Sequence[Figure]) -> Iterator[str]:
    for figure in record:
        key = "money.came_in" if figure.name == MONEY_IN else "money.went_out"
        yield say(key, year=figure.about, amount=money_words(figure, 2))
