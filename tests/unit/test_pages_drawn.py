"""Walk, ready dates, season as strings and the map: what they draw is what the farm says."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from pyproj import Geod

from browseline.chain import Picture, look
from browseline.chain.field_pages import ready_page
from browseline.chain.in_force import keep_plan
from browseline.chain.walk_step import walk_round, walk_step, walking_order
from browseline.cli.demo import copy_example, example
from browseline.errors import BadInput
from browseline.exchange.plain import document
from browseline.ledger.losses import survival
from browseline.limits import bites, faces
from browseline.moves.paths import HOME, far_km
from browseline.moves.season import plan
from browseline.papers.farm_map import LETTER, farm_map
from browseline.papers.season import by_firmness, season_sheet
from browseline.papers.season_view import season_view
from browseline.papers.strings import DAY_PX, LETTER_PX, drawn, letter

DEMO_NOW = datetime.fromisoformat("2026-06-10T12:00-04:00")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Picture:
    folder = tmp_path_factory.mktemp("drawn") / "farm"
    now = copy_example(example(), folder)
    picture = look(folder, now)
    keep_plan(picture, plan(picture.scene, None, 50), "owner")
    return look(folder, now)


# ---------------------------------------------------------------- the walk


def test_a_walk_goes_on_to_the_nearest_paddock_that_is_left(demo: Picture) -> None:
    order = walking_order(demo.farm)
    ids = tuple(p.id for p in demo.farm.paddocks)
    assert sorted(order) == sorted(ids)
    km = far_km(demo.farm, ids, HOME)
    here = len(ids)
    for n, paddock in enumerate(order):
        there = ids.index(paddock)
        assert km[here, there] == min(km[here, ids.index(left)] for left in order[n:])
        here = there


def test_without_a_map_the_order_of_the_file_is_kept(tmp_path: Path) -> None:
    bare = 'schema = 1\nname = "Bare"\ntime_zone = "America/New_York"\nunits = "acres"\nas_of = 2026-05-01\n'
    bare += "".join(f'[[paddocks]]\nid = "{n}"\nname = "{n}"\narea = "2 ac"\n' for n in (3, 1, 2))
    (tmp_path / "farm.toml").write_text(bare, "utf-8")
    picture = look(tmp_path, DEMO_NOW)
    assert walking_order(picture.farm) == ("3", "1", "2")
    assert [row.line.paddock for row in walk_round(picture).rows] == ["3", "1", "2"]
    assert farm_map(picture).sentences


def test_each_step_knows_its_neighbours(demo: Picture) -> None:
    order = walking_order(demo.farm)
    for n, paddock in enumerate(order):
        step = walk_step(demo, paddock)
        assert (step.number, step.count) == (n + 1, len(order))
        assert step.before == (order[n - 1] if n else "")
        assert step.after == (order[n + 1] if n + 1 < len(order) else "")
    with pytest.raises(BadInput):
        walk_step(demo, "nowhere")


def test_what_is_ready_may_be_gone_to(demo: Picture) -> None:
    """No paddock is called ready that a hard limit closes, or in which another mob stands."""
    standing = {mob.place for mob in demo.scene.mobs}
    page = ready_page(demo)
    said = {
        (mob.id, row.paddock): state
        for mob in page.mobs
        for row, state in zip(mob.rows, mob.states, strict=True)
    }
    assert "READY" in said.values()
    for (mob, paddock), state in said.items():
        if state == "READY":
            assert paddock not in standing
            hard = [b for b in bites(demo.scene, mob, paddock) if b.hardness == "hard" and b.moment]
            assert all(b.moment.likely > demo.now for b in hard if b.moment is not None)
    hay = next(p.id for p in demo.farm.paddocks if p.name == "Hay Piece")
    assert said["heifers", hay] == "closed through 15 Jun (Promise)"


# ---------------------------------------------------------------- strings


def test_a_bead_is_as_long_as_its_stay_and_hangs_in_the_drawing(demo: Picture) -> None:
    sheet = season_sheet(demo)
    picture = drawn(sheet)
    for string, told in zip(picture.strings, sheet.strings, strict=True):
        assert " ".join(string.names) == told.mob
        pieces = tuple(by_firmness(told.beads, sheet.now))
        for line in told.beads:  # a stay is drawn whole, in pieces where it outlasts the firm or likely days
            own = [piece for piece in pieces if line.begin <= piece.begin and piece.end <= line.end]
            assert sum((p.end - p.begin for p in own), timedelta(0)) == line.end - line.begin
        for bead, line in zip(string.beads, pieces, strict=True):
            days = (line.end - line.begin) / timedelta(days=1)
            if line.begin.date() >= sheet.first:
                assert bead.tall == pytest.approx(max(DAY_PX * days - 2, 3), abs=0.2)
            assert picture.top <= bead.y
            assert bead.y + bead.tall <= picture.tall + DAY_PX
            assert bead.x >= 0
            assert bead.x + bead.wide <= picture.wide
            assert len(bead.word) * LETTER_PX <= bead.wide
            assert bead.word in ("", line.place, line.short)
            assert bead.state == line.state
        tops = [bead.y for bead in string.beads]
        assert tops == sorted(tops)
    done = [b.y + b.tall for s in picture.strings for b in s.beads if b.state == "done"]
    assert max(done) <= picture.now.y + 1


def test_promises_go_by_letters() -> None:
    assert [letter(n) for n in (0, 1, 25, 26, 27, 51, 52)] == ["a", "b", "z", "aa", "ab", "az", "ba"]


def test_letters_of_promises_do_not_lie_on_one_another(demo: Picture) -> None:
    sheet = season_sheet(demo)
    marks = [mark for mark in drawn(sheet).promises if mark.word]
    assert sorted(" ".join(mark.word for mark in marks).split()) == [
        letter(n) for n in range(len(sheet.promises))
    ]
    tops = sorted(mark.y for mark in marks)
    assert all(b - a >= DAY_PX for a, b in pairwise(tops))


def test_the_view_has_the_plan_the_paper_and_the_drawing(demo: Picture) -> None:
    view = season_view(demo)
    assert view.plan.in_force
    assert len(view.letters) == len(view.sheet.promises) == len(view.drawn.promises)
    assert len(view.ahead_days) == len(view.sheet.ahead)
    assert view.drawn.ahead is not None
    assert all(0 <= x <= view.drawn.ahead.wide for x, _ in view.drawn.ahead.dots)


# ---------------------------------------------------------------- the map


def test_an_outline_encloses_its_paddock(demo: Picture) -> None:
    """Area of the drawing in metres (shoelace) against the geodesic area by pyproj."""
    shapes = {shape.id: shape for shape in demo.farm.shapes}
    for paddock in farm_map(demo).paddocks:
        ring = paddock.ring
        twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:] + ring[:1], strict=True))
        lon, lat = zip(*shapes[paddock.id].rings[0], strict=True)
        area_m2 = abs(Geod(ellps="WGS84").polygon_area_perimeter(lon, lat)[0])
        assert abs(twice) / 2 == pytest.approx(area_m2, rel=0.02)


def test_the_map_tells_states_by_word_and_names_all_or_numbers_all(demo: Picture) -> None:
    page = farm_map(demo)
    shut = {one.paddock for one in demo.state.shut}
    closed = faces(demo.scene)
    to_all = {
        ident
        for p, ident in enumerate(demo.scene.paddocks)
        if np.any([f.closed[:, 0, p] for f in closed if f.closed is not None], axis=0).all()
    }
    here = {mob.place for mob in demo.scene.mobs}
    for paddock in page.paddocks:
        barred = paddock.id in shut | to_all
        assert paddock.state == ("shut" if barred else "here" if paddock.id in here else "")
        assert bool(paddock.words) or not paddock.state
        assert bool(paddock.hatch) == barred
        assert "±" in paddock.area
    for n, size_m in enumerate(page.text_m):
        first = {paddock.labels[n][0] == paddock.name for paddock in page.paddocks}
        assert first == {True} or all(paddock.labels[n][0] == paddock.id for paddock in page.paddocks)
        words = [label for paddock in page.paddocks for label in paddock.labels[n][1:]]
        assert all(len(word) * size_m * LETTER < page.wide_m for word in words)


def test_ground_that_is_promised_is_not_open_on_the_map(demo: Picture) -> None:
    """Hay Piece is nobody's until it is cut; young trees close Old Locust to goats alone."""
    told = {paddock.name: paddock for paddock in farm_map(demo).paddocks}
    assert told["Hay Piece"].state == "shut"
    assert told["Hay Piece"].words == ("Closed to all animals today (Promise)",)
    assert "Closed to Goats today (Young trees)" in told["Old Locust"].words
    assert told["Old Locust"].state != "shut"
    assert told["Gate"].words == ()
    assert told["Yard Field"].words == ("Kept for hay and bad days",)


def test_rows_have_the_trees_of_the_ledger(demo: Picture) -> None:
    told = {row.name: (row.live, row.planted) for row in farm_map(demo).rows}
    for one in survival(demo.scene):
        assert told[one.name][0] == one.alive


def test_no_position_leaves_with_the_map(demo: Picture) -> None:
    text = json.dumps(document("x/map/1", farm_map(demo)))
    for shape in demo.farm.shapes:
        for ring in (*shape.rings, shape.points):
            for lon, lat in ring:
                assert f"{lon:.4f}" not in text
                assert f"{lat:.4f}" not in text
