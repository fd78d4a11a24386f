"""What the page of money says of its futures, of the change that turns an answer, of the year under way."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from browseline.farm.accounts import MoneyPlan
from browseline.figures import Figure, Origin, money_words
from browseline.ledger.drawn import without_range
from browseline.ledger.flip import Answer, Flip
from browseline.ledger.mixed import ThisYear
from browseline.ledger.money import Outlook
from browseline.ledger.money_told import wanted_figure
from browseline.ledger.money_words import (
    case_words,
    count_words,
    cover_words,
    high_words,
    low_words,
    percent_words,
    plain_cover,
    year_words,
)
from browseline.ledger.sensitivity import Mover
from browseline.ledger.spread import Spread
from browseline.units import amount_words, plain
from browseline.words import joined, linked, list_words, say

NEXT = 2
"""So many more changes are told after the smallest."""


# ---------------------------------------------------------------- many futures


def spread_words(plan: MoneyPlan, found: Spread, widest: Sequence[Mover]) -> Iterator[str]:
    """Yield the futures, the loans first, then the hole, the worth, the worst ten years."""
    first = tuple(first_draws(found))
    yield from first[:-1]
    if found.uncovered is not None and found.worst.coverage is not None:
        yield _weakest(found)
    yield first[-1]
    yield from _rest_of_draws(plan, found, widest)


def first_draws(found: Spread) -> Iterator[str]:
    """Yield in how many draws the loans are not covered, and how deep the hole is in them."""
    draws, hole = count_words(found.draws), found.hole
    if found.uncovered is not None:
        yield say("money.drawn.uncovered", some=count_words(found.uncovered), draws=draws)
    yield say(
        "money.drawn.hole", some=count_words(found.in_hole), draws=draws, hole=money_words(hole),
        low=low_words(hole),
    )  # fmt: skip


def _weakest(found: Spread) -> str:
    worst, covered = found.worst, found.worst.coverage
    if covered is None:
        raise ValueError(worst.key)
    return say(
        "money.drawn.weakest", year=year_words(worst.year, covered), coverage=cover_words(covered),
        low=linked(plain_cover(covered.low or 0.0), covered),
    )  # fmt: skip


def other_draws(plan: MoneyPlan, found: Spread, widest: Sequence[Mover]) -> Iterator[str]:
    """Yield what is left of the futures where the first of them are told already."""
    if found.uncovered is not None and found.worst.coverage is not None:
        yield _weakest(found)
    yield from _rest_of_draws(plan, found, widest)


def _rest_of_draws(plan: MoneyPlan, found: Spread, widest: Sequence[Mover]) -> Iterator[str]:
    """Yield the worth, the end, the worst ten years and what spreads them."""
    draws = count_words(found.draws)
    yield say(
        "money.drawn.worth", worth=money_words(found.worth), low=low_words(found.worth),
        high=high_words(found.worth), some=count_words(found.worthless), draws=draws,
    )  # fmt: skip
    end = found.end
    yield say("money.drawn.end", end=money_words(end), low=low_words(end), high=high_words(end))
    yield from _rate_words(found)
    yield from _stretch_words(found)
    if widest:
        lines = [say("money.mover", line=one.line, change=money_words(one.change)) for one in widest]
        yield say("money.drawn.widest", lines=joined(lines, "; "))
    sure = without_range(plan)
    if sure:
        yield say("money.drawn.sure", lines=list_words(sure))


def _rate_words(found: Spread) -> Iterator[str]:
    rate, back = found.rate_of_return, found.payback
    if rate is not None and rate.low is not None and rate.high is not None:
        low, high = (percent_words(rate, end) for end in (rate.low, rate.high))
        yield say("money.drawn.rate", rate=percent_words(rate), low=low, high=high)
    if back is not None and back.high is not None:
        low, high = (linked(f"{year:.0f}", back) for year in (back.value or 0.0, back.high))
        yield say("money.drawn.payback", year=low, late=high)
    else:
        yield say("money.drawn.unpaid", some=count_words(found.unpaid), draws=count_words(found.draws))


def _stretch_words(found: Spread) -> Iterator[str]:
    worst = found.stretch
    first, last = (year_words(year, worst.cash) for year in (worst.first, worst.last))
    key = "money.drawn.stretch" if worst.coverage is not None else "money.drawn.stretch_cash"
    covered = cover_words(worst.coverage)
    yield say(key, first=first, last=last, cash=money_words(worst.cash), coverage=covered)


# ---------------------------------------------------------------- what would change this?


def answer_words(plan: MoneyPlan, case: str, answer: Answer) -> Iterator[str]:
    """Yield a question's answer in one case, and the smallest single change that turns it."""
    sure = "yes" if answer.yes else "no"
    wanted = linked(plain_cover(wanted_figure(plan).value or 1.0), wanted_figure(plan))
    asked = say(f"money.change.{answer.question}.{sure}", case=case_words(case), wanted=wanted)
    if not answer.flips:
        yield say("money.change.none", asked=asked)
        return
    first, *others = (flip_words(plan, flip) for flip in _distinct(answer.flips))
    yield say("money.change.first", asked=asked, change=first)
    if others:
        yield say("money.change.next", changes=joined(others[:NEXT], "; "))


