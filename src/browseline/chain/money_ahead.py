"""What the decades give the money: the columns that lines follow, and the futures of prices and yields."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from browseline.chain.look import Picture
from browseline.farm.accounts import MoneyLine, MoneyPlan
from browseline.farm.own_hay import dry_bale_kg, sale_price
from browseline.farm.records import Farm
from browseline.figures import Origin
from browseline.ledger.cash import Array, counts, stepped
from browseline.ledger.drawn import NOBODY, Drawn, Followed, drawn, drawn_cash, middle_cash
from browseline.ledger.hay import bales_of
from browseline.units import UNITS, factor

if TYPE_CHECKING:
    from browseline.decades.form import FeedAhead, OwnFeed, Projection, Yield

EATEN = SPREAD = SHORN = "kg"
CUT = "ha"
"""Units of hay ahead, dry matter as eaten, of what is spread, of wool, and of ground cut for hay."""


def futures(farm: Farm, plan: MoneyPlan, ahead: Projection | None) -> Drawn:
    """Return the futures of a plan: draws of its prices and yields, and what its lines take of the decades.

    Parameters
    ----------
    ahead : Projection or None
        None where no line follows it, or where there is none: typed counts stand.
    """
    lines = [line for line in plan.lines if line.follows and counts(line)]
    found: dict[str, Followed] = {}
    unknown = []
    for line in lines:
        followed = _followed(farm, plan, line, ahead) if ahead is not None else None
        if followed is None:
            unknown.append(line.name)
        else:
            found[line.id] = followed
    members = ahead.members if ahead is not None else ()
    return drawn(plan, farm.seed, found, tuple(unknown), tuple(members))


def money_given(picture: Picture) -> Drawn:
    """Return the futures of a farm's money plan; the decades are asked only where a line follows them."""
    plan = picture.farm.money
    if plan is None:
        return NOBODY
    follows = any(line.follows and counts(line) for line in plan.lines)
    ahead = _ahead(picture, plan) if follows else None
    return futures(picture.farm, plan, ahead)


def _ahead(picture: Picture, plan: MoneyPlan) -> Projection:
    """Return the decades as far as the plan reaches; longer ones that are made already serve as well."""
    from browseline.chain.years_ahead import MEMBERS, projection_of

    needed = max(plan.first_year + plan.years - 1 - picture.today.year, 1)
    whole = picture.farm.future.years
    made = f"decades {whole} {MEMBERS}" in picture.scene.memo
    return projection_of(picture, whole if made and whole >= needed else needed)


def cash_of(farm: Farm, ahead: Projection | None) -> Array | None:
    """Return what is left of each year of a farm's money plan; None without a plan.

    Parameters
    ----------
    farm : Farm
    ahead : Projection or None
        Its members draw prices and yields; without it the plan stands as it is typed.

    Returns
    -------
    array, shape (year, member), or (year, 1) without a projection
        [money]
    """
    plan = farm.money
    if plan is None:
        return None
    if ahead is None:
        return middle_cash(plan).cash[:, None]
    given = futures(farm, plan, ahead)
    cash = drawn_cash(plan, (), given).cash.reshape(plan.years, -1)
    return np.broadcast_to(cash, (plan.years, len(ahead.members)))


def _followed(farm: Farm, plan: MoneyPlan, line: MoneyLine, ahead: Projection) -> Followed | None:
    """Return what a line takes of the decades in the plan's years; typed counts before they begin."""
    column = _column(farm, line, ahead)
    if column is None:
        return None
    amount, unit, origins = column
    begin = ahead.years[0] - plan.first_year
    wanted = plan.first_year + np.arange(plan.years)
    if wanted[-1] > ahead.years[-1]:
        return None
    rows = np.clip(wanted - ahead.years[0], 0, None)
    made = amount[rows]
    if begin > 0:
        made[:begin] = stepped(line.count, plan.years)[:begin, None]
    return Followed(made, unit, origins)


def _column(farm: Farm, line: MoneyLine, ahead: Projection) -> tuple[Array, str, tuple[Origin, ...]] | None:
    """Return the column that a line names, in the unit that its price is for, shape (year, member)."""
    what, _, about = line.follows.partition(" ")
    if what in ("yield", "wood"):
        crops = (*ahead.yields, *ahead.fodder) if " " in about else ahead.yields
        return _crop(crops if what == "yield" else ahead.wood, about, line.per)
    if what == "hours":
        return _in_unit(ahead.work_h, "h", line.per, ())
    if what == "hay":
        return HAY.get(about, _bought)(farm, ahead.feed, line.per)
    if what == "input":
        return _input(farm, ahead, about, line.per)
    if what == "wool":
        return _wool(ahead, about, line.per)
    return _stock(ahead.feed, what, about)


