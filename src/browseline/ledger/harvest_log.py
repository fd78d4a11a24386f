"""The harvest log: every pick with its row, picker and weight, and when the ground under it was last grazed.

A planting that is typed row by row is counted row by row and by cultivar; what was entered without its
row stays with the planting and is told apart, never laid on a row. All rows of a planting lie on one
ground, so whatever part of it was grazed last counts for each of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from browseline.events import Event, Picked
from browseline.farm.records import Planting, TreeRow
from browseline.figures import Figure, entered, typed
from browseline.ledger.account import Account, dated, happened
from browseline.ledger.facts import days_between
from browseline.ledger.losses import survival, survival_rows
from browseline.limits import Scene
from browseline.units import Quantity, shown
from browseline.words import linked, list_words, say

HEAD = ("day", "row", "picker", "weight", "grazed", "days")


@dataclass(frozen=True)
class Pick:
    """One entry of the log. ``row`` is empty where it was not said; ``grazed`` None where never on record.

    ``days`` are those from the last day of grazing to the pick.
    """

    planting: str
    row: str
    day: date
    who: str
    amount: Quantity
    grazed: date | None
    days: Figure | None


@dataclass(frozen=True)
class RowYield:
    """What a row bore in a year: in all, and for each tree alive now where those are counted. [kg]

    ``row`` is empty for what was entered for the planting without a row.
    """

    planting: str
    row: str
    name: str
    cultivar: str
    year: int
    picked: Figure
    a_tree: Figure | None
    grazed: date | None


def picks(scene: Scene, events: Iterable[Event]) -> tuple[Pick, ...]:
    """Return every pick that stands, in order of time."""
    return tuple(
        _pick(scene, event, event.body)
        for event in happened(events, scene.now)
        if isinstance(event.body, Picked)
    )


def _pick(scene: Scene, event: Event, body: Picked) -> Pick:
    planting = _planting(scene, event.subject)
    day = scene.local(event.observed.end).date()
    grazed = (
        last_grazed(scene, planting.paddock, event.observed.end) if planting and planting.paddock else None
    )
    days = days_between(grazed, day) if grazed is not None else None
    return Pick(event.subject, body.row, day, body.who or event.who, body.amount, grazed, days)


def _planting(scene: Scene, ident: str) -> Planting | None:
    return next((p for p in scene.farm.plantings if p.id == ident), None)


def last_grazed(scene: Scene, paddock: str, before: datetime) -> date | None:
    """Return the last day on which animals stood on a paddock or a part of it; None if never on record."""
    ends = [
        min(stay.end.end if stay.end is not None else before, before)
        for stay in scene.state.stays
        if not stay.planned and paddock in scene.ground(stay.place) and stay.begin.start < before
    ]
    return scene.local(max(ends)).date() if ends else None


# ---------------------------------------------------------------- by row


def yields(scene: Scene, events: Iterable[Event]) -> tuple[RowYield, ...]:
    """Return what each row bore in each year, the rows of a planting in its order, the newest year first."""
    found: dict[tuple[str, str, int], list[Pick]] = {}
    for pick in picks(scene, events):
        found.setdefault((pick.planting, pick.row, pick.day.year), []).append(pick)
    order = {p.id: n for n, p in enumerate(scene.farm.plantings)}

    def place(key: tuple[str, str, int]) -> tuple[int, int, int]:
        planting = _planting(scene, key[0])
        rows = [row.id for row in planting.rows] if planting is not None else []
        return (-key[2], order.get(key[0], len(order)), rows.index(key[1]) if key[1] in rows else len(rows))

    return tuple(_yield(scene, *key, found[key]) for key in sorted(found, key=place))


def _yield(scene: Scene, ident: str, row: str, year: int, own: Sequence[Pick]) -> RowYield:
    planting = _planting(scene, ident)
    typed = next((r for r in planting_rows(planting) if r.id == row), None)
    about = f"{ident}/{row}" if row else ident
    entries = [(p.amount.to("kg"), p.amount.text, p.day, p.who) for p in own]
    picked = entered("picked", "kg", entries, about=about)
    counts = typed is not None or not planting_rows(planting)
    trees = _trees(scene, planting, typed) if planting is not None and counts else None
    name, said = planting.name if planting is not None else ident, typed.name if typed is not None else row
    return RowYield(
        ident, row, say("account.yield.row", planting=name, row=said) if said else name,
        (typed.cultivar or "") if typed is not None else "", year, picked, _a_tree(picked, trees, about),
        max((p.grazed for p in own if p.grazed is not None), default=None),
    )  # fmt: skip


def _a_tree(picked: Figure, trees: Figure | None, about: str) -> Figure | None:
    """Return what was picked for each tree alive now; None where they are not counted. [kg]"""
    if trees is None or not trees.value:
        return None
    value = (picked.value or 0.0) / trees.value
    formula = f"{picked.value:.4g} kg ÷ {trees.value:.0f}"
    return Figure("picked_a_tree", value, "kg", formula=formula, parts=(picked, trees), about=about)


def planting_rows(planting: Planting | None) -> tuple[TreeRow, ...]:
    """Return the typed rows of a planting; none where there is no such planting."""
    return planting.rows if planting is not None else ()


def _trees(scene: Scene, planting: Planting, row: TreeRow | None) -> Figure | None:
    """Return the trees alive in a row, or in the planting where no row is said. [trees]"""
    if row is not None:
        return next((own.alive_figure for r, own in survival_rows(scene, planting) if r.id == row.id), None)
    return next((own.alive_figure for own in survival(scene) if own.planting == planting.id), None)


# ---------------------------------------------------------------- the page


def yield_account(scene: Scene, events: Sequence[Event]) -> Account:
    """Return the page: yield by row and cultivar in sentences, every pick as a table."""
    rows, log = yields(scene, events), picks(scene, events)
    figures = [f for one in rows for f in (one.picked, one.a_tree) if f is not None]
    figures += [pick.days for pick in log if pick.days is not None]
    head = tuple(say(f"account.yield.head.{column}") for column in HEAD)
    sentences = tuple(_told(scene, rows)) or (say("account.yield.none"),)
    table = tuple(_line(scene, pick) for pick in reversed(log))
    return Account("browseline/yield/1", "yield", sentences, tuple(figures), head if table else (), table)


def _mass(scene: Scene, figure: Figure) -> str:
    return linked(shown(figure.value or 0.0, "mass", scene.farm.units), figure)


def _told(scene: Scene, rows: Sequence[RowYield]) -> Iterator[str]:
    for one in rows:
        grazed = (
            say("account.yield.grazed", day=dated(one.grazed)) if one.grazed else say("account.yield.never")
        )
        planting = _planting(scene, one.planting)
        fields = {"row": one.name, "year": one.year, "amount": _mass(scene, one.picked), "grazed": grazed}
        if not one.row and planting_rows(planting):
            yield say("account.yield.no_row", **fields)
        elif one.a_tree is None:
            yield say("account.yield.all", **fields)
        else:
            yield say("account.yield.tree", each=_mass(scene, one.a_tree), **fields)
    yield from _cultivars(scene, rows)


def _cultivars(scene: Scene, rows: Sequence[RowYield]) -> Iterator[str]:
    """Yield what each cultivar bore in each year, where the rows tell cultivars apart."""
    found: dict[tuple[int, str], list[RowYield]] = {}
    for one in rows:
        if one.cultivar:
            found.setdefault((one.year, one.cultivar), []).append(one)
    for (year, cultivar), own in found.items():
        names, amount = list_words(one.name for one in own), _mass(scene, _together(own, cultivar))
        yield say("account.yield.cultivar", cultivar=cultivar, year=year, amount=amount, rows=names)


def _together(rows: Sequence[RowYield], about: str) -> Figure:
    """Return what rows bore together. [kg]"""
    parts = tuple(one.picked for one in rows)
    total, formula = sum(p.value or 0.0 for p in parts), " + ".join(f"{p.value:.4g} kg" for p in parts)
    return Figure("picked", total, "kg", formula=formula, parts=parts, about=about)


def _line(scene: Scene, pick: Pick) -> tuple[str, ...]:
    planting = _planting(scene, pick.planting)
    row = next((r.name for r in planting_rows(planting) if r.id == pick.row), pick.row)
    name = planting.name if planting is not None else pick.planting
    place = say("account.yield.row", planting=name, row=row) if row else name
    kg, said = pick.amount.to("kg"), pick.amount.text
    figure = typed("picked", kg, "kg", said, about=pick.row or pick.planting, as_of=pick.day, who=pick.who)
    weight = _mass(scene, figure)
    grazed = dated(pick.grazed) if pick.grazed is not None else say("account.yield.not_on_record")
    days = linked(f"{pick.days.value:.0f}", pick.days) if pick.days is not None else ""
    return (dated(pick.day), place, pick.who, weight, grazed, days)
