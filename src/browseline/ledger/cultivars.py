"""Cultivars by the record: how many live, of what they died, how often they were bitten, what they bore.

A region's tree crop that was lost, or is new, is judged by such counts over decades. A row counts for its
cultivar and rootstock; a planting without rows counts where it names one cultivar.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from browseline.events import Event, Looked
from browseline.farm.records import Planting
from browseline.figures import NINE_TENTHS, Figure, Origin
from browseline.ledger.account import Account, dated, happened
from browseline.ledger.facts import counted
from browseline.ledger.harvest_log import RowYield, yields
from browseline.ledger.losses import Survival, survival, survival_rows
from browseline.limits import Scene
from browseline.science.shares import score_interval
from browseline.units import shown
from browseline.words import joined, linked, list_words, say

COLUMNS = ("cultivar", "stood", "alive", "causes", "bitten", "bore")
FEW = 20
"""Below so many trees a share says little; the tool's own. [trees]"""


@dataclass
class Counted:
    """Everything on record of one cultivar on one rootstock."""

    species: str
    cultivar: str
    rootstock: str
    where: list[str] = field(default_factory=list)
    stood: list[Figure] = field(default_factory=list)
    alive: list[Figure] = field(default_factory=list)
    causes: Counter[str] = field(default_factory=Counter)
    seen: int = 0
    bitten: int = 0
    barked: int = 0
    judged: int = 0
    sick: int = 0
    bore: list[RowYield] = field(default_factory=list)

    @property
    def name(self) -> str:
        """Return what it is called: cultivar on rootstock."""
        if not self.rootstock:
            return self.cultivar
        return say("account.cultivars.on", cultivar=self.cultivar, rootstock=self.rootstock)


def cultivars(scene: Scene, events: Iterable[Event]) -> tuple[Counted, ...]:
    """Return every cultivar that the farm names, in order of species and name."""
    happenings = happened(events, scene.now)
    found: dict[tuple[str, str, str], Counted] = {}
    whole = {one.planting: one for one in survival(scene)}
    bore = yields(scene, happenings)
    for planting in scene.farm.plantings:
        for cultivar, rootstock, row, own in _parts(scene, planting, whole[planting.id]):
            key = (planting.species, cultivar, rootstock)
            one = found.setdefault(key, Counted(*key))
            _add(one, planting, row, own, happenings)
            one.bore += [y for y in bore if y.planting == planting.id and y.row == row]
    return tuple(found[key] for key in sorted(found))


def _parts(scene: Scene, planting: Planting, whole: Survival) -> Iterator[tuple[str, str, str, Survival]]:
    """Yield cultivar, rootstock, row and survival of what counts for one cultivar."""
    for row, own in survival_rows(scene, planting):
        if row.cultivar:
            yield row.cultivar, row.rootstock or planting.rootstock or "", row.id, own
    if not planting.rows and len(planting.cultivars) == 1:
        yield planting.cultivars[0], planting.rootstock or "", "", whole


def _add(one: Counted, planting: Planting, row: str, own: Survival, events: Sequence[Event]) -> None:
    one.where.append(own.name if row else planting.name)
    if own.stood_figure is not None and own.alive_figure is not None:
        one.stood += [own.stood_figure, own.planted_figure]
        one.alive.append(own.alive_figure)
    for cause, trees in own.lost:
        one.causes[cause] += trees
    for event in events:
        body = event.body
        if isinstance(body, Looked) and body.planting == planting.id and body.row == row and body.seen:
            one.seen += body.seen
            one.bitten += body.bitten or 0
            one.barked += body.barked or 0
            if body.sick is not None:
                one.judged += body.seen
                one.sick += body.sick


# ---------------------------------------------------------------- the page


def cultivars_account(scene: Scene, events: Iterable[Event]) -> Account:
    """Return the page: one line a cultivar, and what the counts cannot say."""
    found = cultivars(scene, events)
    head = tuple(say(f"account.cultivars.head.{column}") for column in COLUMNS)
    rows = tuple(_row(scene, one) for one in found)
    said = tuple(_told(scene, found))
    return Account("browseline/cultivars/1", "cultivars", said, (), head if rows else (), rows)


