"""What no limit may do: come later for more animals, wetter ground, shorter grass, smaller trees."""

from __future__ import annotations

import ast
import pkgutil
import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from browseline import limits
from browseline.events import When
from browseline.farm.records import Farm, Planting, Rules
from browseline.limits import Bite, Scene, bites
from browseline.record.state import CutDone, GroundLook, HeadLine, MobState, State, Stay, TreeLook
from browseline.units import parse
from tests.small_farm import NOW, farm, scene, state

KINDS = {"sheep": "ewe maintenance", "goat": "doe maintenance", "cattle": "beef cow lactating", "pig": "sow"}
SOME = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
NEVER = float("inf")


def mob(kind: str, head: int, kg_d: float, been_d: float) -> MobState:
    line = HeadLine(kind, KINDS[kind], head, parse("70 kg", "mass"), parse(f"{kg_d:.3f} kg/d", "intake"))
    return MobState("ewes", "Ewes", (line,), "1", When.at(NOW - timedelta(days=been_d)))


def planted(leader_cm: float | None, guard: str | None, species: str = "willow") -> Farm:
    leader = parse(f"{leader_cm:.1f} cm", "length") if leader_cm is not None else None
    rows = Planting("rows", "Rows", species, "1", 2020, 40, leader=leader, guard=guard)
    return farm((3.0, 2.0), plantings=(rows,))


def told(
    farm_: Farm, animals: MobState, height_cm: float, *looks: TreeLook, came: MobState | None = None
) -> Scene:
    """Return a scene; ``came`` is the mob as it was when it came, if it is another now."""
    assert animals.since is not None
    stays = (Stay(animals.id, "1", animals.since),)
    heads = ((animals.since.start, "ewes", (came or animals).lines), (NOW, "ewes", animals.lines))
    made = state(farm_, height=f"{height_cm:.2f} cm", mob=animals, stays=stays, looks=looks, heads=heads)
    return scene(farm_, made, members=7, horizon_d=30)


def first(of: Scene, only: tuple[str, ...] = ()) -> dict[str, float]:
    """Return the instant at which each limit first bites; never where it is only asked, or silent."""
    out: dict[str, float] = {}
    for bite in bites(of, "ewes", "1"):
        when = bite.moment.likely.timestamp() if bite.moment is not None else NEVER
        if not only or bite.limit in only:
            out[bite.limit] = min(out.get(bite.limit, NEVER), when)
    return out


def never_later(now: dict[str, float], before: dict[str, float]) -> None:
    for name, when in before.items():
        # a millionth of a day for the sum of floating days
        assert now.get(name, NEVER) <= when + 0.1, name


@dataclass(frozen=True)
class Case:
    """One mob in one paddock with one planting, and perhaps a look at it."""

    kind: str
    head: int
    kg_d: float
    been_d: float
    height_cm: float
    leader_cm: float | None
    guard: str | None
    seen: int | None
    bitten: int
    ago_d: float

    def looks(self) -> tuple[TreeLook, ...]:
        """Return one look in the stay that goes on, where the stay is long enough for one."""
        if self.seen is None or self.been_d < 0.5:
            return ()
        at = NOW - timedelta(days=min(self.ago_d, self.been_d - 0.2))
        return (TreeLook("1", "rows", When.at(at), self.seen, min(self.bitten, self.seen), 0, "look"),)

    def mob(self) -> MobState:
        """Return the animals."""
        return mob(self.kind, self.head, self.kg_d, self.been_d)

    def first(self, only: tuple[str, ...] = (), came: Case | None = None) -> dict[str, float]:
        """Return when each limit first bites; ``came`` is the case that the mob came as."""
        place, was = planted(self.leader_cm, self.guard), came.mob() if came is not None else None
        return first(told(place, self.mob(), self.height_cm, *self.looks(), came=was), only)


