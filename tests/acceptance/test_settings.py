"""Where sources differ on grass, shade and pigs: the reading that the farm names rules and is shown."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tomlkit

from browseline.chain import Picture, today
from browseline.chain.accounts import PAGES
from browseline.chain.purpose import purposes
from browseline.events import When
from browseline.farm import settings
from browseline.farm.records import Farm, Rules, Sward
from browseline.farm.text import text_of
from browseline.limits import Bite, faces
from browseline.limits.form import Scene
from browseline.limits.grass import LIMIT as GRASS
from browseline.limits.ground import LIMIT as GROUND
from browseline.record.state import HeadLine, Stay
from browseline.sward import sward_numbers
from browseline.sward.shade import light_correction
from browseline.units import parse
from tests.acceptance.cases import farm_folder, page, seen
from tests.acceptance.test_p09 import PIGS as PIGS_TYPED
from tests.acceptance.test_p09 import TURN
from tests.small_farm import NOW, ewes, farm, look, state

PIGS = replace(ewes(), id="pigs", name="Pigs", lines=(HeadLine("pig", "grower 20-60 kg", 12),))


def chosen(**named: str) -> Rules:
    return Rules(chosen=tuple(named.items()))


def orchard(rules: Rules | None = None) -> Farm:
    """Return a farm of orchardgrass in growing weather, no number of its sward typed."""
    return farm(weather=True, own=Sward("home", "orchardgrass_legume"), rules=rules)


def grazed(small: Farm) -> Picture:
    """Return the farm with ewes in 1, that left 2 a week ago."""
    left = Stay("ewes", "2", When.at(NOW - timedelta(days=10)), When.at(NOW - timedelta(days=7)))
    now = Stay("ewes", "1", When.at(NOW))
    return look(small, replace(state(small, height="5 in"), stays=(left, now)))


def regrowth(scene: Scene) -> Bite:
    return next(b for b in GRASS.bites(scene, scene.mobs[0], "1") if b.limit == "regrowth")


def ready(picture: Picture) -> str:
    found = GRASS.ready(picture.scene, picture.scene.mobs[0], "2")
    assert found is not None
    return found.because


# ---------------------------------------------------------------- grass


@pytest.mark.parametrize(
    ("kind", "inches"), [("orchardgrass_legume", 8), ("timothy_legume", 8), ("bluegrass_clover", 6)]
)
def test_the_growers_heights_are_the_printed_ones(kind: str, inches: float) -> None:
    """umaine_lesson1, appendix D: 6-8 in for tall growers, 4-6 in for low ones; never above the default."""
    named = farm(own=Sward("home", kind), rules=chosen(height_to_start="tall and low growers"))
    own = farm(own=Sward("home", kind))
    enter = sward_numbers(named, named.paddocks[0]).enter_at
    assert enter.value == pytest.approx(inches * 2.54)
    assert enter.origins[0].source == "umaine_lesson1"
    assert (enter.value or 0) <= (sward_numbers(own, own.paddocks[0]).enter_at.value or 0) + 1e-9


def test_a_sward_without_such_a_row_and_a_height_typed_keep_their_own() -> None:
    rules = chosen(height_to_start="tall and low growers")
    bermuda = farm(own=Sward("home", "bermudagrass"), rules=rules)
    assert sward_numbers(bermuda, bermuda.paddocks[0]).enter_at.value == pytest.approx(8 * 2.54)
    typed = farm(rules=rules)
    assert sward_numbers(typed, typed.paddocks[0]).enter_at.origins[0].basis == "farm"
    weather = replace(bermuda, place=orchard().place, normals=orchard().normals)
    for small in (typed, weather):
        assert "to start at" in ready(grazed(small))
        assert "tall and low growers" not in ready(grazed(small))


def test_the_height_chosen_is_named_in_the_ready_sentence_with_its_source() -> None:
    told = ready(grazed(orchard(chosen(height_to_start="tall and low growers"))))
    assert "8 in" in told
    assert "By tall and low growers: " in told
    assert "Source: " in told
    assert "By " not in ready(grazed(orchard()))


def test_a_chosen_rest_moves_regrowth_and_is_named_there() -> None:
    """cornell_worksheet, 15 d in spring and 30 d after: slow growth is reached sooner than by 14 and 52 d."""
    own, named = (grazed(orchard(rules)).scene for rules in (None, chosen(rest_by_season="15 to 30 days")))
    rest_d = float(regrowth(own).because.split("about ")[1].split(" d")[0])
    by_hand = np.interp(rest_d, (15, 30), (3, 7))
    found = regrowth(named).figures[0]
    assert found.value == pytest.approx(by_hand, abs=0.15)
    assert "cornell_worksheet" in {o.source for part in found.parts for o in part.origins}
    assert "15 to 30 days" in regrowth(named).because
    assert "15 to 30 days" not in regrowth(own).because


def test_ready_shows_the_rest_named_and_the_height_decides() -> None:
    own, named = grazed(orchard()), grazed(orchard(chosen(rest_by_season="21 to 42 days")))
    told = ready(named)
    days = float(told.split("it rests ")[1].split(" d")[0])
    assert 21 <= days <= 42
    assert "the height decides" in told
    assert "it rests" not in ready(own)
    one, other = (GRASS.ready(p.scene, p.scene.mobs[0], "2") for p in (own, named))
    assert one is not None
    assert other is not None
    assert one.moment == other.moment


# ---------------------------------------------------------------- shade


def potentials(light: float) -> tuple[np.ndarray, np.ndarray]:
    """Return a year of potentials in the open and in part of the light. [kg DM/ha/d]"""
    open_sky = np.full((3, 365), 60.0)
    return open_sky, light * open_sky


@pytest.mark.parametrize(("light", "measured"), [(0.7, 1.0), (0.5, 0.78), (0.3, 0.64)])
def test_slats_hold_cool_season_grass_to_what_was_measured(light: float, measured: float) -> None:
    """mercier2020: yield under slats over yield in the open, for 30, 50 and 70 % of shade."""
    from browseline.sward.shade import _year_kg_ha

    group = "cool-season grass"
    open_sky, lit = potentials(light)
    ratio = _year_kg_ha(group, lit) / _year_kg_ha(group, open_sky)
    assert light_correction(group, light, open_sky, lit, slats=True) * ratio == pytest.approx(measured)
    low, high = {0.7: (0.8, 1.05), 0.5: (0.6, 0.9), 0.3: (0.4, 0.7)}[light]
    assert low - 1e-9 <= light_correction(group, light, open_sky, lit) * ratio <= high + 1e-9


def test_other_grass_keeps_the_range() -> None:
    open_sky, lit = potentials(0.5)
    for group in ("warm-season grass", "legume"):
        own, named = (light_correction(group, 0.5, open_sky, lit, slats) for slats in (False, True))
        assert own == named


def test_slats_chosen_make_more_grass_in_shade_and_none_in_the_open() -> None:
    def growth(**named: str) -> np.ndarray:
        small = orchard(chosen(**named))
        first, *rest = small.paddocks
        shaded = replace(first, light=parse("30 %", "share"))
        picture = grazed(replace(small, paddocks=(shaded, *rest)))
        return np.median(picture.scene.herbage.growth_kg_ha_d, axis=0)

    own, slats = growth(), growth(shade_against_yield="measured slats")
    assert slats[0] > own[0]
    assert slats[1:] == pytest.approx(own[1:])


# ---------------------------------------------------------------- pigs


def pigs(rules: Rules | None = None) -> Picture:
    small = farm(rules=rules)
    left = Stay("pigs", "2", When.at(NOW - timedelta(days=10)), When.at(NOW - timedelta(days=7)))
    return look(small, replace(state(small, mob=PIGS), stays=(left, Stay("pigs", "1", When.at(NOW)))))


@pytest.mark.parametrize(
    ("named", "stay_d", "rest_d"),
    [
        ({}, 5, 60),
        ({"pig_stay": "growers on sward"}, 14, 60),
        ({"pig_rest": "woods, the longest"}, 5, 90),
    ],
)
def test_the_readings_on_pigs_rule_bite_rest_and_plan(
    named: dict[str, str], stay_d: float, rest_d: float
) -> None:
    """attra_woods_pigs, 3-7 d in and 30-90 d out; pietrosemoli2020, growers 14 d."""
    scene = pigs(chosen(**named)).scene
    face = next(one for one in faces(scene) if one.name == "ground")
    assert face.longest_stay_d is not None
    assert face.rest_d is not None
    assert (face.longest_stay_d.max(), face.rest_d.max()) == (stay_d, rest_d)
    bite = next(b for b in GROUND.bites(scene, scene.mobs[0], "1") if b.moment is not None)
    assert bite.moment is not None
    assert bite.moment.likely == NOW + timedelta(days=stay_d)
    found = GROUND.ready(scene, scene.mobs[0], "2")
    assert found is not None
    assert found.moment is not None
    assert found.moment.likely == NOW + timedelta(days=rest_d - 7)
    assert ("the farm's choice" in bite.because) is ("pig_stay" in named)
    assert ("the farm's choice" in found.because) is ("pig_rest" in named)


def test_a_job_of_pigs_is_cut_by_the_readings_named_and_names_them(tmp_path: Path) -> None:
    """14 d in and 90 d out by the sources: 90 / 14 + 1 = 8 cells, rounded up."""
    job = {key: value for key, value in TURN.items() if key not in ("stay", "rest")}
    named = {"settings": {"pig_stay": "growers on sward", "pig_rest": "woods, the longest"}}
    farm_folder(tmp_path, as_of=date(2026, 5, 31), jobs=[job], mobs=[PIGS_TYPED], rules=named)
    path = tmp_path / "farm.toml"
    text: Any = tomlkit.parse(path.read_text("utf-8")).unwrap()
    text["paddocks"].append({"id": "lot", "name": "the wood lot", "deeded": "3.0 ac", "water": "trough"})
    path.write_text(tomlkit.dumps(text), "utf-8")
    told = page(purposes(seen(tmp_path, "2026-06-03 07:00")).jobs[0])
    assert "8 cells" in told
    assert "By growers on sward: " in told
    assert "By woods, the longest: " in told


# ---------------------------------------------------------------- where it is printed


def test_today_prints_what_is_in_use_for_what_is_there() -> None:
    def told(picture: Picture) -> str:
        return "\n".join(one.words for one in today(picture).settings)

    sheep = told(grazed(orchard()))
    assert "Height to start at: the sward's own (no choice made)." in sheep
    assert "Rest of grass by season: 14 to 60 days (no choice made)." in sheep
    assert "pigs" not in sheep
    assert "shade" not in sheep
    rooting = told(pigs(chosen(pig_rest="woods, the longest")))
    assert "Longest stay of pigs: woods (no choice made)." in rooting
    assert "Rest after pigs: woods, the longest, chosen here." in rooting
    assert "Height to start at" not in told(grazed(farm()))


def test_the_page_says_when_a_bolder_reading_is_used_and_what_is_kept_elsewhere() -> None:
    more = "Another reading here is more cautious"
    assert more in page(PAGES["settings"](pigs()))
    rules = chosen(pig_rest="woods, the longest")
    assert more not in page(PAGES["settings"](pigs(rules)))
    told = page(PAGES["settings"](pigs()))
    assert "the carbon book" in told
    assert "  woods: 5 d (3 to 7 d). Source" in told
    assert "  the range set: 0.6 to 0.9. Source" in told


@pytest.mark.parametrize(
    ("key", "name"), [(k, n) for k in settings.questions() for n in settings.names_of(k)]
)
def test_every_choice_comes_out_of_the_text_of_a_farm(key: str, name: str, tmp_path: Path) -> None:
    written = tomllib.loads(text_of(farm(rules=chosen(**{key: name}))))
    assert written["rules"]["settings"] == {key: name}
