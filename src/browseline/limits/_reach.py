"""What stands in reach: trees, their guards and leaders, against what each kind of animal can get at.

A leader is as tall as somebody typed or measured; else, for trees on the map, as the tables of growth say,
with a range and marked a guess; else it is not known. Grown leaders are judged by the end that is worse:
they clear a kind only where even a short tree of ten stands above it. Where sources differ the larger
height is kept (conflict K12).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Literal

from browseline import tables
from browseline.farm.records import Planting
from browseline.figures import Figure, Origin, typed
from browseline.limits.form import Scene
from browseline.record.state import GuardState, HeadLine, MobState, TreeSize
from browseline.tables import Row
from browseline.units import System, factor, shown
from browseline.words import list_words

Holds = Literal["yes", "partly", "no", "unknown"]
Verdict = Literal["shut", "ask", "watch", "clear"]
NO_GUARD = ("", "none", "no", "no guard")
ANY = "any kind"
GROWN = (Origin("derived_here", "trees.md section 1, growth of the species by age", "placeholder"),)
RANK: dict[Verdict, int] = {"shut": 0, "ask": 1, "watch": 2, "clear": 3}


@dataclass(frozen=True, slots=True)
class Standing:
    """Trees of a planting as last told: alive, without a guard, guards, leader and stem if known. [cm]

    ``bare`` is None where the trees were never counted.
    """

    planting: Planting
    alive: int | None
    bare: int | None
    guards: tuple[str, ...]
    leader: Figure | None
    stem: Figure | None

    @property
    def guard(self) -> str:
        """Return the guards in the words of whoever typed them."""
        return list_words(self.guards)


@dataclass(frozen=True, slots=True)
class Judged:
    """What one kind of animal may do to one planting: *shut*, *ask*, *watch* or *clear*, and why.

    ``why`` is the tail of a key ``limits.young.<why>``.
    """

    standing: Standing
    kind: str
    verdict: Verdict
    why: str
    figures: tuple[Figure, ...] = ()


def plantings_in(scene: Scene, paddock: str) -> tuple[Planting, ...]:
    """Return the plantings of a paddock or of what it is a part of."""
    ground = scene.ground(paddock)
    return tuple(p for p in scene.farm.plantings if p.paddock is not None and p.paddock in ground)


def standing(scene: Scene, planting: Planting) -> Standing:
    """Return a planting as it stands now: what the record says wins over the farm's file."""
    return scene.once(("standing", planting.id), lambda: _standing(scene, planting))


def _standing(scene: Scene, planting: Planting) -> Standing:
    state = scene.state
    lost = sum(trees for name, trees, _, _ in state.losses if name == planting.id)
    more = sum(trees for name, trees, _ in state.planted if name == planting.id)
    alive = None if planting.trees is None else max(planting.trees + more - lost, 0)
    bare, guards = _guarded(planting, alive, [g for g in state.guards if g.planting == planting.id])
    sizes = [s for s in state.tree_sizes if s.planting == planting.id]
    return Standing(
        planting,
        alive,
        bare,
        guards,
        _leader(planting, sizes) or _grown(scene, planting),
        _stem(planting, sizes),
    )


def _guarded(
    planting: Planting, alive: int | None, told: list[GuardState]
) -> tuple[int | None, tuple[str, ...]]:
    """Return the trees without a guard, and the guards in use.

    A guard in the file stands on every tree; what the record tells is put on, mended or taken off.
    """
    typed_guard = planting.guard or ""
    words = [typed_guard] if typed_guard.casefold() not in NO_GUARD else []
    if alive is None:
        on = [g.guard for g in told if g.guard.casefold() not in NO_GUARD]
        return (0 if words else None), tuple(dict.fromkeys([*words, *on] if words else []))
    count = alive if words else 0
    for one in told:
        off = one.guard.casefold() in NO_GUARD and one.guard != ""
        count = max(min(count + (-one.trees if off else one.trees), alive), 0)
        if not off and one.guard:
            words.append(one.guard)
    return alive - count, tuple(dict.fromkeys(words)) if count else ()


def _leader(planting: Planting, sizes: list[TreeSize]) -> Figure | None:
    """Return the leader: the shortest of the newest day of measuring, else as typed in the file. [cm]"""
    read = [s for s in sizes if s.leader is not None or s.height is not None]
    if read:
        last = max(s.at.end.date() for s in read)
        found = [q for s in read if s.at.end.date() == last and (q := s.leader or s.height) is not None]
        low = min(found, key=lambda q: q.to("cm"))
        return typed("leader", low.to("cm"), "cm", low.text, about=planting.id, as_of=last)
    if planting.leader is None:
        return None
    return typed("leader", planting.leader.to("cm"), "cm", planting.leader.text, about=planting.id)


