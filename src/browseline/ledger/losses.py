"""Trees lost: survival by planting and cause, the day by which a loss must be told, a rough cheque.

The rule's numbers are recalled rows (``data/balance.csv``) and its date is what the farm typed: the
office computes, this page only says whether and when to ask.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, timedelta

from browseline import tables
from browseline.farm.records import Planting, TreeRow
from browseline.figures import Figure, typed
from browseline.ledger.account import Account, dated
from browseline.limits import Scene
from browseline.units import factor
from browseline.words import day_words, list_words, say

RULE = "tree loss rule"
PERCENT = factor("%", "1")


@dataclass(frozen=True)
class Survival:
    """One planting: trees that stood, those lost since by cause, those alive; None where not counted."""

    planting: str
    name: str
    stood: int | None
    lost: tuple[tuple[str, int], ...]
    planted: int
    alive: int | None

    @property
    def gone(self) -> int:
        """Return the trees lost."""
        return sum(trees for _, trees in self.lost)


@dataclass(frozen=True)
class LossNotice:
    """One loss of a crop tree by one cause, all its plantings together.

    Attributes
    ----------
    stood, lost : int
    found, tell_by : date
        The day of the first finding; the last day to tell the office.
    share, above : Figure
        Lost over stood; that less the normal loss. [1]
    may_qualify : bool or None
        None where the normal loss is not typed.
    payable, cheque : Figure or None
        Trees above the rule's share, and a rough sum; None where a number for it is not typed.
    """

    species: str
    cause: str
    plantings: tuple[str, ...]
    stood: int
    lost: int
    found: date
    tell_by: date
    share: Figure
    above: Figure | None
    may_qualify: bool | None
    payable: Figure | None
    cheque: Figure | None


def survival(scene: Scene) -> tuple[Survival, ...]:
    """Return every planting's trees since the farm's ``as_of``: stood, lost by cause, planted, alive."""
    return tuple(_survival(scene, planting) for planting in scene.farm.plantings)


def _survival(scene: Scene, planting: Planting) -> Survival:
    start = scene.midnight(scene.farm.as_of).astimezone(UTC)
    causes: dict[str, int] = {}
    for ident, trees, cause, when in scene.state.losses:
        if ident == planting.id and when.end.astimezone(UTC) >= start:
            causes[cause] = causes.get(cause, 0) + trees
    put = sum(
        trees for ident, trees, when in scene.state.planted
        if ident == planting.id and when.end.astimezone(UTC) >= start
    )  # fmt: skip
    gone = sum(causes.values())
    alive = planting.trees + put - gone if planting.trees is not None else None
    return Survival(planting.id, planting.name, planting.trees, tuple(sorted(causes.items())), put, alive)


def survival_rows(scene: Scene, planting: Planting) -> tuple[tuple[TreeRow, Survival], ...]:
    """Return the typed rows of a planting, each with its trees since ``as_of`` where entries name it."""
    start = scene.midnight(scene.farm.as_of).astimezone(UTC)
    told = [
        c for c in scene.state.row_counts if c.planting == planting.id and c.at.end.astimezone(UTC) >= start
    ]
    made = []
    for row in planting.rows:
        causes: dict[str, int] = {}
        own = [count for count in told if count.row == row.id]
        for count in own:
            if count.lost:
                causes[count.cause] = causes.get(count.cause, 0) + count.lost
        put = sum(count.planted for count in own)
        alive = row.trees + put - sum(causes.values()) if row.trees is not None else None
        lost = tuple(sorted(causes.items()))
        made.append((row, Survival(f"{planting.id}/{row.id}", row.name, row.trees, lost, put, alive)))
    return tuple(made)


# ---------------------------------------------------------------- the notice


def notices(scene: Scene) -> tuple[LossNotice, ...]:
    """Return a notice for each crop species and cause of which trees were lost since ``as_of``.

    Trees that bear no crop for sale (``harvested = false``) are left out.
    """
    crops = {p.id: p for p in scene.farm.plantings if p.harvested}
    found: dict[tuple[str, str], list[tuple[str, int, date]]] = {}
    for ident, trees, cause, when in scene.state.losses:
        day = scene.local(when.end).date()
        if ident in crops and day >= scene.farm.as_of:
            found.setdefault((crops[ident].species, cause), []).append((ident, trees, day))
    return tuple(
        notice for (species, cause), lost in sorted(found.items())
        if (notice := _notice(scene, species, cause, lost, list(crops.values()))) is not None
    )  # fmt: skip


def _notice(
    scene: Scene, species: str, cause: str, lost: Sequence[tuple[str, int, date]], crops: Sequence[Planting]
) -> LossNotice | None:
    stand = [p for p in crops if p.species == species]
    if any(p.trees is None for p in stand):
        return None
    stood, gone = sum(p.trees or 0 for p in stand), sum(trees for _, trees, _ in lost)
    found = min(day for _, _, day in lost)
    tell_by = found + timedelta(days=round(tables.row("balance", "loss_notice", RULE).middle()))
    share = _lost_share(stood, gone)
    above = _above(scene, share)
    least = tables.row("balance", "loss_share_least", RULE)
    may = above is not None and (above.value or 0.0) > least.middle() * PERCENT
    payable = _payable(stood, gone, above, share, least) if above is not None and may else None
    names = tuple(dict.fromkeys(p.name for p in stand if p.id in {ident for ident, _, _ in lost}))
    return LossNotice(
        species, cause, names, stood, gone, found, tell_by, share, above, may if above is not None else None,
        payable, _cheque(scene, species, payable),
    )  # fmt: skip


def _lost_share(stood: int, gone: int) -> Figure:
    text = f"{gone} ÷ {stood}"
    return typed("lost_share", gone / stood if stood else 0.0, "1", text)


def _above(scene: Scene, share: Figure) -> Figure | None:
    normal = scene.farm.rules.normal_loss
    if normal is None:
        return None
    usual = typed("normal_loss", normal.to("1"), "1", normal.text)
    value = (share.value or 0.0) - (usual.value or 0.0)
    formula = f"{share.value:.3g} − {usual.value:.3g}"
    return Figure("loss_above_normal", value, "1", formula=formula, parts=(share, usual))


def _payable(stood: int, gone: int, above: Figure, share: Figure, least: tables.Row) -> Figure:
    """Return the trees above the normal loss and the rule's share together. [trees]"""
    off = least.middle() * PERCENT + (share.value or 0.0) - (above.value or 0.0)
    formula = f"{gone} − {off:.3g} × {stood}"
    parts = (above, least.figure("loss_share_least"))
    return Figure("trees_payable", gone - off * stood, "trees", formula=formula, parts=parts)


