"""A net splits a paddock: each part has its own area, grass and worm clock from then on."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from browseline.chain.parts import place_of
from browseline.events import When
from browseline.limits import Scene, bites, ready
from browseline.papers.names import place_words
from browseline.record.state import ShutState, Stay
from browseline.units import parse
from tests.small_farm import NOW, days_after, ewes, farm, look, some, state


def split(**more: Any) -> Scene:
    small = farm()
    mob = replace(ewes(), place="1", part="1/a")
    stays = (
        Stay("ewes", "1", When.at(NOW - timedelta(days=3)), When.at(NOW - timedelta(days=2))),
        Stay("ewes", "1", When.at(NOW), part="1/a"),
    )
    seen = state(
        small,
        mob=mob,
        stays=stays,
        parents=(("1/a", "1"), ("1/b", "1")),
        part_areas=(("1/a", parse("1 ac", "area")), ("1/b", parse("2 ac", "area"))),
        **more,
    )
    return look(small, seen).scene


def test_parts_stand_for_the_whole_with_their_own_areas() -> None:
    scene = split()
    assert scene.paddocks == ("1/a", "1/b", "2", "3")
    assert scene.herbage.land.area_ha[:2] == pytest.approx([0.40468564224, 2 * 0.40468564224])


def test_the_mob_eats_the_part_it_stands_in() -> None:
    # 1 ac x 4 in x 275 lb x 0.70 / 264 lb/d
    grass = next(b for b in bites(split(), "ewes", "1/a") if b.limit == "grass")
    assert days_after(NOW, some(grass.moment).likely) == pytest.approx(1 * 4 * 275 * 0.7 / 264)


def test_a_height_of_the_whole_serves_the_parts_until_one_is_read() -> None:
    herbage = split().herbage
    assert np.median(herbage.mass_kg_ha[:, 0]) == pytest.approx(np.median(herbage.mass_kg_ha[:, 1]))


def test_worms_of_the_whole_lie_on_every_part_and_those_of_a_part_on_it_alone() -> None:
    scene = split()
    left_whole = ready(scene, "ewes", "1/b")[0]
    assert days_after(NOW, some(left_whole.moment).likely) == pytest.approx(33)
    now_in = next(r for r in ready(scene, "ewes", "1/a") if r.limit == "worms")
    assert days_after(NOW, some(now_in.moment).likely) == pytest.approx(35)


def test_shutting_the_whole_shuts_its_parts() -> None:
    scene = split(shut=(ShutState("1", "limb down", When.at(NOW), until="cleared"),))
    assert any(b.limit == "shut" for b in bites(scene, "ewes", "1/b"))


def test_a_whole_that_a_net_has_split_is_called_by_its_name_and_has_its_water() -> None:
    """What was planned for it before the net is told so; a number of a net is no name."""
    home = split().farm
    named = tuple(
        replace(p, name=f"Long Field {p.id[-1]}", water="trough") if p.id in ("1/a", "1/b") else p
        for p in home.paddocks
    )
    home = replace(home, paddocks=named)
    whole = some(place_of(home, "1"))
    assert (whole.id, whole.name, whole.water) == ("1", "Long Field", "trough")
    assert some(place_of(home, "1/a")).name == "Long Field a"
    twice = replace(named[0], id="1/a/n", name="Long Field a n", parents=("1/a", "1"))
    netted = replace(home, paddocks=(twice, *named[2:]))
    assert [some(place_of(netted, x)).name for x in ("1", "1/a")] == ["Long Field", "Long Field a"]
    assert place_of(home, "9") is None
    scene = replace(split(), farm=home, memo={})
    assert place_words(scene, "1") == "1 Long Field"