def _grown(scene: Scene, planting: Planting) -> Figure | None:
    """Return the leader by the tables of growth; None for trees that are not on the map. [cm]"""
    held = scene.trees.leaders.get(planting.id) if scene.trees is not None else None
    if held is None or held[2] <= 0:
        return None
    low, middle, high = held
    return Figure("leader", middle, "cm", low, high, origins=GROWN, about=planting.id)


def _stem(planting: Planting, sizes: list[TreeSize]) -> Figure | None:
    """Return the thinnest stem of the newest day of measuring. [cm]"""
    read = [s for s in sizes if s.dbh is not None]
    if not read:
        return None
    last = max(s.at.end.date() for s in read)
    found = [s.dbh for s in read if s.at.end.date() == last and s.dbh is not None]
    low = min(found, key=lambda q: q.to("cm"))
    return typed("stem", low.to("cm"), "cm", low.text, about=planting.id, as_of=last)


# ---------------------------------------------------------------- what each kind can do


def of_kind(table: str, key: str, kind: str) -> tuple[Row, ...]:
    """Return the rows of a coefficient for a kind: its own, and its cases after a comma."""
    names = tables.applies(table, key)
    return tuple(tables.row(table, key, name) for name in names if name.split(",")[0] == kind)


def largest(key: str, kind: str) -> Figure | None:
    """Return the largest height or stem of the table for a kind (K12), or None. [cm]"""
    found = of_kind("browsing", key, kind)
    if not found:
        return None
    row = max(found, key=lambda r: r.middle() * factor(r.unit, "cm"))
    book = row.figure(key, kind)
    return Figure(key, row.middle() * factor(row.unit, "cm"), "cm", origins=book.origins, about=kind)


def tall(height_cm: float, units: System) -> str:
    """Return a height of trees as people say it, in feet or metres."""
    return shown(height_cm * factor("cm", "m"), "distance", units)


def never_clear(kind: str) -> Figure | None:
    """Return the mark of a kind that no size of tree is safe from, or None."""
    found = of_kind("browsing", "never_clear", kind)
    return found[0].figure("never_clear", kind) if found else None


@cache
def method(text: str) -> str | None:
    """Return the guard of the table that a person's words name, or None."""
    said = "".join(c if c.isalnum() else " " for c in text.casefold()).split()
    known = {row["key"] for row in tables.texts("names") if row["list"] == "guard"}
    exact = next((m for m in known if m.casefold() == text.casefold().strip()), None)
    if exact is not None:
        return exact
    asked = {word.removesuffix("s") for word in said}
    best: tuple[int, str] | None = None
    for row in tables.texts("names"):
        words = [w.removesuffix("s") for w in row["label"].split()] if row["list"] == "guard" else []
        if words and set(words) <= asked and (best is None or len(words) > best[0]):
            best = (len(words), row["key"])
    return best[1] if best is not None else None


def held_by(guards: tuple[str, ...], kind: str) -> tuple[Holds, tuple[Figure, ...]]:
    """Return how the weakest of some guards holds a kind, and the rows that say so; "no" without any."""
    order: tuple[Holds, ...] = ("no", "unknown", "partly", "yes")
    found = [holds(guard, kind) for guard in guards]
    return min(found, key=lambda f: order.index(f[0]), default=("no", ()))


def holds(guard: str, kind: str) -> tuple[Holds, tuple[Figure, ...]]:
    """Return whether a guard holds a kind, and the rows that say so; a guard too low holds partly (K10)."""
    if guard.casefold() in NO_GUARD:
        return "no", ()
    name = method(guard)
    if name is None:
        return "unknown", ()
    try:
        row = tables.row("guards", "guard_holds", f"{name}; {kind}")
    except LookupError:
        return "unknown", ()
    share = row.middle()
    told = row.figure("guard_holds", kind)
    needed = of_kind("guards", "guard_height_needed", kind)
    if share == 1 and needed and name in tables.applies("guards", "guard_height"):
        height = tables.row("guards", "guard_height", name)
        if height.middle() < needed[0].middle():
            return "partly", (told, height.figure("guard_height"), needed[0].figure("guard_height_needed"))
    return ("yes" if share == 1 else "no" if share == 0 else "partly"), (told,)


def kinds(lines: Iterable[HeadLine]) -> tuple[str, ...]:
    """Return the kinds of animal in a mob, each once."""
    return tuple(dict.fromkeys(line.kind for line in lines if line.head > 0))


def judged(scene: Scene, mob: MobState, paddock: str) -> tuple[Judged, ...]:
    """Return every planting of a paddock against every kind of a mob, the worst first."""
    key = ("reach", kinds(mob.lines), paddock)
    return scene.once(key, lambda: _judged(scene, kinds(mob.lines), paddock))


def _judged(scene: Scene, mob_kinds: tuple[str, ...], paddock: str) -> tuple[Judged, ...]:
    found = [
        _judge(scene, standing(scene, planting), kind)
        for planting in plantings_in(scene, paddock)
        for kind in mob_kinds
    ]
    return tuple(sorted(found, key=lambda j: (RANK[j.verdict], j.standing.planting.id, j.kind)))


