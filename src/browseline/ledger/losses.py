"""Trees lost: survival by planting and cause, the day by which a loss must be told, a rough cheque.

The rule's numbers are recalled rows (``data/balance.csv``) and its date is what the farm typed: the
office computes, this page only says whether and when to ask.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, timedelta
from operator import itemgetter

from browseline import tables
from browseline.farm.records import Planting, TreeRow
from browseline.figures import Figure, typed
from browseline.ledger.account import Account, dated
from browseline.ledger.facts import counted
from browseline.limits import Scene
from browseline.record.state import RowCount
from browseline.units import factor
from browseline.words import day_words, joined, linked, list_words, say

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

    @property
    def stood_figure(self) -> Figure | None:
        """Return the trees that stood, as typed. [trees]"""
        return _typed_trees(self.stood, self.planting) if self.stood is not None else None

    @property
    def planted_figure(self) -> Figure:
        """Return the trees planted since. [trees]"""
        return counted("trees_planted", self.planted, "trees", about=self.planting)

    @property
    def lost_figures(self) -> tuple[Figure, ...]:
        """Return the trees lost, a figure a cause. [trees]"""
        return tuple(
            counted("trees_lost", trees, "trees", about=f"{self.planting} {cause}".strip())
            for cause, trees in self.lost
        )

    @property
    def alive_figure(self) -> Figure | None:
        """Return the trees alive: those that stood and were planted less those lost. [trees]"""
        if self.alive is None or self.stood_figure is None:
            return None
        parts = (self.stood_figure, self.planted_figure, *self.lost_figures)
        formula = f"{self.stood} + {self.planted} − {self.gone}"
        return Figure("trees_alive", self.alive, "trees", formula=formula, parts=parts, about=self.planting)


@dataclass(frozen=True)
class LossNotice:
    """One loss of a crop tree by one cause, all its plantings together.

    Attributes
    ----------
    stood, lost : Figure
        [trees]
    found, tell_by : date
        The day of the first finding; the last day to tell the office.
    left : Figure
        Days left to tell it; below 0 it is too late. [d]
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
    stood: Figure
    lost: Figure
    found: date
    tell_by: date
    left: Figure
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
    return tuple(
        (row, _of_row(planting, row, [count for count in told if count.row == row.id]))
        for row in planting.rows
    )


def _of_row(planting: Planting, row: TreeRow, own: Sequence[RowCount]) -> Survival:
    causes: Counter[str] = Counter()
    for count in own:
        causes[count.cause] += count.lost
    put, lost = sum(count.planted for count in own), tuple(sorted((+causes).items()))
    alive = row.trees + put - causes.total() if row.trees is not None else None
    return Survival(f"{planting.id}/{row.id}", row.name, row.trees, lost, put, alive)


def _typed_trees(trees: int, about: str) -> Figure:
    return typed("trees_stood", trees, "trees", f"{trees}", about=about)


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
    stood, gone = _stood(stand, species), _gone(lost, f"{species} {cause}".strip())
    found = min(lost, key=itemgetter(2))[2]
    notice = tables.row("balance", "loss_notice", RULE)
    tell_by = found + timedelta(days=round(notice.middle()))
    share = _lost_share(stood, gone)
    above = _above(scene, share)
    least = tables.row("balance", "loss_share_least", RULE)
    may = above is not None and (above.value or 0.0) > least.middle() * PERCENT
    payable = _payable(stood, gone, above, share, least) if above is not None and may else None
    hit = {ident for ident, _, _ in lost}
    names = tuple(dict.fromkeys(p.name for p in stand if p.id in hit))
    return LossNotice(
        species, cause, names, stood, gone, found, tell_by, _left(scene, found, notice), share,
        above, may if above is not None else None,
        payable, _cheque(scene, species, payable),
    )  # fmt: skip


def _stood(stand: Sequence[Planting], species: str) -> Figure:
    """Return the trees that stood in all plantings of a species. [trees]"""
    parts = tuple(_typed_trees(p.trees or 0, p.id) for p in stand)
    formula = " + ".join(f"{part.value:.0f}" for part in parts)
    value = sum(part.value or 0.0 for part in parts)
    return Figure("trees_stood", value, "trees", formula=formula, parts=parts, about=species)


def _gone(lost: Sequence[tuple[str, int, date]], about: str) -> Figure:
    """Return the trees lost by one cause. [trees]"""
    formula = " + ".join(f"{trees}" for _, trees, _ in lost)
    value = sum(trees for _, trees, _ in lost)
    made = counted("trees_lost", value, "trees", about=about, formula=formula)
    return replace(made, as_of=max(day for _, _, day in lost))


def _left(scene: Scene, found: date, notice: tables.Row) -> Figure:
    """Return the days left to tell a loss. [d]"""
    gone = (scene.days[0] - found).days
    formula = f"{round(notice.middle())} d − {gone} d"
    left = round(notice.middle()) - gone
    return Figure(
        "days_to_tell", left, "d", formula=formula, parts=(notice.figure("loss_notice"),), as_of=found
    )


def _lost_share(stood: Figure, gone: Figure) -> Figure:
    value = (gone.value or 0.0) / stood.value if stood.value else 0.0
    formula = f"{gone.value:.0f} ÷ {stood.value:.0f}"
    return Figure("lost_share", value, "1", formula=formula, parts=(gone, stood))


