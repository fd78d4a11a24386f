"""What a plan costs, part by part and as a range, and at which prices: sentences of the season's page."""

from __future__ import annotations

from collections.abc import Iterator

from browseline.chain.amounts import number
from browseline.chain.look import Picture
from browseline.farm.check_prices import SEASON
from browseline.farm.own_hay import SEASON_CURRENCY, hay_price, in_dollars
from browseline.figures import Figure, Origin, money_words
from browseline.limits._prices import ROWS, TRIP, price, trip
from browseline.moves.explain import HALF
from browseline.moves.form import Season
from browseline.units import BASE, SIGNS, UNITS, System, amount_words
from browseline.words import joined, linked, list_words, say


def cost_words(picture: Picture, plan: Season | None) -> tuple[tuple[str, ...], tuple[Figure, ...]]:
    """Return what a plan costs in sentences, the dearest part first, and the prices it reckons with.

    Parameters
    ----------
    plan : Season or None
        Without costs where a hard limit is broken by now.
    """
    if plan is None or plan.total.value is None:
        return (), ()
    each = trip(picture.farm)
    carried = (each,) if each is not None else ()
    prices = (hay_price(picture.farm), *(price(picture.farm, name) for name in ROWS), *carried)
    parts = sorted(plan.parts, key=lambda part: -(part.parts[0].value or 0.0))
    system = picture.farm.units
    told = [_part(part, system) for part in parts]
    told += [_whole(plan, system), *_priced(prices, system), *_left_out(picture)]
    return tuple(told), prices


def _part(part: Figure, system: System) -> str:
    """Return one part in words: how much of what, and what it costs, both as ranges over the weather."""
    cost = part.parts[0]
    of = say(f"pages.season.limit_part.{part.about}") if part.about else ""
    key = "pages.season.part_of" if of else "pages.season.part"
    return say(key, of=of, what=say(f"figures.{part.name}"), amount=linked(_number(part, system), part),
               span=span_words(part, system), cost=money_words(cost),
               cost_span=span_words(cost, system))  # fmt: skip


def span_words(figure: Figure, system: System) -> str:
    """Return the range of a figure over the weather in brackets; nothing where both ends read alike."""
    low, high = (_end(x, figure.unit, system) for x in (figure.low, figure.high))
    if figure.low is None or figure.high is None or low == high:
        return ""
    return linked(say("pages.season.span", low=low, high=high), figure)


def _end(value: float | None, unit: str, system: System) -> str:
    """Return one end of a range in words, money to the dollar as the sum beside it."""
    return amount_words(value, unit) if unit in SIGNS and value is not None else number(value, unit, system)


def _number(figure: Figure, system: System) -> str:
    return number(figure.value, figure.unit, system)


def _whole(plan: Season, system: System) -> str:
    """Return what the season costs to the letter, and as it is lived beside the usual rules by eye."""
    said = [say("pages.season.whole", total=money_words(plan.total), span=span_words(plan.total, system))]
    if plan.lived is not None:
        said += _with_eyes(plan, plan.lived, system)
    return joined([*said, say("pages.season.read_parts")], " ")


def _with_eyes(plan: Season, life: Figure, system: System) -> Iterator[str]:
    """Yield what a plan costs as it is lived, beside the usual rules and a look each day."""
    for kept in life.parts:
        days = linked(number(kept.value, "1"), kept)
        lived = {"lived": money_words(life), "lived_span": span_words(life, system)}
        yield say("pages.season.lived", days=days, **lived)
    if plan.rule_total.value is None:
        return
    rule = {"rule": money_words(plan.rule_total), "rule_span": span_words(plan.rule_total, system)}
    yield say("pages.season.by_eye", **rule)
    if plan.rule_total.value < (life.value or 0.0) - HALF:
        yield say("pages.season.look")


def _priced(prices: tuple[Figure, ...], system: System) -> Iterator[str]:
    """Yield which prices are guesses that the farm may replace, and which are its own."""
    guessed = [_price(figure, system) for figure in prices if figure.mark == "G"]
    if guessed:
        yield say("pages.season.guessed", prices=list_words(guessed))
    typed = [_price(figure, system) for figure in prices if figure.mark != "G"]
    if typed:
        yield say("pages.season.typed", prices=list_words(typed))


def _left_out(picture: Picture) -> Iterator[str]:
    """Yield the prices of a season that the farm typed in another currency than that of the plan."""
    typed = ((name, picture.farm.price(name)) for name in SEASON)
    told = [
        say("pages.season.left_price", name=name, amount=linked(price.text, Origin("farm")))
        for name, price in typed
        if price is not None and in_dollars(price) is None
    ]
    if told:
        yield say("pages.season.other_currency", currency=SEASON_CURRENCY, prices=list_words(told))


def _price(figure: Figure, system: System) -> str:
    """Return a price with its name: a sum alone with what it is taken to be by, else as typed or as read."""
    amount = number(figure.value, figure.unit, system)
    if figure.typed:
        by = UNITS[figure.unit].dimension
        bare = by in BASE and "/" not in figure.typed
        amount = number(figure.value, figure.unit) if bare else figure.typed
    name = figure.about if figure.about in (*ROWS, TRIP) else "hay"
    what = say(f"pages.season.prices.{name}")
    return say("pages.season.price", what=what, name=name, amount=linked(amount, figure))
