"""p7, a neighbour lends 20 goats: a mob of its own on the brush beside 10, and what follows it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from browseline.chain import Picture, today
from browseline.chain.answers import answer_to
from browseline.chain.purpose import purposes
from browseline.events import Borrowed, Event, Looked, Moved, Returned
from browseline.farm.needs import demand
from browseline.limits import faces, ready
from browseline.moves.season import plan
from tests.acceptance.cases import EWE, at, entry, farm_folder, lb, mob, page, quantity, seen, walked

COME, HOME = "2026-08-01 09:00", "2026-08-22 09:00"
TREED = {"5", "6", "7", "10"}


def goats(to: str = "brush") -> Event:
    body = Borrowed(
        20, "goat", "doe range browsing", date(2026, 8, 22), "the neighbour", to,
        quantity("110 lb", "mass"), quantity("3.85 lb/d", "intake"),
    )  # fmt: skip
    return entry(COME, "goats", body)


def lent(folder: Path, *events: Event, now: str = "2026-08-02 07:00", inches: float = 7.0) -> Picture:
    """Return the farm of the cases with 1.5 ac of brush beside 10, and the goats on it."""
    job = {"id": "clear", "name": "Clear the brush", "kind": "brush", "paddock": "brush", "mob": "goats",
           "target": "15 %", "from": date(2026, 8, 1), "beside": ["hazel"]}  # fmt: skip
    farm_folder(folder, as_of=date(2026, 7, 31), mobs=[mob(EWE | {"intake": "2.6 lb/d"}, place="1",
                since="2026-07-31 08:00")], jobs=[job])  # fmt: skip
    text: Any = tomlkit.parse((folder / "farm.toml").read_text("utf-8")).unwrap()
    text["paddocks"].append({"id": "brush", "name": "the brush", "deeded": "1.5 ac", "water": "trough"})
    (folder / "farm.toml").write_text(tomlkit.dumps(text), "utf-8")
    heights = walked("2026-07-31 08:00", [inches] * 12)
    return seen(folder, now, [*heights, goats(), *events])


def test_p7_they_eat_77_lb_a_day(tmp_path: Path) -> None:
    """20 x 110 lb x 3.5 % (common practice, typed as 3.85 lb a head)."""
    found = lent(tmp_path).state.mob("goats")
    assert found is not None
    eaten = demand(found.lines)
    assert eaten is not None
    assert lb(eaten.value) == pytest.approx(77, rel=0.01)


def test_p7_a_mob_of_its_own_with_owner_count_and_due_date(tmp_path: Path) -> None:
    picture = lent(tmp_path)
    found = picture.state.mob("goats")
    assert found is not None
    assert (found.owner, found.due, found.head) == ("the neighbour", date(2026, 8, 22), 20)
    assert found.place == "brush"
    ewes = picture.state.mob("ewes")
    assert ewes is not None
    assert ewes.head == 60


def test_p7_the_brush_is_no_place_for_sheep_until_26_september(tmp_path: Path) -> None:
    picture = lent(tmp_path, entry(HOME, "goats", Returned()), now="2026-08-23 07:00")
    worms = next(r for r in ready(picture.scene, "ewes", "brush") if r.limit == "worms")
    assert worms.moment is not None
    assert worms.moment.likely.astimezone(at(HOME).tzinfo).date() == date(2026, 9, 26)
    home = picture.state.mob("goats")
    assert home is not None
    assert home.ended is not None


def test_p7_goats_are_never_proposed_among_trees(tmp_path: Path) -> None:
    picture = lent(tmp_path)
    scene = picture.scene
    m = [x.id for x in scene.mobs].index("goats")
    shut = {p for face in faces(scene) if face.closed is not None
            for i, p in enumerate(scene.paddocks) if face.closed[m, :, i].all()}  # fmt: skip
    assert shut >= TREED
    part = next(x for x in today(picture).mobs if x.id == "goats")
    assert part.next is None or part.next.paddock not in TREED
    season = plan(replace(scene, memo={}), None, 100)
    assert not {s.stay.place for s in season.stays if s.stay.mob == "goats"} & TREED
    assert all(planting.paddock for planting in picture.farm.plantings if planting.id != "oaks")


def test_p7_says_what_must_be_on_the_page(tmp_path: Path) -> None:
    event = goats()
    picture = lent(tmp_path)
    said = " ".join([*answer_to(event, picture), page(purposes(picture).jobs)])
    for words in (
        "Go by leaf left, not days", "main way that disease comes", "apart 30 days", "to 31 Aug",
        "water of their own", "tag numbers", "worm medicine", "Sheep mineral is not goat mineral", "copper",
        "Goats strip bark", "brush takes years", "Two barriers, both charged", "Hazel in 10",
        "Horned goats tangle in netting", "who pays the vet", "until 26 Sep", "77 lb/d",
    ):  # fmt: skip
        assert words in said


def test_p7_the_job_ends_by_leaf_left(tmp_path: Path) -> None:
    leafy = entry("2026-08-10 08:00", "brush", Looked("brush", leaf=quantity("40 %", "share")))
    bare = entry("2026-08-14 08:00", "brush", Looked("brush", leaf=quantity("12 %", "share")))
    going = purposes(lent(tmp_path / "a", leafy, now="2026-08-15 07:00")).jobs[0]
    ended = purposes(lent(tmp_path / "b", leafy, bare, now="2026-08-15 07:00")).jobs[0]
    assert (going.done, ended.done) == (False, True)
    assert "12 %" in ended.reached


def test_p7_trap_added_to_the_sheep_mob(tmp_path: Path) -> None:
    """Lent goats moved into the ewes' paddock stay a mob of their own, and the count of ewes is the ewes'."""
    picture = lent(tmp_path, entry("2026-08-02 06:00", "goats", Moved("1")))
    ewes, found = picture.state.mob("ewes"), picture.state.mob("goats")
    assert ewes is not None
    assert found is not None
    assert [line.kind for line in ewes.lines] == ["sheep"]
    assert found.owner == "the neighbour"
    assert "goat" not in page(today(picture).mobs[0].heads)


def test_p7_lent_without_owner_or_day_is_told_so(tmp_path: Path) -> None:
    """Lent heifers: no goat words, no worm words; what nobody typed is said to be missing."""
    heifers = entry("2026-08-01 09:30", "heifers", Borrowed(5, "cattle", "dairy heifer", to="2"))
    said = " ".join(answer_to(heifers, lent(tmp_path, heifers)))
    assert "a day not typed" in said
    assert "an owner not typed" in said
    assert "apart 30 days" in said
    for words in ("leaf left", "copper", "for worms"):
        assert words not in said


def test_p7_lent_ducks_of_which_nothing_is_known(tmp_path: Path) -> None:
    ducks = entry("2026-08-01 09:30", "ducks", Borrowed(5, "duck", "layers", to="2"))
    said = " ".join(answer_to(ducks, lent(tmp_path, ducks)))
    assert "They eat" not in said
    assert "apart 30 days" in said