def _cheque(scene: Scene, species: str, payable: Figure | None) -> Figure | None:
    """Return payable trees × the price of one × the rule's share: rough, for the office computes."""
    price = scene.farm.price(species) or scene.farm.price("tree")
    if price is None or payable is None:
        return None
    paid = tables.row("balance", "loss_share_paid", RULE)
    each = typed("tree_price", float(price.value), price.unit, price.text, about=species)
    value = (payable.value or 0.0) * (each.value or 0.0) * paid.middle() * PERCENT
    formula = f"{payable.value:.3g} × {each.value:g} × {paid.middle():g} %"
    parts = (payable, each, paid.figure("loss_share_paid"))
    return Figure("loss_cheque", value, price.unit, formula=formula, parts=parts)


# ---------------------------------------------------------------- the page


def losses_account(scene: Scene) -> Account:
    """Return the page: survival by planting and cause, and what must be told by when."""
    told, found = survival(scene), notices(scene)
    figures = [f for n in found for f in (n.cheque, n.payable, n.above, n.share) if f is not None]
    head = tuple(say(f"account.losses.head.{c}") for c in ("planting", "stood", "lost", "planted", "alive"))
    sentences = tuple(_told(scene, told, found))
    return Account(
        "browseline/losses/1", "losses", sentences, tuple(figures), head, tuple(_rows(scene, told))
    )


