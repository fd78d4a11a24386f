"""Stock for the purpose: every kind side by side with its marks; which are fit for a job, and why not."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from browseline.chain.purpose import Fit, purpose_account, purposes
from browseline.farm.records import Job, Keeper, Planting
from browseline.record.state import HeadLine
from browseline.units import parse
from tests.small_farm import NOW, ewes, farm, look, state
from tests.unit.test_limit_poison import square


def page(kind: str, *plantings: Planting, beside: tuple[str, ...] = ()) -> dict[str, Fit]:
    job = Job("j", "The job", kind, "2", beside=beside)
    small = farm(jobs=(job,), plantings=plantings)
    (part,) = purposes(look(small, state(small))).jobs
    return {fit.kind: fit for fit in part.fits}


def hazel(guard: str | None = None, paddock: str = "2") -> Planting:
    return Planting("hazel", "Hazel", "hazel_hybrid", paddock, planted=2022, trees=40, guard=guard)


def test_every_kind_stands_beside_the_others_with_a_mark() -> None:
    small = farm(keepers=(Keeper("sheep", "nine years", "a butcher"),))
    rows = {row.kind: row for row in purposes(look(small, state(small))).kinds}
    assert list(rows) == ["sheep", "goat", "cattle", "pig", "horse", "chicken", "turkey", "goose", "duck"]
    assert rows["goat"].eats == "grass 20 %, forbs 20 %, browse 60 %"
    assert (rows["sheep"].experience, rows["sheep"].market) == ("nine years", "a butcher")
    assert rows["goat"].experience == rows["duck"].water == "not known"
    assert {row.mark for row in rows.values()} <= {"B", "G"}
    assert rows["duck"].mark == "G"


def test_what_a_kind_drinks_is_the_table_in_the_farms_units() -> None:
    small = farm()
    rows = {row.kind: row for row in purposes(look(small, state(small))).kinds}
    # sdsu_ewe_water2022: 3.1 to 5.0 L = 0.8 to 1.3 gal
    assert "0.8" in rows["sheep"].water
    assert "1.3 gal" in rows["sheep"].water


@pytest.mark.parametrize(
    ("kind", "fit"),
    [("turn", {"pig"}), ("brush", {"goat"}), ("keep_down", {"sheep", "cattle", "horse", "goose"})],
)
def test_who_does_the_work(kind: str, fit: set[str]) -> None:
    assert {k for k, one in page(kind).items() if one.fits} == fit


def test_turn_ground_beside_bare_hazel_no_pigs_and_why() -> None:
    for fits in (page("turn", hazel()), page("turn", hazel(paddock="3"), beside=("hazel",))):
        assert not fits["pig"].fits
        assert "Hazel" in fits["pig"].because
        assert "without a guard" in fits["pig"].because
    assert page("turn", hazel(paddock="3"))["pig"].fits


def test_goats_are_not_offered_among_young_trees() -> None:
    fit = page("brush", hazel())["goat"]
    assert not fit.fits
    assert "Hazel" in fit.because


def test_a_height_ends_the_mowing() -> None:
    for target, done in (("9 in", True), ("7 in", False)):
        job = Job("j", "Mow", "keep_down", "2", target=parse(target, "length"), from_day=NOW.date())
        small = farm(jobs=(job,))
        (part,) = purposes(look(small, state(small))).jobs
        assert part.done is done
        assert "8 in" in part.reached


def test_the_page_says_when_no_job_is_typed(tmp_path: Path) -> None:
    small = farm()
    account = purpose_account(look(small, state(small)))
    assert "No job is typed" in account.sentences[0]
    assert len(account.rows) == 9
    assert len(account.head) == len(account.rows[0])


def test_over_the_fence_on_the_map_counts_as_beside() -> None:
    """Paddocks that touch are beside each other; a paddock further on is not."""
    job = Job("j", "The job", "turn", "1")
    for place, fits in (("2", False), ("3", True)):
        small = farm(
            jobs=(job,),
            plantings=(hazel(paddock=place),),
            shapes=tuple(square(str(n + 1), n) for n in range(3)),
        )
        (part,) = purposes(look(small, state(small))).jobs
        assert next(fit.fits for fit in part.fits if fit.kind == "pig") is fits


def test_two_kinds_that_share_half_their_diet() -> None:
    """animut2008 (C434): 100 head alone, half the diet shared: 75 of each; sheep and cattle share 90 %."""
    small = farm()
    cows = replace(ewes("2"), id="cows", lines=(HeadLine("cattle", "beef cow dry gestating", 10),))
    made = state(small)
    seen = look(small, replace(made, mobs=(*made.mobs, cows)))
    (line,) = [words for words in purpose_account(seen).sentences if "share" in words]
    # the lesser of 60/70, 30/20 and 10/10 %: 90 %; 100 x (10 + 90 / 2) / 100 = 55
    assert "share 90 %" in line
    assert "about 55 of each" in line
    assert line.endswith("[G]")


@pytest.mark.parametrize(("target", "words"), [("7 in", "Foreseen"), ("2 in", "Growth keeps up with them")])
def test_a_job_is_foreseen_to_its_end_or_it_is_said_that_it_is_not(target: str, words: str) -> None:
    job = Job("j", "Mow", "keep_down", "1", "ewes", parse(target, "length"))
    small = farm(jobs=(job,), weather=True)
    grown = state(small, height="8 in", mob=ewes(head=60 if words == "Foreseen" else 2))
    (part,) = purposes(look(small, grown)).jobs
    assert words in part.reached
    unread = replace(grown, heights=())
    (part,) = purposes(look(small, unread)).jobs
    assert "When is not known: nobody has looked since it began." in part.reached
