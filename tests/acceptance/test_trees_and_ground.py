"""What p2, p7 and p9 ask of trees and ground: goats kept out, pigs early off and locked when wet."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from browseline.chain import Picture, today
from browseline.chain.answers import answer_to
from browseline.events import Borrowed, Forecast, Guarded, Looked
from browseline.limits import bites, faces, ready
from browseline.moves import plan
from tests.acceptance.cases import EWE, at, entry, farm_folder, mob, quantity, seen, walked

TREED = {"5", "6", "7", "10"}
EWES = EWE | {"intake": "2.6 lb/d"}
PIGS = {"kind": "pig", "class": "grower 20-60 kg", "head": 12, "weight": "120 lb", "intake": "4 lb/d"}


def closed(picture: Picture, ident: str, limit: str = "young") -> set[str]:
    face = next(f for f in faces(picture.scene) if f.name == limit)
    row = next(i for i, m in enumerate(picture.scene.mobs) if m.id == ident)
    assert face.closed is not None
    return {p for i, p in enumerate(picture.scene.paddocks) if face.closed[row, :, i].all()}


def lent(folder: Path, *events: object) -> Picture:
    farm_folder(folder, as_of=date(2026, 7, 30), mobs=[mob(EWES, place="1", since="2026-07-31 08:00")])
    goats = entry(
        "2026-08-01 09:00", "goats",
        Borrowed(20, "goat", "doe range browsing", date(2026, 8, 22), "the neighbour", "2",
                 quantity("110 lb", "mass"), quantity("3.85 lb/d", "intake")),
    )  # fmt: skip
    heights = walked("2026-08-01 07:00", dict.fromkeys(range(1, 13), 8.0))
    return seen(folder, "2026-08-01 10:00", [*heights, goats, *events])  # type: ignore[list-item]


def test_p7_goats_are_never_proposed_among_unguarded_trees(tmp_path: Path) -> None:
    picture = lent(tmp_path)
    assert closed(picture, "goats") == TREED
    assert closed(picture, "ewes") == set()
    season = plan(picture.scene, None, 300)
    assert not {s.stay.place for s in season.stays if s.stay.mob == "goats"} & TREED
    strip = next(p for p in picture.farm.plantings if p.id == "oaks")
    assert strip.paddock is None  # no paddock, so no limit can propose it
    part = next(m for m in today(picture).mobs if m.id == "goats")
    assert part.next is None or part.next.paddock not in TREED
    for paddock in TREED:
        young = next(b for b in bites(picture.scene, "goats", paddock) if b.limit == "young")
        assert young.hardness == "hard"
        assert "No size of tree is safe from goats." in young.because
        assert next(r for r in ready(picture.scene, "goats", paddock) if r.limit == "young").moment is None


def test_p7_a_guard_that_holds_goats_opens_the_rows(tmp_path: Path) -> None:
    tube = entry("2026-08-01 09:30", "walnuts-5", Guarded(109, "tube"))
    cage = entry("2026-08-01 09:31", "walnuts-6", Guarded(109, "mesh cage, two posts"))
    some = entry("2026-08-01 09:32", "walnuts-7", Guarded(100, "mesh cage, two posts"))
    assert closed(lent(tmp_path, tube, cage, some), "goats") == TREED - {"6"}


def test_p2_where_trees_stand_short_grass_is_said(tmp_path: Path) -> None:
    """Hungry sheep in short grass among trees: the limit comes sooner than in tall grass."""
    farm_folder(tmp_path, as_of=date(2026, 7, 1), mobs=[mob(EWES, place="1", since="2026-07-07 08:00")])
    picture = seen(tmp_path, "2026-07-08 06:00", walked("2026-07-08 05:00", {5: 9.0, 6: 3.8, 7: 9.0, 1: 4.2}))
    found = {p: next(b for b in bites(picture.scene, "ewes", p) if b.limit == "trees") for p in ("5", "6")}
    short, tall = found["6"].moment, found["5"].moment
    assert short is not None
    assert tall is not None
    assert short.likely < tall.likely


def pigs(folder: Path, *events: object, wet_rule: bool = True) -> Picture:
    farm_folder(
        folder, as_of=date(2026, 6, 1), rules={"wet_rule": wet_rule},
        mobs=[{"id": "pigs", "name": "Pigs", "at": "9", "since": "2026-06-10 08:00", "lines": [PIGS]}],
    )  # fmt: skip
    heights = walked("2026-06-10 07:00", dict.fromkeys(range(1, 13), 8.0))
    return seen(folder, "2026-06-12 08:00", [*heights, *events])  # type: ignore[list-item]


def test_p9_five_days_in_and_sixty_of_rest(tmp_path: Path) -> None:
    picture = pigs(tmp_path)
    rooting = next(b for b in bites(picture.scene, "pigs", "9") if b.limit == "ground")
    assert rooting.moment is not None
    days = [(x - at("2026-06-10 08:00")).days for x in
            (rooting.moment.earliest, rooting.moment.likely, rooting.moment.latest)]  # fmt: skip
    assert days == [3, 5, 7]
    face = next(f for f in faces(picture.scene) if f.name == "ground")
    assert face.longest_stay_d is not None
    assert face.rest_d is not None
    assert face.longest_stay_d.max() == 5
    assert face.rest_d.max() == 60
    assert "Move early when over 33 % is bare or roots show (common practice)" in rooting.do


def test_p9_a_third_bare_or_roots_showing_is_an_early_move(tmp_path: Path) -> None:
    for name, body in (("bare", Looked("ground", bare=quantity("40 %", "share"))),
                       ("roots", Looked("ground", roots="oak roots by the gate"))):  # fmt: skip
        event = entry("2026-06-12 07:30", "9", body)
        picture = pigs(tmp_path / name, event)
        bite = next(b for b in bites(picture.scene, "pigs", "9") if b.limit == "ground")
        assert bite.hardness == "hard"
        assert bite.moment is not None
        assert bite.moment.likely <= picture.now
        assert "Move now" in " ".join(answer_to(event, picture))
    little = pigs(
        tmp_path / "little", entry("2026-06-12 07:30", "9", Looked("ground", bare=quantity("30 %", "share")))
    )
    assert all(b.moment is None or b.moment.likely > little.now
               for b in bites(little.scene, "pigs", "9") if b.limit == "ground")  # fmt: skip


def test_p9_rain_expected_with_no_weather_known_is_a_question(tmp_path: Path) -> None:
    rain = entry("2026-06-12 07:00", "farm", Forecast(date(2026, 6, 15), rain=quantity("2 in", "length")))
    picture = pigs(tmp_path, rain)
    asked = next(b for b in bites(picture.scene, "pigs", "9") if b.hardness == "question")
    assert asked.limit == "ground"
    assert "2 in of rain expected" in asked.because