def _rows(scene: Scene, told: Sequence[Survival]) -> Iterator[tuple[str, ...]]:
    """Yield a line a planting and, under it, one a row with its cultivar and rootstock."""
    for planting, one in zip(scene.farm.plantings, told, strict=True):
        yield _row(one)
        for row, own in survival_rows(scene, planting):
            sort = ", ".join(filter(None, (row.cultivar, row.rootstock or planting.rootstock)))
            yield _row(own, say("account.losses.row", row=row.name, sort=f" ({sort})" if sort else ""))


def _row(one: Survival, name: str = "") -> tuple[str, ...]:
    lost = "; ".join(f"{trees} {cause or say('account.losses.no_cause')}" for cause, trees in one.lost)
    stood, alive = (str(n) if n is not None else say("account.not_known") for n in (one.stood, one.alive))
    return (name or one.name, stood, lost or "0", str(one.planted), alive)


def _told(scene: Scene, told: Sequence[Survival], found: Sequence[LossNotice]) -> Iterator[str]:
    yield say("account.losses.since", day=dated(scene.farm.as_of))
    for notice in found:
        yield from notice_words(scene, notice)
    out = [one.name for one in told if one.gone and one.planting in _no_crop(scene)]
    if out:
        yield say("account.losses.no_crop", plantings=list_words(out))
    for planting, one in zip(scene.farm.plantings, told, strict=True):
        apart = one.gone - sum(own.gone for _, own in survival_rows(scene, planting))
        if planting.rows and apart:
            yield say("account.losses.no_row", planting=planting.name, trees=apart)
    uncounted = [one.name for one in told if one.stood is None]
    if uncounted:
        yield say("account.losses.uncounted", plantings=list_words(uncounted))
    if not any(one.gone for one in told):
        yield say("account.losses.none")


def _no_crop(scene: Scene) -> set[str]:
    return {p.id for p in scene.farm.plantings if not p.harvested}


def notice_words(scene: Scene, notice: LossNotice) -> Iterator[str]:
    """Yield what is to be told of a loss: how much, whether it may qualify, by when, under which rule."""
    cause = notice.cause or say("account.losses.no_cause")
    share = f"{100 * (notice.share.value or 0.0):.1f}"
    yield say("account.losses.lost", lost=notice.lost, stood=notice.stood, share=share, cause=cause,
              plantings=list_words(notice.plantings), day=day_words(notice.found))  # fmt: skip
    least = tables.row("balance", "loss_share_least", RULE)
    if notice.above is None:
        yield say("account.losses.no_normal")
    else:
        above = f"{100 * (notice.above.value or 0.0):.1f}"
        key = "may" if notice.may_qualify else "not"
        normal = scene.farm.rules.normal_loss
        yield say(f"account.losses.{key}", above=above, normal=normal.text if normal else "",
                  least=f"{least.middle():g}")  # fmt: skip
    if notice.cheque is not None and notice.payable is not None:
        amount = f"{notice.cheque.value:,.0f} {notice.cheque.unit}"
        trees, formula = f"{notice.payable.value:.1f}", notice.cheque.formula
        yield say("account.losses.cheque", trees=trees, amount=amount, formula=formula)
    left = (notice.tell_by - scene.days[0]).days
    replant = tables.row("balance", "loss_replant", RULE).middle()
    if notice.may_qualify is not False:
        key = "tell_by" if left >= 0 else "too_late"
        yield say(f"account.losses.{key}", day=day_words(notice.tell_by), days=abs(left),
                  months=f"{replant:g}")  # fmt: skip
    yield say("account.losses.rule", rule=scene.farm.rules.loss_rule or say("account.losses.no_rule_date"))