def _distinct(flips: Sequence[Flip]) -> Iterator[Flip]:
    """Yield the nearest change of each input, the nearest first."""
    met = set()
    for flip in flips:
        key = (flip.change.on, flip.change.about)
        if key not in met:
            met.add(key)
            yield flip


def flip_words(plan: MoneyPlan, flip: Flip) -> str:
    """Return a change in words, as somebody would type it."""
    on, about = flip.change.on, flip.change.about
    names = {line.id: line.name for line in plan.lines} | {loan.id: loan.name for loan in plan.loans}
    name = names.get(about, "")
    if on == "price":
        line = next(one for one in plan.lines if one.id == about)
        to, was = (_typed_money(value, line.price.unit, name) for value in (flip.change.to, flip.was))
        return say("money.change.price", line=name, to=to, was=was, far=_far(flip, name))
    if on in ("rate", "discount"):
        to, was = (_percent(value, name) for value in (flip.change.to, flip.was))
        return say(f"money.change.{on}", loan=name, to=to, was=was)
    if on == "later":
        years = int(flip.change.to)
        figure = _figure("flip_to", float(years), "yr", name)
        return say("money.change.later", count=years, line=name, years=linked(f"{years}", figure))
    head = _head(plan, flip)
    if head is not None:
        return say("money.change.head", line=name, to=head[0], was=head[1])
    return say(f"money.change.{on}", line=name, far=_far(flip, name))


def _figure(name: str, value: float, unit: str, about: str) -> Figure:
    return Figure(name, value, unit, origins=(Origin("farm", basis="placeholder"),), about=about)


def _typed_money(value: Fraction, unit: str, about: str) -> str:
    return linked(amount_words(float(value), unit, 2), _figure("flip_to", float(value), unit, about))


def _percent(value: Fraction, about: str) -> str:
    return linked(f"{plain(float(100 * value), 1)} %", _figure("flip_to", float(value), "1", about))


def _far(flip: Flip, about: str) -> str:
    """Return how much more or less, in percent."""
    share = float(flip.change.to / flip.was - 1)
    words = linked(f"{abs(100 * share):.1f} %", _figure("flip_far", abs(share), "1", about))
    return say("money.change.more" if share > 0 else "money.change.less", far=words)


def _head(plan: MoneyPlan, flip: Flip) -> tuple[str, str] | None:
    """Return the head of a change and as typed, where a line counts whole head all its years."""
    line = next(one for one in plan.lines if one.id == flip.change.about)
    (_, first), *more = line.count
    if flip.change.on != "count" or more or first != round(first):
        return None
    to = float(Fraction(round(first)) * flip.change.to)
    now, then = (linked(plain(n), _figure("flip_to", n, "1", line.name)) for n in (to, first))
    return now, then


# ---------------------------------------------------------------- the year under way


def year_told(found: ThisYear, case: Outlook) -> Iterator[str]:
    """Yield what the year under way comes to: on record and still to come, line by line."""
    year = next(one for one in case.years if one.calendar == found.calendar)
    calendar = year_words(found.calendar, year.cash)
    yield say("money.this_year", year=calendar, cash=money_words(year.cash), total=money_words(year.total))
    for line in found.lines:
        if line.on_record.value:
            yield say(
                "money.this_year.line", line=line.name, had=money_words(line.on_record),
                come=money_words(line.to_come), planned=money_words(line.planned),
            )  # fmt: skip
    for way, figure in (("in", found.loose_in), ("out", found.loose_out)):
        if figure.value:
            yield say(f"money.this_year.loose_{way}", amount=money_words(figure))