CASES = st.builds(
    Case, st.sampled_from(sorted(KINDS)), st.integers(5, 80), st.floats(0.8, 4.0), st.floats(0.0, 3.0),
    st.floats(8.0, 30.0), st.one_of(st.none(), st.floats(30, 400)),
    st.sampled_from([None, "tube", "cage", "cage two posts", "a thing"]),
    st.one_of(st.none(), st.integers(5, 40)), st.integers(0, 5), st.floats(0.3, 3.0),
)  # fmt: skip


@SOME
@given(CASES, st.floats(1.0, 4.0))
def test_hungrier_never_makes_a_limit_later(case: Case, times: float) -> None:
    never_later(replace(case, kg_d=case.kg_d * times).first(came=case), case.first())


@SOME
@given(CASES, st.integers(0, 100))
def test_more_animals_never_make_a_limit_later(case: Case, more: int) -> None:
    never_later(replace(case, head=case.head + more).first(came=case), case.first())


@SOME
@given(CASES, st.floats(0.0, 4.0))
def test_a_longer_stay_never_makes_a_limit_later(case: Case, more: float) -> None:
    """Without a look: the same bites after a longer stay are a slower rate, and rightly later."""
    case = replace(case, seen=None)
    never_later(replace(case, been_d=case.been_d + more).first(), case.first())


@SOME
@given(CASES, st.floats(0.1, 1.0))
def test_a_shorter_sward_never_makes_trees_later(case: Case, times: float) -> None:
    only = ("trees", "young")
    never_later(replace(case, height_cm=case.height_cm * times).first(only), case.first(only))


@SOME
@given(CASES, st.floats(30, 400), st.floats(0.1, 1.0))
def test_a_smaller_tree_never_makes_trees_later(case: Case, leader_cm: float, times: float) -> None:
    only = ("trees", "young")
    tall = replace(case, leader_cm=leader_cm)
    never_later(replace(case, leader_cm=leader_cm * times).first(only), tall.first(only))


@SOME
@given(CASES)
def test_a_missing_guard_never_makes_trees_later(case: Case) -> None:
    only = ("trees", "young")
    never_later(replace(case, guard=None).first(only), case.first(only))


@SOME
@given(CASES, st.integers(1, 5))
def test_more_bites_seen_never_make_trees_later(case: Case, more: int) -> None:
    only = ("trees", "young")
    case = replace(case, seen=case.seen or 30)
    never_later(replace(case, bitten=case.bitten + more).first(only), case.first(only))


# ---------------------------------------------------------------- wetter


@SOME
@given(st.floats(0.5, 20.0), st.floats(0.0, 5.0), st.integers(0, 25), st.booleans())
def test_hay_that_takes_longer_never_opens_its_ground_sooner(
    days_d: float, more_d: float, ago_d: int, off: bool
) -> None:
    cut = CutDone("2", When.at(NOW - timedelta(days=ago_d)), "hay", off=off)
    shut = []
    for lies in (days_d, days_d + more_d):
        place = replace(farm((3.0, 2.0)), rules=Rules(hay_days=parse(f"{lies:.4f} d", "time")))
        seen = scene(place, state(place, cuts=(cut,)), members=3, horizon_d=30)
        (face,) = [one for one in limits.faces(seen) if one.name == "hay"]
        assert face.closed is not None
        assert not face.closed[:, :, 0].any()
        days = face.closed[0, :, 1]
        assert days.tolist() == sorted(days.tolist(), reverse=True), "shut from today on, then open"
        told_now = any(bite.limit == "hay" for bite in bites(seen, "ewes", "2"))
        waits = any(one.limit == "hay" for one in limits.ready(seen, "ewes", "2"))
        assert told_now is waits is bool(days[0])
        shut.append(int(days.sum()))
    assert shut[0] == (0 if off else max(int(np.ceil(round(days_d, 4))) - ago_d, 0))
    assert shut[0] <= shut[1]


@pytest.fixture(scope="module")
def damp() -> Scene:
    place = farm((3.0, 2.0), weather=True)
    return scene(place, members=7, horizon_d=30)


