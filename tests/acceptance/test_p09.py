"""p9, pigs in the wood lot: cells, stays, the early move, the lock when wet; never grazers on grass."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tomlkit

from browseline import tables
from browseline.chain import Picture, today
from browseline.chain.purpose import JobPart, purposes
from browseline.events import Event, Guarded, Looked, TreeMeasured
from browseline.limits import bites, faces
from browseline.limits._places import places
from browseline.moves.season import plan
from browseline.units import factor
from tests.acceptance.cases import EWE, entry, farm_folder, mob, page, quantity, seen, walked

PIGS = {"id": "pigs", "name": "Pigs", "at": "lot", "since": "2026-06-01 08:00",
        "lines": [{"kind": "pig", "class": "grower 20-60 kg", "head": 12, "weight": "120 lb"}]}  # fmt: skip
TURN = {
    "id": "turn", "name": "Turn the lot", "kind": "turn", "paddock": "lot", "mob": "pigs", "target": "30 %",
    "from": date(2026, 6, 1), "to": date(2026, 9, 9), "stay": "5 d", "rest": "60 d",
}  # fmt: skip


def lot(folder: Path, *events: Event, now: str = "2026-06-03 07:00", **more: Any) -> Picture:
    """Return the farm of the cases with 12 pigs on 3 ac of woods."""
    farm_folder(
        folder, as_of=date(2026, 5, 31), jobs=[TURN | more],
        mobs=[mob(EWE | {"intake": "4.4 lb/d"}, place="1", since="2026-06-01 08:00"), PIGS],
    )  # fmt: skip
    text: Any = tomlkit.parse((folder / "farm.toml").read_text("utf-8")).unwrap()
    text["paddocks"].append({"id": "lot", "name": "the wood lot", "deeded": "3.0 ac", "water": "trough"})
    (folder / "farm.toml").write_text(tomlkit.dumps(text), "utf-8")
    return seen(folder, now, [*walked("2026-06-01 08:00", [7.0] * 12), *events])


def job(picture: Picture) -> JobPart:
    return purposes(picture).jobs[0]


def ground(bare: str = "", roots: str = "", ruts: str = "") -> Event:
    share = quantity(bare, "share") if bare else None
    return entry("2026-06-03 06:30", "lot", Looked("ground", bare=share, roots=roots, ruts=ruts))


def test_p9_thirteen_cells_and_twenty_stays(tmp_path: Path) -> None:
    """60 / 5 + 1 = 13 cells of 3.0 / 13 = 0.23 ac; 100 d / 5 d = 20 stays."""
    told = {f.name: f.value or 0.0 for f in job(lot(tmp_path)).figures}
    assert told["job_cells"] == 13
    assert told["job_cell_area"] / factor("ac", "ha") == pytest.approx(0.23, abs=0.005)
    assert told["job_stays"] == 20
    # attra_woods_pigs: 3-7 d in, 30-90 d of rest
    stay, rest = (tables.row("ground", key, "pig") for key in ("rooting_stay", "rooting_rest"))
    assert (stay.low, stay.high, rest.low, rest.high) == (3, 7, 30, 90)
    assert (stay.low or 0) <= 5 <= (stay.high or 0)
    assert (rest.low or 0) <= 60 <= (rest.high or 0)


def test_p9_says_what_must_be_on_the_page(tmp_path: Path) -> None:
    said = page(job(lot(tmp_path)))
    for words in (
        "13 cells of 0.23 ac", "20 stays", "3-7 days in and 30-90 days of rest", "fed grain",
        "the woods are not the ration", "over 33 % is bare or roots show (common practice)",
        "Pigs relish leaves and sprouts of nut trees", "not near young growth", "Not alone with a boar",
        "a sow with young", "Wild pigs about: ask the state vet",
    ):  # fmt: skip
        assert words in said


@pytest.mark.parametrize(("seen_so", "move"), [(ground("40 %"), True), (ground("", "yes"), True),
                                               (ground("20 %"), False)])  # fmt: skip
def test_p9_early_move_when_over_a_third_is_bare_or_roots_show(
    tmp_path: Path, seen_so: Event, move: bool
) -> None:
    picture = lot(tmp_path, seen_so)
    due = [b for b in bites(picture.scene, "pigs", "lot") if b.moment and b.moment.likely <= picture.now]
    assert bool(due) is move
    part = job(picture)
    assert bool(part.harm or part.locked) is move


def test_p9_locked_when_wet(tmp_path: Path) -> None:
    picture = lot(tmp_path, ground(ruts="deep"))
    part = job(picture)
    assert part.locked
    assert "Locked now" in part.locked[0]
    assert not job(lot(tmp_path / "dry")).locked


def test_p9_turning_is_done_at_the_target(tmp_path: Path) -> None:
    assert not job(lot(tmp_path / "a", ground("20 %"))).done
    assert job(lot(tmp_path / "b", ground("30 %"))).done


def test_p9_beside_unguarded_hazel_no_pigs_and_why(tmp_path: Path) -> None:
    alone = {fit.kind: fit for fit in job(lot(tmp_path / "alone")).fits}
    assert alone["pig"].fits
    hazel = {fit.kind: fit for fit in job(lot(tmp_path / "hazel", beside=["hazel"])).fits}
    assert not hazel["pig"].fits
    assert "Hazel in 10" in hazel["pig"].because
    assert "without a guard" in hazel["pig"].because


ROWS = {"5", "6", "7", "10"}


def shut_to_pigs(picture: Picture) -> set[str]:
    """Return the paddocks that some limit closes to the pigs now, as the planner is told."""
    m = [one.id for one in picture.scene.mobs].index("pigs")
    closed = np.any([f.closed[m, 0] for f in faces(picture.scene) if f.closed is not None], axis=0)
    return {p for p, shut in zip(picture.scene.paddocks, closed, strict=True) if shut}


def test_p9_pigs_are_never_offered_unguarded_nut_rows(tmp_path: Path) -> None:
    """Not near regeneration: rows and hazel whose stems nobody measured are no runner-up either."""
    picture = lot(tmp_path)
    assert shut_to_pigs(picture) == ROWS
    pigs = picture.scene.mobs[[one.id for one in picture.scene.mobs].index("pigs")]
    assert not {p.paddock for p in places(picture.scene, pigs, picture.now)
                if p.state == "fit"} & ROWS  # fmt: skip
    young = next(b for b in bites(picture.scene, "pigs", "10") if b.limit == "young")
    assert young.hardness == "hard"
    assert (
        "Hazel in 10: trees without a guard that holds pigs, and no stem measured at 6 in or more"
        in young.because
    )
    season = plan(picture.scene, None, 200)
    assert not {s.stay.place for s in season.stays if s.stay.mob == "pigs"} & ROWS


def test_p9_a_guard_that_holds_pigs_or_a_thick_stem_opens_the_rows(tmp_path: Path) -> None:
    net = entry("2026-06-02 07:00", "walnuts-5", Guarded(109, "electric netting round row"))
    cage = entry("2026-06-02 07:00", "walnuts-6", Guarded(109, "mesh cage, two posts"))
    thick = entry("2026-06-02 07:00", "walnuts-7", TreeMeasured(dbh=quantity("16 cm", "length")))
    thin = entry("2026-06-02 07:00", "hazel", TreeMeasured(dbh=quantity("5 cm", "length")))
    assert shut_to_pigs(lot(tmp_path, net, cage, thick, thin)) == {"10"}


def test_p9_trap_pigs_as_grazers_on_inches_of_grass(tmp_path: Path) -> None:
    picture = lot(tmp_path)
    assert not [b for b in bites(picture.scene, "pigs", "1") if b.limit == "grass"]
    with_pigs = today(picture).ahead.demand
    farm_folder(tmp_path / "no", as_of=date(2026, 5, 31),
                mobs=[mob(EWE | {"intake": "4.4 lb/d"}, place="1", since="2026-06-01 08:00")])  # fmt: skip
    without = today(seen(tmp_path / "no", "2026-06-03 07:00", walked("2026-06-01 08:00", [7.0] * 12)))
    assert with_pigs is not None
    assert without.ahead.demand is not None
    assert with_pigs.value == without.ahead.demand.value
