"""A plan kept as planned moves is the same plan when it is read back, a move that is due now among them."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from zoneinfo import ZoneInfo

from browseline.chain.entries_page import entries_page
from browseline.chain.in_force import as_events, cuts_ahead, cuts_missed, moves_ahead, plan_in_force
from browseline.chain.reach import horizon_of
from browseline.chain.season_page import season_page
from browseline.events import Cut, Event, Moved, When, new_id
from browseline.figures import Figure
from browseline.moves.form import PlannedStay, Season
from browseline.papers.planned import beads, moves
from browseline.papers.season import season_sheet
from browseline.record.state import CutDone, Stay
from tests.small_farm import NOW, farm, look, state


def stay(place: str, begin: datetime, end: datetime) -> PlannedStay:
    return PlannedStay(
        Stay("ewes", place, When.at(begin), When.at(end), planned=True), "firm", "", f"why {place}"
    )


def test_a_move_that_is_due_now_is_kept_and_told() -> None:
    later = NOW + timedelta(days=3)
    nothing = Figure("plan_total", None, "USD")
    stays = (stay("2", NOW, later), stay("1", later, later + timedelta(days=3)))
    season = Season(NOW, stays, (), nothing, nothing, (), later, later, 1, 0)
    seen = look(farm(), state(farm()))
    written = as_events(season, seen, "phone", "owner")
    assert [(e.observed.start, e.body.to) for e in written if isinstance(e.body, Moved)] == [
        (NOW, "2"),
        (later, "1"),
    ]
    kept = replace(look(farm(), state(farm())), events=written)
    assert len(moves_ahead(kept)) == 2
    told = moves(kept, NOW + timedelta(days=7))
    assert [(move.start, move.to) for move in told] == [("1", "2"), ("2", "1")]
    ahead = [bead for bead in beads(kept, NOW) if not bead.done]
    assert [(bead.place, bead.reason) for bead in ahead] == [("2", "why 2"), ("1", "why 1")]
    again = plan_in_force(kept)
    assert again is not None
    assert [s.stay.place for s in again.of("ewes")] == ["1", "2", "1"]


def test_a_planned_cut_whose_day_is_over_is_missed_until_it_is_entered() -> None:
    days = (-20, -3, 2)
    seen = look(farm(), state(farm()))
    written = tuple(cut(NOW + timedelta(days=d), planned=True) for d in days)
    kept = replace(seen, events=written)
    assert cuts_missed(kept) == written[1:2]
    assert cuts_ahead(kept) == written[2:]
    done = CutDone("1", When.at(NOW - timedelta(days=3)), "hay")
    assert cuts_missed(replace(kept, state=replace(kept.state, cuts=(done,)))) == ()


def test_a_planned_cut_of_a_part_is_missed_until_that_part_is_cut() -> None:
    seen = look(farm(), state(farm()))
    written = (cut(NOW - timedelta(days=3), planned=True, subject="1/a"),)
    kept, at = replace(seen, events=written), When.at(NOW - timedelta(days=3))
    for part, missed in (("1/b", written), ("1/a", ())):
        done = CutDone("1", at, "hay", part=part)
        assert cuts_missed(replace(kept, state=replace(kept.state, cuts=(done,)))) == missed


def cut(day: datetime, *, planned: bool, subject: str = "1") -> Event:
    when = When(day, day + timedelta(hours=10))
    recorded = NOW - timedelta(days=30)
    return Event(new_id(day), "phone", "owner", when, recorded, subject, Cut("hay"), planned=planned)


def test_a_plan_kept_when_money_was_written_by_its_word_reads_with_its_sign() -> None:
    """The record keeps the words of its day; papers and entries tell them as money is told now."""
    seen, later = look(farm(), state(farm())), NOW + timedelta(days=3)
    was = "One day more would cost 1,123 USD more, \u22125 USD by another, at 0.3 USD/kg."
    now = "One day more would cost $1,123 more, −5 USD by another, at 0.3 USD/kg.".replace("−5 USD", "−$5")
    kept = replace(seen, events=(move("2", later, was),))
    assert [bead.reason for bead in beads(kept, NOW) if bead.place == "2"] == [now]
    again = plan_in_force(kept)
    assert again is not None
    assert [s.reason for s in again.of("ewes") if s.stay.place == "2"] == [now]
    (row,) = entries_page(kept).rows
    assert row.because == now
    typed = replace(move("2", later, "paid 5 USD"), planned=False)
    assert entries_page(replace(seen, events=(typed,))).rows[0].because == "paid 5 USD"


def move(to: str, at: datetime, why: str) -> Event:
    return Event(new_id(NOW), "phone", "owner", When.at(at), NOW, "ewes", Moved(to), planned=True, reason=why)


def test_what_is_planned_far_ahead_is_looked_at_and_no_more_than_a_year() -> None:
    zone = ZoneInfo("America/New_York")
    reach = partial(horizon_of, now=NOW, zone=zone)
    assert reach(()) == reach((move("2", NOW + timedelta(days=20), ""),)) == 45
    assert reach((move("2", NOW + timedelta(days=60), ""),)) == 61
    assert reach((cut(NOW + timedelta(days=70), planned=True),)) == 71
    assert reach((move("2", NOW + timedelta(days=900), ""),)) == 366
    until = replace(move("2", NOW, ""), body=Moved("2", until_day=NOW.date() + timedelta(days=100)))
    assert reach((until,)) == 100
    assert reach((replace(until, observed=When.at(NOW - timedelta(days=1))),)) == 45


def test_the_last_move_of_a_mob_says_on_which_day_its_stay_ends() -> None:
    first, later, end = (NOW + timedelta(days=d) for d in (1, 4, 60))
    nothing = Figure("plan_total", None, "USD")
    stays = (stay("2", first, later), stay("1", later, end))
    season = Season(NOW, stays, (), nothing, nothing, (), later, later, 1, 0)
    seen = look(farm(), state(farm()))
    written = as_events(season, seen, "phone", "owner")
    assert [e.body.until_day for e in written if isinstance(e.body, Moved)] == [None, end.date()]
    kept = replace(look(farm(), state(farm())), events=written)
    assert as_events(season, kept, "phone", "owner") == ()
    longer = replace(season, stays=(stays[0], stay("1", later, end + timedelta(days=7))))
    (renewed,) = as_events(longer, kept, "phone", "owner")
    assert renewed.supersedes == written[1].id


def test_a_plan_is_as_firm_as_its_days_of_the_calendar_whatever_the_hour() -> None:
    """NOW is 7:00: six hours before or after it are the same day, and told alike everywhere."""
    for hours in (-6, 6):
        seventh, fourteenth = (NOW + timedelta(days=d, hours=hours) for d in (7, 14))
        events = (move("2", seventh, ""), move("1", fourteenth, ""))
        kept = replace(look(farm(), state(farm())), events=events)
        again = plan_in_force(kept)
        assert again is not None
        firm = ["firm", "likely", "outline"]
        assert [s.firmness for s in again.of("ewes")] == firm
        assert [bead.firmness for bead in beads(kept, NOW) if not bead.done] == firm
        page = season_page(kept, again)
        words = ["firm, its end likely", "likely, its end an outline", "outline"]
        assert [s.firm for mob in page.mobs for s in mob.stays] == words
        assert page.moves == ()
        (string,) = season_sheet(kept, again, page).strings
        assert [bead.state_words for bead in string.beads if bead.state != "done"] == words