def _row(scene: Scene, one: Counted) -> tuple[str, ...]:
    stood = _sum("trees_stood", one.stood, one.name)
    causes = joined((_cause(one, cause, trees) for cause, trees in sorted(one.causes.items())), "; ")
    none = say("account.cultivars.none")
    return (one.name, _trees(stood), _alive(one, stood), causes or none, _bitten(one), _bore(scene, one))


def _sum(name: str, parts: Sequence[Figure], about: str) -> Figure | None:
    if not parts:
        return None
    formula = " + ".join(f"{part.value:.0f}" for part in parts)
    total = sum(part.value or 0.0 for part in parts)
    return Figure(name, total, "trees", parts=tuple(parts), formula=formula, about=about)


def _trees(figure: Figure | None) -> str:
    return linked(f"{figure.value:.0f}", figure) if figure is not None else say("account.not_known")


def _alive(one: Counted, stood: Figure | None) -> str:
    """Return the trees alive, and their share with its 80 % interval."""
    alive = _sum("trees_alive", one.alive, one.name)
    if alive is None or stood is None or not stood.value:
        return say("account.not_known")
    low, high = score_interval(round(alive.value or 0), round(stood.value), NINE_TENTHS)
    share = Figure(
        "trees_alive_share", (alive.value or 0.0) / stood.value, "1", low, high, parts=(alive, stood),
        formula=f"{alive.value:.0f} ÷ {stood.value:.0f}", about=one.name,
    )  # fmt: skip
    said = linked(f"{100 * (share.value or 0.0):.0f} % ({100 * low:.0f}–{100 * high:.0f})", share)
    return say("account.cultivars.alive", trees=_trees(alive), share=said)


def _cause(one: Counted, cause: str, trees: int) -> str:
    figure = counted("trees_lost", trees, "trees", about=f"{one.name} {cause}".strip())
    return say("account.losses.by", trees=_trees(figure), cause=cause or say("account.losses.no_cause"))


def _bitten(one: Counted) -> str:
    if not one.seen:
        return say("account.cultivars.no_look")
    seen = counted("trees_seen", one.seen, "trees", about=one.name)
    hit = counted("trees_bitten", one.bitten + one.barked, "trees", about=one.name)
    told = [say("account.cultivars.bitten", hit=_trees(hit), seen=_trees(seen))]
    if one.judged:
        judged = counted("trees_seen", one.judged, "trees", about=one.name)
        sick = counted("trees_sick", one.sick, "trees", about=one.name)
        told.append(say("account.cultivars.sick", hit=_trees(sick), seen=_trees(judged)))
    return joined(told, "; ")


def _bore(scene: Scene, one: Counted) -> str:
    told = []
    for bore in sorted(one.bore, key=lambda y: (y.year, y.row)):
        figure = bore.a_tree or bore.picked
        key = "a_tree" if bore.a_tree is not None else "in_all"
        amount = linked(shown(figure.value or 0.0, "mass", scene.farm.units), figure)
        told.append(say(f"account.cultivars.{key}", year=bore.year, amount=amount))
    return joined(told, "; ") or say("account.cultivars.none")


def _told(scene: Scene, found: Sequence[Counted]) -> Iterator[str]:
    if not found:
        yield say("account.cultivars.unnamed")
        return
    yield say("account.losses.since", day=dated(scene.farm.as_of))
    few = [one.name for one in found if sum(f.value or 0.0 for f in one.stood) < FEW]
    if few:
        yield say("account.cultivars.few", cultivars=list_words(few), trees=linked(f"{FEW}", _few()))
    yield say("account.cultivars.resistance")
    mixed = [p.name for p in scene.farm.plantings if not p.rows and len(p.cultivars) > 1]
    if mixed:
        yield say("account.cultivars.mixed", plantings=list_words(mixed))


def _few() -> Figure:
    return Figure("few_trees", float(FEW), "trees", origins=(Origin("farm", basis="placeholder"),))