def _above(scene: Scene, share: Figure) -> Figure | None:
    normal = scene.farm.rules.normal_loss
    if normal is None:
        return None
    usual = typed("normal_loss", normal.to("1"), "1", normal.text)
    value = (share.value or 0.0) - (usual.value or 0.0)
    formula = f"{share.value:.3g} − {usual.value:.3g}"
    return Figure("loss_above_normal", value, "1", formula=formula, parts=(share, usual))


def _payable(stood: Figure, gone: Figure, above: Figure, share: Figure, least: tables.Row) -> Figure:
    """Return the trees above the normal loss and the rule's share together. [trees]"""
    off = least.middle() * PERCENT + (share.value or 0.0) - (above.value or 0.0)
    trees, whole = gone.value or 0.0, stood.value or 0.0
    formula = f"{trees:.0f} − {off:.3g} × {whole:.0f}"
    parts = (gone, stood, above, least.figure("loss_share_least"))
    return Figure("trees_payable", trees - off * whole, "trees", formula=formula, parts=parts)


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
    lost = [
        say("account.losses.by", trees=_count(figure), cause=cause or say("account.losses.no_cause"))
        for figure, (cause, _) in zip(one.lost_figures, one.lost, strict=True)
    ]
    none = counted("trees_lost", 0, "trees", about=one.planting)
    return (
        name or one.name, _count(one.stood_figure), joined(lost, "; ") or _count(none),
        _count(one.planted_figure), _count(one.alive_figure),
    )  # fmt: skip


def _count(figure: Figure | None) -> str:
    if figure is None:
        return say("account.not_known")
    return linked(f"{figure.value:.0f}", figure)


def _told(scene: Scene, told: Sequence[Survival], found: Sequence[LossNotice]) -> Iterator[str]:
    yield say("account.losses.since", day=dated(scene.farm.as_of))
    for notice in found:
        yield from notice_words(scene, notice)
    no_crop = {p.id for p in scene.farm.plantings if not p.harvested}
    out = [one.name for one in told if one.gone and one.planting in no_crop]
    if out:
        yield say("account.losses.no_crop", plantings=list_words(out))
    yield from _told_apart(scene, told)
    yield from _told_open(told)


def _told_apart(scene: Scene, told: Sequence[Survival]) -> Iterator[str]:
    """Yield the trees lost from a planting of rows that nobody laid on a row."""
    for planting, one in zip(scene.farm.plantings, told, strict=True):
        apart = one.gone - sum(own.gone for _, own in survival_rows(scene, planting))
        if planting.rows and apart:
            trees = counted("trees_no_row", apart, "trees", about=planting.id)
            yield say("account.losses.no_row", planting=planting.name, trees=_count(trees))


def _told_open(told: Sequence[Survival]) -> Iterator[str]:
    """Yield what nobody counted, and that nothing is lost where that is so."""
    uncounted = [one.name for one in told if one.stood is None]
    if uncounted:
        yield say("account.losses.uncounted", plantings=list_words(uncounted))
    if not any(one.gone for one in told):
        yield say("account.losses.none")


def notice_words(scene: Scene, notice: LossNotice) -> Iterator[str]:
    """Yield what is to be told of a loss: how much, whether it may qualify, by when, under which rule."""
    cause = notice.cause or say("account.losses.no_cause")
    yield say("account.losses.lost", lost=_count(notice.lost), stood=_count(notice.stood),
              share=_percent(notice.share), cause=cause, plantings=list_words(notice.plantings),
              day=day_words(notice.found))  # fmt: skip
    yield _may_words(scene, notice)
    if notice.cheque is not None and notice.payable is not None:
        amount = linked(f"{notice.cheque.value:,.0f} {notice.cheque.unit}", notice.cheque)
        trees = linked(f"{notice.payable.value:.1f}", notice.payable)
        formula = linked(notice.cheque.formula, notice.cheque)
        yield say("account.losses.cheque", trees=trees, amount=amount, formula=formula)
    if notice.may_qualify is not False:
        yield _tell_words(notice)
    yield say("account.losses.rule", rule=scene.farm.rules.loss_rule or say("account.losses.no_rule_date"))


def _may_words(scene: Scene, notice: LossNotice) -> str:
    least, normal = tables.row("balance", "loss_share_least", RULE), scene.farm.rules.normal_loss
    if notice.above is None or normal is None:
        return say("account.losses.no_normal")
    usual = linked(normal.text, notice.above.parts[-1])
    key = "may" if notice.may_qualify else "not"
    return say(f"account.losses.{key}", above=_percent(notice.above), normal=usual,
               least=linked(f"{least.middle():g}", least.figure("loss_share_least")))  # fmt: skip


def _tell_words(notice: LossNotice) -> str:
    left = notice.left.value or 0.0
    replant = tables.row("balance", "loss_replant", RULE)
    key = "tell_by" if left >= 0 else "too_late"
    return say(f"account.losses.{key}", day=linked(day_words(notice.tell_by), notice.left),
               days=linked(f"{abs(left):.0f}", notice.left),
               months=linked(f"{replant.middle():g}", replant.figure("loss_replant")))  # fmt: skip


def _percent(share: Figure) -> str:
    return linked(f"{100 * (share.value or 0.0):.1f}", share)