def _judge(scene: Scene, trees: Standing, kind: str) -> Judged:
    """Return the verdict: by guard, then by what no size is safe from, then by leader and year."""
    held, rows = held_by(trees.guards, kind)
    if trees.alive == 0 or (held == "yes" and trees.bare == 0):
        return Judged(trees, kind, "clear", "clear", rows)
    never = never_clear(kind)
    if never is not None:
        return Judged(trees, kind, "shut", "never", (never, *rows))
    if largest("browse_reach", kind) is None:
        return Judged(trees, kind, "ask", "kind_not_known")
    by_size = _by_size(scene, trees, kind)
    if held not in ("partly", "unknown") or trees.bare != 0 or by_size.verdict == "clear":
        return by_size
    # Most of the harm is held back: no hard rule, but a look, and the trees' own limit.
    if held == "unknown":
        return Judged(trees, kind, "ask", "guard_unknown", (*by_size.figures, *rows))
    return Judged(trees, kind, "watch", "guard_partly", (*by_size.figures, *rows))


def _by_size(scene: Scene, trees: Standing, kind: str) -> Judged:
    """Return the verdict on trees without a guard by leader, by stem, and by year where neither is known."""
    reach, clear, stem = (largest(k, kind) for k in ("browse_reach", "clear_height", "clear_stem"))
    if clear is None and stem is not None:
        return _by_roots(trees, kind, stem)
    leader = trees.leader
    known = tuple(f for f in (leader, reach, clear) if f is not None)
    if leader is not None and leader.low is not None and reach is not None:
        new = _still_new(trees, scene)
        if new is not None:
            return Judged(trees, kind, "shut", "new", (new,))
        return _by_growth(trees, kind, leader, leader.low, reach, clear)
    if leader is not None and reach is not None and (leader.value or 0) < (reach.value or 0):
        return Judged(trees, kind, "shut", "reach", known)
    thin = trees.stem is not None and stem is not None and (trees.stem.value or 0) < (stem.value or 0)
    if leader is not None and clear is not None and (leader.value or 0) >= (clear.value or 0):
        if thin and trees.stem is not None and stem is not None:
            return Judged(trees, kind, "watch", "thin", (trees.stem, stem))
        return Judged(trees, kind, "clear", "clear", known)
    if leader is not None:
        return Judged(trees, kind, "watch", "near", known)
    new = _still_new(trees, scene)
    if new is not None:
        return Judged(trees, kind, "shut", "new", (new,))
    return Judged(trees, kind, "ask", "leader_not_known", tuple(f for f in (reach, clear) if f))


def _by_roots(trees: Standing, kind: str, stem: Figure) -> Judged:
    """Return the verdict on a kind that cuts roots, from which no height of leader is clear: by stem alone.

    Stems that nobody measured count as thin: such a kind keeps off young trees and what sprouts.
    """
    if trees.stem is not None and (trees.stem.value or 0) >= (stem.value or 0):
        return Judged(trees, kind, "clear", "clear", (trees.stem, stem))
    return Judged(trees, kind, "shut", "roots", (*((trees.stem,) if trees.stem else ()), stem))


def _still_new(trees: Standing, scene: Scene) -> Figure | None:
    """Return the years that new trees are kept shut, where a planting is not that old yet; else None."""
    first = tables.row("browsing", "keep_out_first", ANY)
    planted = trees.planting.planted
    young = planted is not None and scene.days[0].year - planted < (first.low or 0)
    return first.figure("keep_out_first") if young else None


def _by_growth(
    trees: Standing, kind: str, leader: Figure, low_cm: float, reach: Figure, clear: Figure | None
) -> Judged:
    """Return the verdict on a leader that nobody measured: shut where the middle tree is in reach.

    Where only short trees may be in reach it asks for a measure; young trees stay shut whatever the tables
    say of their leaders (``_still_new``).
    """
    known = tuple(f for f in (leader, reach, clear) if f is not None)
    if (leader.value or 0) < (reach.value or 0):
        return Judged(trees, kind, "shut", "reach_grown", known)
    if low_cm < (reach.value or 0):
        return Judged(trees, kind, "ask", "leader_not_known", known)
    sure = clear is not None and low_cm >= (clear.value or 0)
    return Judged(trees, kind, "clear" if sure else "watch", "clear" if sure else "near", known)


def rows_for(kind: str) -> tuple[Row, ...]:
    """Return the rows that reach and guards rest on for a kind."""
    keys = ("browse_reach", "clear_height", "clear_stem", "never_clear")
    own = [row for key in keys for row in of_kind("browsing", key, kind)]
    guards = [
        tables.row("guards", "guard_holds", name)
        for name in tables.applies("guards", "guard_holds")
        if name.rpartition("; ")[2] == kind
    ]
    return (*own, *guards, *of_kind("guards", "guard_height_needed", kind))
