"""Trees, young, ground and heat on a small farm: each number is done by hand beside it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from browseline import tables
from browseline.events import When
from browseline.farm.records import Farm, Job, Planting, Rules, Soil
from browseline.limits import Bite, Scene, bites, faces, ready
from browseline.limits._reach import holds, largest, method
from browseline.limits.heat import classes
from browseline.readings import stay_looks, taught_rate
from browseline.record.state import GroundLook, HeadLine, MobState, State, Stay, TreeLook, TreeSize
from browseline.units import parse
from tests.small_farm import NOW, days_after, ewes, farm, scene, state


def of(found: list[Bite], limit: str) -> Bite:
    return next(b for b in found if b.limit == limit)


def rows(**more: object) -> Planting:
    made = Planting("rows", "Rows", "walnut_english", "1", 2020, 40)
    return replace(made, **more)  # type: ignore[arg-type]


def beasts(kind: str, klass: str, head: int = 10) -> MobState:
    line = HeadLine(kind, klass, head, parse("300 kg", "mass"), parse("8 kg/d", "intake"))
    return MobState("ewes", "Ewes", (line,), "1", When.at(NOW))


def among(trees: Planting, mob: MobState | None = None, **more: object) -> Scene:
    place = farm(plantings=(trees,))
    return scene(place, replace(state(place, mob=mob), **more))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("kind", "klass", "leader", "hard"),
    [
        ("sheep", "ewe maintenance", "1.1 m", True), ("sheep", "ewe maintenance", "1.3 m", False),
        ("cattle", "beef cow lactating", "2.3 m", True), ("cattle", "beef cow lactating", "2.5 m", False),
        ("goat", "doe maintenance", "9 m", True), ("horse", "mature idle", "9 m", True),
    ],
)  # fmt: skip
def test_reach_shuts_a_paddock(kind: str, klass: str, leader: str, hard: bool) -> None:
    """K12: the larger reach of a kind is kept; goats are never unguarded, no size is safe from horses."""
    seen = among(rows(leader=parse(leader, "length")), beasts(kind, klass))
    assert any(b.limit == "young" and b.hardness == "hard" for b in bites(seen, "ewes", "1")) is hard
    closed = next(f for f in faces(seen) if f.name == "young").closed
    assert closed is not None
    assert bool(closed[0, :, 0].all()) is hard
    assert not closed[0, :, 1].any()


def test_a_leader_above_the_clear_height_ends_both_limits() -> None:
    seen = among(rows(leader=parse("1.9 m", "length")))
    assert {b.limit for b in bites(seen, "ewes", "1")}.isdisjoint({"trees", "young"})
    thin = TreeSize("rows", "", When.at(NOW - timedelta(days=9)), dbh=parse("5 cm", "length"))
    bark = among(rows(leader=parse("1.9 m", "length")), tree_sizes=(thin,))
    assert of(bites(bark, "ewes", "1"), "trees").hardness == "hard"


def test_a_leader_that_nobody_measured_is_a_question_and_no_growth_is_made_up() -> None:
    seen = among(rows())
    asked = of(bites(seen, "ewes", "1"), "young")
    assert asked.hardness == "question"
    assert asked.moment is None
    assert "not known" in asked.because
    young = among(rows(planted=2025))
    assert of(bites(young, "ewes", "1"), "young").hardness == "hard"
    tall = TreeSize("rows", "", When.at(NOW - timedelta(days=9)), leader=parse("7 ft", "length"))
    measured = among(rows(), tree_sizes=(tall,))
    assert {b.limit for b in bites(measured, "ewes", "1")}.isdisjoint({"trees", "young"})


def test_before_any_look_the_book_is_spread_over_the_year() -> None:
    """6 % a year ÷ 12 d among trees = 0.5 % a day; 9 % accepted is 18 d. The sward is short after 11.9 d.

    8 in is 20.32 cm; 10 cm is left after 3 ac × (8 − 3.937) in × 275 lb × 0.7 ÷ 264 lb/d = 8.89 d. Then
    twice as fast: 8.89 + (9 − 4.44) ÷ 1 = 13.44 d.
    """
    trees = of(bites(among(rows()), "ewes", "1"), "trees")
    assert trees.moment is not None
    short = 3 * (8 - 10 / 2.54) * 275 * 0.7 / 264
    assert days_after(NOW, trees.moment.likely) == pytest.approx(short + (9 - 0.5 * short) / 1.0, rel=0.01)
    assert trees.moment.earliest < trees.moment.likely < trees.moment.latest
    assert trees.mark == "G"
    face = next(f for f in faces(among(rows())) if f.name == "trees")
    assert face.longest_stay_d is not None
    assert face.longest_stay_d[0, 0] == pytest.approx(18)
    assert np.isinf(face.longest_stay_d[0, 1])


def test_what_the_farm_accepts_is_the_limit() -> None:
    trees = of(bites(among(rows(accepted_bitten=parse("1 %", "share"))), "ewes", "1"), "trees")
    assert trees.moment is not None
    assert days_after(NOW, trees.moment.likely) == pytest.approx(2)


def test_looks_teach_the_rate_with_their_weight() -> None:
    """(0.5 % × 60 + 5) ÷ (60 + 30 × 2) = 4.42 % a day; 0 bitten gives 0.25 %."""
    since = NOW - timedelta(days=2)
    place = farm(plantings=(rows(),))

    def told(bitten: int) -> State:
        look = TreeLook("1", "rows", When.at(NOW), 30, bitten, 0, "look")
        stays = (Stay("ewes", "1", When.at(since)),)
        return state(place, mob=ewes(since=since), looks=(look,), stays=stays)

    rates = [taught_rate(stay_looks(told(n), rows()), rows(), "sheep", None) for n in (5, 0)]
    assert [r.value for r in rates if r] == pytest.approx([5.3 / 120, 0.3 / 120])
    assert all(
        r is not None and r.mark == "G" for r in rates
    )  # the weakest mark: a placeholder spreads the year
    assert stay_looks(told(5), rows())[0].days == pytest.approx(2)
    assert taught_rate(stay_looks(told(5), rows()), rows(), "horse", None) is None


def test_what_an_earlier_stay_left_bitten_is_not_bitten_again() -> None:
    place = farm(plantings=(rows(),))
    stays = tuple(
        Stay("ewes", "1", When.at(NOW - timedelta(days=b)), When.at(NOW - timedelta(days=e)))
        for b, e in ((20, 18), (4, 2))
    )
    looks = tuple(TreeLook("1", "rows", When.at(NOW - timedelta(days=d)), 30, n, 0, str(d))
                  for d, n in ((18.0, 3), (2.0, 5)))  # fmt: skip
    found = stay_looks(state(place, mob=ewes(None), stays=stays, looks=looks), rows())
    assert [s.fresh for s in found] == pytest.approx([3, 2])


@pytest.mark.parametrize(
    ("text", "kind", "held"),
    [
        ("wire cage", "cattle", "partly"), ("mesh cage, two posts", "cattle", "yes"),
        ("tube", "sheep", "partly"),
        ("barbed guards", "cattle", "partly"), ("barbed guards", "sheep", "yes"), ("none", "sheep", "no"),
        ("a charm", "sheep", "unknown"), ("hot wire both sides", "cattle", "yes"),
    ],
)  # fmt: skip
def test_guards_by_the_words_that_people_use(text: str, kind: str, held: str) -> None:
    """K10: a barbed guard of 1.5 m is below the 1.8 m to use against cattle."""
    assert holds(text, kind)[0] == held


def test_every_guard_word_leads_to_its_own_row() -> None:
    for row in tables.texts("names"):
        if row["list"] == "guard":
            assert method(row["label"]) == row["key"]


def test_the_larger_of_each_height() -> None:
    found = {k: largest("clear_height", k) for k in ("sheep", "cattle", "duck")}
    assert found["sheep"] is not None
    assert found["cattle"] is not None
    assert (found["sheep"].value, found["cattle"].value, found["duck"]) == (180, 300, None)


# ---------------------------------------------------------------- ground


def soaked(missing_mm: float, soil: Soil | None = None, rain_mm: float = 0.0, rule: bool = True) -> Scene:
    place = farm(rules=Rules(wet_rule=rule))
    if soil is not None:
        place = replace(
            place, soils=(soil,), paddocks=tuple(replace(p, soil=soil.id) for p in place.paddocks)
        )
    ahead = ((NOW.date(), date(2026, 5, 9), parse(f"{rain_mm} mm", "length")),) if rain_mm else ()
    seen = scene(place, state(place, rain_ahead=ahead))
    deficit = np.full(seen.herbage.mass_kg_ha.shape, missing_mm)
    return replace(seen, herbage=replace(seen.herbage, deficit_mm=deficit), memo={})


LIGHT = Soil("light", "sandy loam", "B", "well drained")


@pytest.mark.parametrize(
    ("missing", "soil", "wet"),
    [(2.9, LIGHT, True), (3.1, LIGHT, False), (9.9, replace(LIGHT, group="D"), True), (9.9, None, True),
     (10.1, replace(LIGHT, drainage="poorly drained"), False)],
)  # fmt: skip
def test_ground_is_wet_below_the_deficit_of_its_soil(missing: float, soil: Soil | None, wet: bool) -> None:
    """3 mm on free-draining soil, 10 mm on heavy soil and on soil that nobody named."""
    found = [b for b in bites(soaked(missing, soil), "ewes", "1") if b.limit == "ground"]
    assert bool(found) is wet
    if wet:
        assert found[0].hardness == "hard"
        inches = f"{missing / 25.4:.2f}".rstrip("0")
        assert f"{inches} in of rain short of full" in found[0].because
        assert found[0].moment is not None
        assert found[0].moment.likely == NOW
        assert ready(soaked(missing, soil), "ewes", "2")[0].moment is None


def test_the_wet_rule_is_the_farms_own_choice() -> None:
    soft = soaked(1.0, LIGHT, rule=False)
    assert of(bites(soft, "ewes", "1"), "ground").hardness == "soft"
    closed = next(f for f in faces(soft) if f.name == "ground").closed
    assert closed is not None
    assert not closed.any()
    hard = next(f for f in faces(soaked(1.0, LIGHT)) if f.name == "ground").closed
    assert hard is not None
    assert hard[0, 0].tolist() == [True, True, True]  # who stands on it goes today, as Today says
    assert not hard[0, 1:].any()


def test_wet_ground_is_locked_to_pigs_whatever_the_rule() -> None:
    seen = soaked(1.0, LIGHT, rule=False)
    line = HeadLine("pig", "grower 20-60 kg", 12, parse("50 kg", "mass"), parse("2 kg/d", "intake"))
    pigs = MobState("ewes", "Pigs", (line,), "3", When.at(NOW))
    wet = replace(seen, mobs=(pigs,), memo={})
    found = of(bites(wet, "ewes", "3"), "ground")
    assert found.hardness == "hard"
    assert "Locked while wet" in found.do
    closed = next(f for f in faces(wet) if f.name == "ground").closed
    assert closed is not None
    assert closed[0, 0].tolist() == [True, True, True]


@pytest.mark.parametrize("kept_for", ["3", "", "9"])
def test_pigs_that_have_a_job_turn_no_grass_elsewhere_but_at_a_price(kept_for: str) -> None:
    """Common practice: rooted grass feeds nobody until sown again. Unread ground is woods to go through."""
    seen = soaked(30.0, LIGHT)
    line = HeadLine("pig", "grower 20-60 kg", 12, parse("50 kg", "mass"), parse("2 kg/d", "intake"))
    pigs = MobState("pigs", "Pigs", (line,), "yard", When.at(NOW))
    jobs = (Job("turn", "Turn", "turn", kept_for, "pigs", parse("30 %", "share")),) if kept_for else ()
    read = np.array([name != "2" for name in seen.herbage.paddocks])
    herbage = replace(seen.herbage, read=read)
    own = replace(seen, mobs=(*seen.mobs, pigs), farm=replace(seen.farm, jobs=jobs), herbage=herbage, memo={})
    dear = next(f for f in faces(own) if f.name == "ground").dear_usd_d
    assert dear is not None
    priced = {"3": [30, 0, 0], "": [0, 0, 0], "9": [30, 0, 30]}[kept_for]
    assert dear[-1].tolist() == [priced] * len(own.days)
    assert not dear[:-1].any()
    turned = replace(own.state, ground=(GroundLook("3", When.at(NOW), bare=parse("30 %", "share")),))
    done = next(f for f in faces(replace(own, state=turned, memo={})) if f.name == "ground").dear_usd_d
    assert done is not None
    assert done[-1, 0].tolist() == ([30, 0, 30] if kept_for else [0, 0, 0]), "once done, it is grass too"


def test_rain_typed_ahead_brings_the_limit_from_the_next_midnight() -> None:
    assert all(b.limit != "ground" for b in bites(soaked(20, LIGHT, rain_mm=16), "ewes", "1"))
    ground = of(bites(soaked(20, LIGHT, rain_mm=18), "ewes", "1"), "ground")
    assert ground.moment is not None
    assert days_after(NOW, ground.moment.likely) == pytest.approx(17 / 24)
    assert "18" in ground.because


# ---------------------------------------------------------------- heat


def test_heat_classes_are_those_of_the_class_or_the_kind() -> None:
    names = {
        "dairy cow lactating grazing": 68, "dairy heifer": 75, "beef steer growing": 75
    }  # fmt: skip
    for klass, first in names.items():
        assert classes(HeadLine("cattle", klass, 1))[0].middle() == first
    assert classes(HeadLine("goose", "breeder grazing", 1)) == ()


def hot(temp_c: float, cover: str | None = None) -> Scene:
    place: Farm = farm(weather=True)
    if cover is not None:
        place = replace(
            place, paddocks=tuple(replace(p, cover=parse(cover, "share")) for p in place.paddocks)
        )
    seen = scene(place, members=7, horizon_d=10)
    weather = seen.weather
    assert weather is not None
    warm = replace(weather, tmax_c=np.full_like(weather.tmax_c, temp_c),
                   tmin_c=np.full_like(weather.tmin_c, temp_c - 8))  # fmt: skip
    return replace(seen, weather=warm, memo={})


def test_heat_bites_sheep_from_the_class_after_the_first_and_later_in_shade() -> None:
    """36 C over a 28 C dew point is 63.6 % humid: 0.8 × 36 + 0.636 × 21.6 + 46.4 = 88.9, extreme from 86.

    32 C over 24 C is 62.7 %: 83.0, moderate, which is told by no limit; 33.5 C: 85.1, severe from 84.
    """
    extreme = of(bites(hot(36), "ewes", "1"), "heat")
    assert extreme.hardness == "soft"
    assert extreme.figures[0].value == pytest.approx(88.9, abs=0.1)
    assert "sun and wind" in extreme.because
    assert all(b.limit != "heat" for b in bites(hot(32), "ewes", "1"))
    assert "84, severe for sheep" in of(bites(hot(33.5), "ewes", "1"), "heat").because
    assert all(b.limit != "heat" for b in bites(hot(33.5, "30 %"), "ewes", "1"))
    assert "one class later (a guess)" in of(bites(hot(36, "30 %"), "ewes", "1"), "heat").because


def test_no_weather_no_word_on_heat() -> None:
    assert all(b.limit != "heat" for b in bites(scene(), "ewes", "1"))
