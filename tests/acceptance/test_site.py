"""s9 site cautions, s17 a lease that ends before the first harvest, and sources that disagree as settings."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from browseline import tables
from browseline.chain import Picture, today
from browseline.chain.accounts import PAGES
from browseline.events import Moved
from browseline.farm import settings
from browseline.farm.read import read
from browseline.farm.site import SiteNote, site_notes
from browseline.limits import bites, faces
from browseline.limits.harvest import shut_dates
from browseline.sward import leave_at
from tests.acceptance.cases import EWE, entry, farm_folder, mob, page, seen

NOW = "2026-05-06 07:00"


def place(
    folder: Path, *plantings: dict[str, Any], drainage: str = "", promises: Any = (), rules: Any = None,
    events: Any = (), leave: bool = True,
) -> Picture:  # fmt: skip
    """Return the farm of the cases with plantings of its own, and one soil."""
    soils = {"valley": {"texture": "silt loam", "drainage": drainage}} if drainage else {}
    farm_folder(folder, as_of=date(2026, 5, 1), mobs=[mob(EWE | {"intake": "4.4 lb/d"}, place="1")],
                plantings=list(plantings), soils=soils, promises=list(promises))  # fmt: skip
    path = folder / "farm.toml"
    typed = tomlkit.parse(path.read_text(encoding="utf-8")).unwrap()
    if rules is not None:
        typed["rules"] = rules
    if not leave:
        del typed["swards"]["pasture"]["leave_at"]
    path.write_text(tomlkit.dumps(typed), encoding="utf-8")
    return seen(folder, NOW, events)


def row(ident: str, species: str, where: str | None = "5", **more: Any) -> dict[str, Any]:
    made = {"id": ident, "name": ident, "species": species, "planted": 2024, "trees": 40, "harvested": False}
    return made | ({"paddock": where} if where else {}) | more


def notes(picture: Picture, kind: str) -> list[SiteNote]:
    return [note for note in site_notes(picture.farm) if note.kind == kind]


# ---------------------------------------------------------------- s9


def test_s9_wet_ground_under_walnut_and_not_under_swamp_white_oak(tmp_path: Path) -> None:
    picture = place(
        tmp_path, row("walnuts", "walnut_english"), row("oaks", "oak_swamp_white", "6"),
        drainage="somewhat poorly drained",
    )  # fmt: skip
    (wet,) = notes(picture, "wet")
    assert wet.about == "walnuts"
    assert "deep well-drained soil" in wet.words
    assert (wet.mark, wet.source) == ("G", "common_practice")
    assert "common practice, no document [G]" in wet.words
    assert wet.words in PAGES["site"](picture).sentences


def test_s9_what_is_not_typed_of_a_soil_is_named(tmp_path: Path) -> None:
    """The soil of the valley is typed, but not how wet it is."""
    picture = place(tmp_path, row("walnuts", "walnut_english"), drainage="well drained")
    bare = replace(picture.farm, soils=tuple(replace(one, drainage=None) for one in picture.farm.soils))
    told = page(PAGES["site"](replace(picture, farm=bare)))
    assert "How wet the soil is (drainage) is not typed for" in told
    assert "moderately well drained" in told


@pytest.mark.parametrize("drainage", ["well drained", "excessively drained"])
def test_s9_dry_ground_gives_no_caution(tmp_path: Path, drainage: str) -> None:
    picture = place(tmp_path, row("walnuts", "walnut_english"), drainage=drainage)
    assert site_notes(picture.farm) == ()
    assert "No caution follows" in page(PAGES["site"](picture))


def test_s9_what_is_not_known_of_a_tree_is_said(tmp_path: Path) -> None:
    picture = place(tmp_path, row("pecans", "pecan"), drainage="poorly drained")
    assert notes(picture, "wet") == []
    assert len(notes(picture, "wet_unknown")) == 1


def test_s9_apple_beside_walnut(tmp_path: Path) -> None:
    picture = place(tmp_path, row("walnuts", "walnut_english"), row("apples", "apple_semidwarf"),
                    row("oaks", "oak_swamp_white"), row("far apples", "apple_standard", "8"))  # fmt: skip
    (caution,) = notes(picture, "juglone")
    assert caution.about == "apples"
    assert "juglone" in caution.words
    assert "recalled, to be looked up [G]" in caution.words
    assert "about 14 m" in caution.words


# ---------------------------------------------------------------- s17


def lease(end: date) -> dict[str, Any]:
    return {"id": "lease", "kind": "lease", "what": "lease of 5", "from": date(2024, 1, 1), "to": end,
            "paddocks": ["5"]}  # fmt: skip


@pytest.mark.parametrize(
    ("end", "kinds"),
    [(date(2027, 12, 31), ["lease"]), (date(2029, 3, 1), ["lease_maybe"]), (date(2034, 1, 1), [])],
)
def test_s17_lease_end_against_first_harvest(tmp_path: Path, end: date, kinds: list[str]) -> None:
    """Grafted walnut of 2024 first bears 2028 to 2029 by the table."""
    picture = place(tmp_path, row("walnuts", "walnut_english"), promises=[lease(end)])
    found = [note for note in site_notes(picture.farm) if note.kind.startswith("lease")]
    assert [note.kind for note in found] == kinds
    assert all("who owns the trees" in note.words for note in found)


def test_a_lease_shuts_its_ground_outside_its_days(tmp_path: Path) -> None:
    picture = place(tmp_path, promises=[lease(date(2026, 5, 20))], events=[entry(NOW, "ewes", Moved("5"))])
    bite = next(b for b in bites(picture.scene, "ewes", "5") if b.limit == "promise")
    assert bite.moment is not None
    assert picture.scene.local(bite.moment.likely).date() == date(2026, 5, 20)
    assert "holds only from" in bite.because
    closed = next(face.closed for face in faces(picture.scene) if face.name == "promise")
    assert closed is not None
    day = (date(2026, 5, 20) - picture.today).days
    at = picture.scene.paddocks.index("5")
    assert not closed[0, :day, at].any()
    assert closed[0, day:, at].all()


# ---------------------------------------------------------------- settings


def test_conflicts_are_carried_unchanged_and_all_shown(tmp_path: Path) -> None:
    rows = tables.texts("conflicts")
    assert len(rows) == 28
    told = page(PAGES["settings"](place(tmp_path)))
    for conflict in rows:
        assert conflict["reading_a"] in told
        assert conflict["reading_b"] in told
        assert conflict["do_this"] in told
        assert f"[{conflict['conflict_id']} B; {conflict['source_id']}]" in told


def test_every_reading_is_listed_with_its_source(tmp_path: Path) -> None:
    told = page(PAGES["settings"](place(tmp_path)))
    for key in settings.questions():
        for name in tables.applies("settings", key):
            assert f"  {name}: " in told
            for source in tables.row("settings", key, name).source.split(";"):
                assert tables.sources()[source]["reference"] in told


CAUTIOUS = sorted(set(settings.questions()) - {"worm_rest", "pig_rest"})


@pytest.mark.parametrize("key", CAUTIOUS)
def test_the_default_is_the_cautious_reading(tmp_path: Path, key: str) -> None:
    used = next(s for s in settings.settings(place(tmp_path).farm) if s.key == key)
    assert used.cautious
    assert not used.named


def test_a_default_that_is_not_the_longest_says_so(tmp_path: Path) -> None:
    told = page(PAGES["settings"](place(tmp_path, rules={})))
    assert "The sources that ask for longer are more cautious" in told


def test_a_chosen_rest_rules_the_worm_limit(tmp_path: Path) -> None:
    rules = {"settings": {"worm_rest": "70 days"}}
    events = [entry("2026-05-02 07:00", "ewes", Moved("2")), entry("2026-05-03 07:00", "ewes", Moved("1"))]
    picture = place(tmp_path, rules=rules, events=events)
    worms = next(face for face in faces(picture.scene) if face.name == "worms")
    assert worms.rest_d is not None
    assert worms.rest_d.max() == pytest.approx(70.0)
    assert "70 days, chosen here" in page(PAGES["settings"](picture))


def test_a_chosen_interval_rules_the_shut_date_and_is_named_there(tmp_path: Path) -> None:
    rules = {"settings": {"manure_to_harvest": "edible part off the soil"}}
    walnuts = row("walnuts", "walnut_english") | {"first_drop": date(2026, 9, 25), "harvested": True}
    picture = place(tmp_path, walnuts, rules=rules)
    (shut,) = shut_dates(picture.scene)
    assert shut.last_grazing == date(2026, 6, 27)
    assert shut.interval.origins[0].source == "cfr7_205_203"
    bite = next(b for b in bites(picture.scene, "ewes", "5") if b.limit == "harvest")
    assert "edible part off the soil" in bite.because
    assert "the farm's choice" in bite.because


def test_a_chosen_height_rules_what_is_left(tmp_path: Path) -> None:
    def left(name: str, folder: str) -> float:
        rules = {"settings": {"height_to_leave": name}}
        scene = place(tmp_path / folder, rules=rules, leave=False).scene
        return leave_at(scene.herbage.numbers[0], ["sheep"]).value or 0.0

    own = left("the sward's own", "a")
    older, higher = left("older worm rule", "b"), left("the higher of both", "c")
    assert own <= older <= higher
    assert older == pytest.approx(max(10.0, own))
    assert higher == pytest.approx(15.0)


def test_today_names_what_is_in_use_and_its_source(tmp_path: Path) -> None:
    rules = {"settings": {"worm_rest": "70 days"}}
    used = today(place(tmp_path, rules=rules)).settings
    told = "\n".join(one.words for one in used)
    assert "Rest against worms: 70 days, chosen here." in told
    assert used[0].figures[0].origins[0].source == "uconn_slides"
    assert "Height to leave" in told
    assert "Last grazing before harvest" not in told
    typed = today(place(tmp_path / "typed", rules={"worm_rest": "40 d"})).settings
    assert (typed[0].words, typed[0].figures) == ("Rest against worms: 40 d, typed here.", ())


def test_a_number_typed_goes_before_a_name(tmp_path: Path) -> None:
    rules = {"worm_rest": "50 d", "settings": {"worm_rest": "70 days"}}
    picture = place(tmp_path, rules=rules)
    worms = next(face for face in faces(picture.scene) if face.name == "worms")
    assert worms.rest_d is not None
    assert worms.rest_d.max() == pytest.approx(50.0)
    assert "50 d, typed here" in page(PAGES["settings"](picture))


def test_a_name_that_is_no_reading_is_a_finding(tmp_path: Path) -> None:
    place(tmp_path)
    path = tmp_path / "farm.toml"
    typed = tomlkit.parse(path.read_text(encoding="utf-8")).unwrap()
    typed["rules"] = {"settings": {"worm_rest": "70 day"}}
    path.write_text(tomlkit.dumps(typed), encoding="utf-8")
    found = [str(one) for one in read(tmp_path).findings if one.level == "error"]
    assert len(found) == 1
    assert 'Do you mean "70 days"?' in found[0]
    assert "produce rule" not in settings.names_of("manure_to_harvest")
