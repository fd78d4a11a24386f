"""What is said after an entry, in the cases that the acceptance tests leave out."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from browseline.chain.answers import answer_to, most_eaten
from browseline.chain.improbable import improbable
from browseline.chain.look import Picture, picture
from browseline.events import (
    Back,
    Counted,
    Event,
    Looked,
    Moved,
    Noted,
    Penned,
    Sold,
    Stormed,
    Treated,
    Unknown,
    Walked,
    When,
)  # fmt: skip
from browseline.farm.records import Farm, Line, Place, Planting
from browseline.record.fold import fold
from tests.unit.ledger.small import NOW, TODAY, event, ewes, farm, heights, mob, quantity


def seen(of: Farm, *events: Event) -> Picture:
    return picture(Path(), of, events, fold(of, events, NOW), NOW, 5, 30)


def found(to: str = "2") -> Event:
    moved = event("ewes", Moved(to))
    return replace(moved, observed=When(NOW - timedelta(hours=5), NOW))


def told(entry: Event, of: Farm | None = None, *before: Event) -> str:
    return " ".join(answer_to(entry, seen(of or farm(), *before, entry)))


def test_entries_that_change_nothing_are_not_talked_about() -> None:
    assert told(event("farm", Noted("rain on the hill"))) == ""
    assert told(replace(event("ewes", Noted("x")), body=Unknown("new", 1, "{}"))) == ""
    assert answer_to(replace(found(), planned=True), seen(farm())) == ()


def test_found_elsewhere_without_a_known_need_names_no_amount() -> None:
    of = farm(mobs=(mob(ewes(50, None)),))
    words = told(found(), of)
    assert "0 to 5.0 h there" in words
    assert "eaten." not in words
    assert most_eaten(found(), seen(of).scene.mobs[0].lines) is None


def test_found_elsewhere_asks_about_trees_only_where_there_are_some() -> None:
    trees = farm(plantings=(Planting("row", "Row", "walnut_english", "2"),))
    assert "look at some of them" in told(found(), trees)
    assert "look at some of them" not in told(found())


def test_other_kinds_have_another_fence_and_no_worms_of_sheep() -> None:
    cattle = farm(mobs=(mob(Line("cattle", "cows", 10, None, quantity("12 kg/d", "intake"))),))
    words = told(found(), cattle)
    assert "below about 2 kV" in words
    assert "worm clock" not in words
    horses = farm(mobs=(mob(Line("horse", "mares", 3, None, quantity("9 kg/d", "intake"))),))
    assert "below about 4 kV" in told(found(), horses)


def test_found_where_it_first_stood_names_no_other_paddock() -> None:
    of = farm(mobs=(replace(mob(at="yard"), since=None),))
    assert "keeps the grass" not in told(found(), of)
    assert answer_to(found(), seen(farm(mobs=()))) == ()


def test_a_mob_that_is_not_there_says_nothing() -> None:
    for body in (Penned("0123", ("ewes=1",)), Back("0123"), Moved("2")):
        stray = replace(event("gone", body), observed=When(NOW - timedelta(hours=1), NOW))
        assert told(stray) == ""


def test_many_in_the_pen_change_the_plan() -> None:
    words = told(event("ewes", Penned("sick", ("ewes=10",), "scours")))
    assert "−20.0 %" in words
    assert "look at Today again" in words
    assert "unchanged" not in words
    unknown = told(event("ewes", Penned("sick", ("ewes=10",))), farm(mobs=(mob(ewes(50, None)),)))
    assert "%" not in unknown
    assert "the mob is 40 ewes" in unknown


def test_a_pen_that_is_not_there_is_not_back() -> None:
    pen = event("ewes", Penned("0123", ("ewes=1",)))
    assert "is back" in told(event("ewes", Back("0123")), None, pen)


def test_without_a_withdrawal_date_the_vet_is_asked() -> None:
    assert "ask the vet for the withdrawal date" in told(event("0123", Treated("given by the vet")))


def test_a_sale_of_another_mob_is_not_held_back() -> None:
    treated = event("0123", Treated("given by the vet", TODAY + timedelta(days=5)))
    assert told(event("ewes", Sold(5, "ewes")), None, treated) == ""
    pen = event("ewes", Penned("0123", ("ewes=1",)))
    held = event("0123", Treated("given by the vet", TODAY + timedelta(days=5)))
    assert "may not be sold" in told(event("ewes", Sold(5, "ewes")), None, pen, held)


@pytest.mark.parametrize(("head", "words"), [("50", "adds up"), ("49", "not changed")])
def test_a_count_is_answered(head: str, words: str) -> None:
    assert words in told(event("ewes", Counted((head,))))


def test_a_look_without_numbers_or_with_too_many_gives_no_share() -> None:
    assert told(event("2", Looked("ground", ruts="some"))) == ""
    assert told(event("2", Looked("trees", seen=10))) == ""
    assert told(event("2", Looked("trees", seen=10, bitten=11))) == ""


def test_after_wind_paddocks_with_trees_are_looked_at() -> None:
    of = farm(plantings=(Planting("row", "Row", "walnut_english", "2"),))
    assert "Look at P2 before any move there." in told(event("farm", Stormed()), of)
    bare = told(event("farm", Stormed()))
    assert "Look at P" not in bare
    assert "hung or dead limb" in bare


def test_only_heights_of_paddocks_are_doubted() -> None:
    walk = Walked(quantity("900 cm", "length"))
    assert improbable(event("2", Noted("x")), seen(farm())) == ()
    assert improbable(event("elsewhere", walk), seen(farm())) == ()
    (asked,) = improbable(event("2", walk), seen(farm()))
    assert asked.mend == "Type it again with its unit, or keep it as it is."


def test_a_place_bounds_growth_by_its_own_light() -> None:
    """In July the sun of 41 degrees south is weak: what may be in the north is doubted there."""
    old = replace(heights(7, 7, 7)[1], observed=When.at(NOW - timedelta(days=1)))
    rise = event("2", Walked(quantity("9.5 cm", "length")))
    north = seen(farm(), old)
    assert improbable(rise, north) == ()
    south = replace(north, farm=replace(north.farm, place=Place(-50.0, 0.0)))
    assert len(improbable(rise, south)) == 1