def _crop(crops: Sequence[Yield], about: str, per: str) -> tuple[Array, str, tuple[Origin, ...]] | None:
    planting, _, product = about.partition(" ")
    mine = [one for one in crops if one.planting == planting and product in ("", one.product)]
    if len(mine) != 1:
        return None
    return _in_unit(mine[0].amount, mine[0].unit, per, mine[0].origins)


def _cut(farm: Farm, feed: FeedAhead, per: str) -> tuple[Array, str, tuple[Origin, ...]] | None:
    """Return the area that is cut for own hay; None where what grows is not known, or no hay is made."""
    own = feed.own
    if not feed.grows or own is None or not own.makes:
        return None
    return _in_unit(own.cut_ha, CUT, per, (*feed.origins, *own.origins))


def _sold(farm: Farm, feed: FeedAhead, per: str) -> tuple[Array, str, tuple[Origin, ...]] | None:
    """Return hay sold: as dry matter, or in bales of the first lot that is weighed; None if none can be."""
    own = feed.own
    if not feed.grows or own is None or not own.makes or sale_price(farm) is None:
        return None
    origins = (*feed.origins, *own.origins)
    if per != "bales":
        return _in_unit(own.sold_kg, EATEN, per, origins)
    dry_kg = next((kg for lot in farm.hay if (kg := dry_bale_kg(lot))), 0.0)
    return (own.sold_kg / dry_kg, "bales", origins) if dry_kg else None


def _bought(farm: Farm, feed: FeedAhead, per: str) -> tuple[Array, str, tuple[Origin, ...]] | None:
    """Return hay bought: as eaten, or in bales of the first lot with their losses; None if not known."""
    if not feed.grows:
        return None
    eaten = feed.hay_kg.sum(axis=2)
    if per != "bales":
        return _in_unit(eaten, EATEN, per, feed.origins)
    bale = next(iter(bales_of(farm.hay).values()), None)
    if bale is None or not bale.eaten.value:
        return None
    return eaten / bale.eaten.value, "bales", (*feed.origins, Origin("farm"))


HAY = {"made": _cut, "sold": _sold}


def _input(
    farm: Farm, ahead: Projection, ident: str, per: str
) -> tuple[Array, str, tuple[Origin, ...]] | None:
    """Return what is meant to be spread, as it is typed or entered: the same in every member."""
    entered = (one for one in ahead.future.inputs if one.entered)
    planned = [one for one in (*farm.future.inputs, *entered) if one.id == ident]
    if not planned:
        return None
    spread = np.array([sum(p.amount.to(SPREAD) * p.falls(year) for p in planned) for year in ahead.years])
    whole = np.broadcast_to(spread[:, None], (len(spread), len(ahead.members)))
    return _in_unit(whole, SPREAD, per, (Origin("farm", basis="farm"),))


def _wool(ahead: Projection, about: str, per: str) -> tuple[Array, str, tuple[Origin, ...]] | None:
    """Return the wool of a mob, or of one class in it; None where nobody typed any."""
    at = _classes(ahead.feed, about)
    wool = ahead.wool_kg[:, :, at].sum(axis=2)
    return _in_unit(wool, SHORN, per, (Origin("farm", basis="farm"),)) if wool.any() else None


def _classes(feed: FeedAhead, about: str) -> list[int]:
    """Return the places of a mob's classes, or of one class in it."""
    mob, _, klass = about.partition("/")
    return [n for n, (its, _, own) in enumerate(feed.classes) if its == mob and klass in ("", own)]


def _stock(feed: FeedAhead, what: str, about: str) -> tuple[Array, str, tuple[Origin, ...]] | None:
    """Return head of a mob, or of one class in it."""
    at = _classes(feed, about)
    if not at:
        return None
    return getattr(feed, what)[:, :, at].sum(axis=2), "head", feed.origins


def _in_unit(
    amount: Array, unit: str, per: str, origins: tuple[Origin, ...]
) -> tuple[Array, str, tuple[Origin, ...]] | None:
    if not per or per == unit:
        return np.array(amount, dtype=float), unit, origins
    if unit not in UNITS or UNITS[unit].dimension != UNITS[per].dimension:
        return None
    return amount * factor(unit, per), per, origins


def can_follow(ahead: Projection) -> Iterator[str]:
    """Yield everything that a line may follow in a projection, as it is typed."""
    for crop in ahead.yields:
        yield f"yield {crop.planting} {crop.product}"
    for leaf in ahead.fodder:
        yield f"yield {leaf.planting} {leaf.product}"
    for wood in ahead.wood:
        yield f"wood {wood.planting} {wood.product}"
    for mob, _, klass in ahead.feed.classes:
        for what in ("head", "sold", "bought", "born", "died"):
            yield f"{what} {mob}/{klass}"
    yield from ("hay bought", "hours")
    yield from _hay_made(ahead.feed.own)


def _hay_made(own: OwnFeed | None) -> Iterator[str]:
    if own is not None and own.makes:
        yield from ("hay made", "hay sold") if own.sold_kg.any() else ("hay made",)