def wet(of: Scene, missing_mm: float, rain_mm: float, kind: str = "sheep") -> Scene:
    """Return a scene with so much water missing in every member, more in each, and rain typed ahead."""
    more = np.arange(of.herbage.members, dtype=float)[:, None]
    deficit = np.full(of.herbage.mass_kg_ha.shape, missing_mm) + more
    day = of.days[0]
    ahead = ((day, day + timedelta(days=3), parse(f"{rain_mm:.2f} mm", "length")),)
    animals = mob(kind, 20, 2.0, 1.0)
    state_ = replace(of.state, mobs=(animals,), rain_ahead=ahead)
    herbage = replace(of.herbage, deficit_mm=deficit)
    return replace(of, herbage=herbage, state=state_, mobs=(animals,), memo={})


@SOME
@given(
    st.floats(0, 40), st.floats(0, 40), st.floats(0, 40), st.floats(0, 40), st.sampled_from(["sheep", "pig"])
)
def test_wetter_never_makes_ground_or_worms_later(
    damp: Scene, missing: float, drier: float, rain: float, more_rain: float, kind: str
) -> None:
    names = ("ground", "worms")
    dry = first(wet(damp, missing + drier, rain, kind), names)
    never_later(first(wet(damp, missing, rain + more_rain, kind), names), dry)


def test_rain_in_the_gauge_never_makes_ground_or_worms_later() -> None:
    place = farm((3.0, 2.0), weather=True)

    def after(mm: float) -> dict[str, float]:
        days = [(date(2026, 5, d), parse(f"{mm} mm", "length")) for d in (1, 2, 3, 4, 5)]
        return first(
            scene(place, state(place, rain=tuple(days)), members=7, horizon_d=30), ("ground", "worms")
        )

    found = [after(mm) for mm in (0, 10, 60)]
    assert "ground" in found[-1]
    for drier, wetter in pairwise(found):
        never_later(wetter, drier)


# ---------------------------------------------------------------- one file each


def everything() -> Scene:
    """Return a scene in which many limits have something to say."""
    place = planted(100.0, None)
    at = When.at(NOW - timedelta(hours=2))
    looks = (TreeLook("1", "rows", at, 30, 5, 2, "look"),)
    made = told(place, mob("sheep", 60, 2.0, 2.0), 20.0, *looks)
    ground = (GroundLook("1", at, parse("40 %", "share"), "deep", "", "g"),)
    animals: State = replace(made.state, ground=ground)
    return replace(made, state=animals, memo={})


OWN = sorted(p.stem for p in Path(limits.__file__).parent.glob("*.py")
             if p.stem not in ("__init__", "form") and not p.stem.startswith("_"))  # fmt: skip


@pytest.fixture
def fresh() -> Iterator[None]:
    limits.known.cache_clear()
    yield
    limits.known.cache_clear()


@pytest.mark.usefixtures("fresh")
@pytest.mark.parametrize("gone", OWN)
def test_a_file_removed_leaves_the_others_unchanged(gone: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def others() -> list[Bite]:
        return [b for b in bites(everything(), "ewes", "1") if b.limit not in of_file]

    of_file = {limits.__dict__[gone].LIMIT.name} if gone in limits.__dict__ else {gone}
    of_file |= {"regrowth"} if gone == "grass" else set()
    whole = others()
    assert whole
    found = pkgutil.iter_modules
    monkeypatch.setattr(pkgutil, "iter_modules",
                        lambda path: [m for m in found(path) if m.name != gone])  # fmt: skip
    monkeypatch.setitem(sys.modules, f"browseline.limits.{gone}", None)  # importing it now fails
    limits.known.cache_clear()
    assert gone not in {limit.name for limit in limits.known()}
    assert others() == whole


@pytest.mark.parametrize("name", OWN)
def test_no_limit_imports_another(name: str) -> None:
    tree = ast.parse((Path(limits.__file__).parent / f"{name}.py").read_text(encoding="utf-8"))
    named = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and node.module}
    assert {f"browseline.limits.{other}" for other in OWN} & named == set()
