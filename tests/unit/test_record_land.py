# ruff: noqa: E501 - events stand in full view, one a row
from __future__ import annotations

from dataclasses import replace

import pytest

from browseline.chain.parts import with_parts
from browseline.events import When
from browseline.record.fold import fold, fold_each
from browseline.record.state import Alarm, State
from browseline.record.told import tell
from browseline.units import parse
from tests.unit.record_events import at, events, quern_bank

LATE = at("2026-12-31T12:00:00+00:00")
ZONE = "America/New_York"


def heads(state: State, mob: str = "ewes") -> dict[str, int]:
    found = state.mob(mob)
    assert found is not None
    return {line.klass: line.head for line in found.lines}


def codes(state: State) -> list[str]:
    return [question.code for question in state.questions]


def demand_lb_d(state: State, mob: str) -> float:
    found = state.mob(mob)
    assert found is not None
    return sum(line.head * line.intake.to("lb/d") for line in found.lines if line.intake is not None)


# ---------------------------------------------------------------- P6, M6: shut and open

P6 = """id;observed;kind;subject;value
m;2026-05-02T08:00-04:00;moved;ewes;{"to": "4"}
g;2026-05-03T02:00-04:00;stormed;farm;{"what": "wind"}
s;2026-05-03T06:40-04:00;shut;4;{"because": "cherry limb down", "until": "cleared"}"""


def test_p6_a_mob_in_a_shut_paddock_is_an_alarm_until_it_is_out() -> None:
    out = 'o;2026-05-03T07:10-04:00;moved;ewes;{"to": "8"}'
    inside, outside = fold_each(
        quern_bank(),
        events(f"{P6}\n{out}"),
        (at("2026-05-03T07:00:00-04:00"), at("2026-05-03T08:00:00-04:00")),
    )
    (alarm,) = inside.alarms
    assert (alarm.code, alarm.subject, alarm.at.text()) == ("in_shut", "ewes", "2026-05-03T06:40:00-04:00")
    assert tell(alarm, ZONE) == "Ewes: in Paddock 4, which is shut: cherry limb down."
    assert outside.alarms == ()
    assert outside.storms == (When.at(at("2026-05-03T02:00-04:00")),)
    shut = outside.shut_now("4")
    assert shut is not None
    assert (shut.because, shut.until, shut.who, shut.event) == ("cherry limb down", "cleared", "owner", "s")


def test_a_move_into_a_shut_paddock_raises_the_alarm_with_its_reason() -> None:
    found = events(
        """id;observed;kind;subject;value
           s;2026-05-03T06:40-04:00;shut;4;{"because": "cherry limb down", "until": "cleared"}
           m;2026-05-04T08:00-04:00;moved;ewes;{"to": "4", "despite_shut": "limb is fenced off"}"""
    )
    (alarm,) = fold(quern_bank(), found, LATE).alarms
    assert isinstance(alarm, Alarm)
    assert dict(alarm.facts)["despite"] == "limb is fenced off"
    assert alarm.at == When.at(at("2026-05-04T08:00-04:00"))


@pytest.mark.parametrize(("met", "left"), [("cleared", ["oak mast"]), ("", []), ("looked at", [])])
def test_opening_names_the_condition_or_opens_all(met: str, left: list[str]) -> None:
    found = events(
        f"""id;observed;kind;subject;value
           a;2026-05-03T06:40-04:00;shut;4;{{"because": "cherry limb down", "until": "cleared"}}
           b;2026-05-03T07:40-04:00;shut;4;{{"because": "oak mast", "until": "gone"}}
           c;2026-05-03T07:50-04:00;shut;5;{{"because": "young trees"}}
           d;2026-05-05T08:00-04:00;opened;4;{{"met": "{met}"}}"""
    )
    state = fold(quern_bank(), found, LATE)
    assert [s.because for s in state.shut if s.paddock == "4"] == left
    assert state.shut_now("5") is not None
    assert state.shut_now("1") is None


def test_a_paddock_shut_until_a_day_opens_on_that_day() -> None:
    found = events(
        """id;observed;kind;subject;value
           a;2026-05-03T06:40-04:00;shut;4;{"because": "hay", "until_day": "2026-06-10"}"""
    )
    before, after = fold_each(
        quern_bank(), found, (at("2026-06-09T23:59:00-04:00"), at("2026-06-10T00:00:00-04:00"))
    )
    assert before.shut_now("4") is not None
    assert after.shut_now("4") is None


# ---------------------------------------------------------------- grass, rain, hay, trees


def test_readings_rain_and_growth() -> None:
    found = events(
        """id;observed;recorded;kind;subject;value
           a;2026-05-03T23:30-04:00;2026-05-03T23:30-04:00;rained;farm;{"depth": "0.5 in"}
           b;2026-05-04T08:00-04:00;2026-05-04T08:00-04:00;rained;farm;{"depth": "6 mm"}
           c;2026-05-04T07:00-04:00;2026-05-04T09:00-04:00;rained;farm;{"depth": "8 mm"}
           d;2026-05-05T08:00-04:00;;forecast;farm;{"until": "2026-05-12", "growth": "8 lb/ac/d", "rain": "20 mm"}
           e;2026-05-05T09:00-04:00;;forecast;6;{"until": "2026-05-12", "height": "0.1 in/d"}
           f;2026-05-05T09:30-04:00;;looked;6;{"at": "ground", "bare": "10 %"}
           g;2026-07-10T09:30-04:00;;lost;walnut 5;{"trees": 71, "cause": "late frost"}"""
    )
    state = fold(quern_bank(), found, LATE)
    assert [(str(day), depth.text) for day, depth in state.rain] == [
        ("2026-05-03", "0.5 in"),
        ("2026-05-04", "8 mm"),
    ]
    (dispute,) = state.disagreements
    assert (dispute.code, dispute.events, dispute.standing) == ("rain", ("c", "b"), "c")
    assert tell(dispute, ZONE).startswith("Rain of 2026-05-04 was written down as 8 mm and as 6 mm.")
    assert [(g.paddock, g.growth.text) for g in state.growth] == [("", "8 lb/ac/d"), ("6", "0.1 in/d")]
    assert [(str(a), str(b), depth.text) for a, b, depth in state.rain_ahead] == [
        ("2026-05-05", "2026-05-12", "20 mm")
    ]
    assert state.looks == ()
    assert [(p, n, c) for p, n, c, _ in state.losses] == [("walnut 5", 71, "late frost")]


def test_hay_is_taken_from_the_lot_named_or_the_first_with_bales() -> None:
    lots = (*quern_bank().hay, replace(quern_bank().hay[0], id="old", bales=parse("2 bales", "count")))
    found = events(
        """id;observed;kind;subject;part;value
           a;2026-05-01T08:00-04:00;fed;ewes;;{"amount": "13 bales"}
           b;2026-05-02T08:00-04:00;fed;ewes;;{"amount": "2 bales"}
           c;2026-05-03T08:00-04:00;fed;ewes;;{"amount": "3 bales", "lot": "old"}
           d;2026-06-01T08:00-04:00;cut;12;;{"bales": "6 bales", "to_height": "3 in"}
           e;2026-06-02T08:00-04:00;cut;12;old;{"bales": "1 bale"}
           f;2026-06-03T08:00-04:00;cut;11;;{"purpose": "mowing"}"""
    )
    state = fold(quern_bank(hay=lots), found, LATE)
    assert [(lot.lot, lot.bales) for lot in state.hay] == [("barn", 0.0), ("old", 1.0), ("cut/12", 6.0)]
    assert sum(bales for _, _, bales in state.fed) == 18
    (question,) = state.questions
    assert tell(question, ZONE).startswith("3 bales were fed; the store lacked 2 of them.")
    assert [(cut.paddock, cut.purpose) for cut in state.cuts] == [
        ("12", "hay"),
        ("12", "hay"),
        ("11", "mowing"),
    ]


def test_feeding_from_a_lot_that_is_not_there_is_asked_about_and_cut_hay_joins_the_only_lot() -> None:
    found = events(
        """id;observed;kind;subject;value
           a;2026-05-01T08:00-04:00;fed;ewes;{"amount": "1 bale", "lot": "shed"}
           d;2026-06-01T08:00-04:00;cut;12;{"bales": "6 bales"}"""
    )
    state = fold(quern_bank(), found, LATE)
    assert [(lot.lot, lot.bales, str(lot.as_of)) for lot in state.hay] == [("barn", 20.0, "2026-06-01")]
    assert codes(state) == ["hay_short"]


# ---------------------------------------------------------------- nets


def test_a_net_gives_parts_with_clocks_of_their_own() -> None:
    found = events(
        """id;observed;kind;subject;part;value
           a;2026-05-03T08:00-04:00;netted;6;;{"parts": ["a", "6/b"], "areas": ["0.8 ac", "1.2 ac"]}
           b;2026-05-03T09:00-04:00;moved;ewes;a;{"to": "6"}
           c;2026-05-05T09:00-04:00;moved;ewes;;{"to": "6/b"}
           d;2026-05-05T10:00-04:00;walked;6;a;{"height": "4 in", "density": "good"}
           e;2026-05-05T11:00-04:00;shut;6;b;{"because": "limb"}"""
    )
    state = fold(quern_bank(), found, LATE)
    assert state.parents == (("6/a", "6"), ("6/b", "6"))
    assert [(part, area.text) for part, area in state.part_areas] == [("6/a", "0.8 ac"), ("6/b", "1.2 ac")]
    assert [(stay.place, stay.part) for stay in state.stays] == [("6", ""), ("6", "6/a"), ("6", "6/b")]
    assert [(h.paddock, h.part, h.height.text) for h in state.heights] == [("6", "6/a", "4 in")]
    assert [alarm.code for alarm in state.alarms] == ["in_shut"]
    assert state.last_height("6") == state.heights[0]
    assert state.last_height("7") is None


def test_a_part_without_an_area_is_asked_about() -> None:
    found = events(
        """id;observed;kind;subject;value
           a;2026-05-03T08:00-04:00;netted;6;{"parts": ["a", "b"], "areas": ["0.8 ac"]}"""
    )
    assert "unreadable" in codes(fold(quern_bank(), found, LATE))


def test_who_stands_where_a_net_is_set_up_is_asked_for_the_part() -> None:
    """Nobody can tell from the record on which side of the net they are; until it is said the whole stands."""
    netted = """id;observed;kind;subject;value
                a;2026-05-03T08:00-04:00;netted;6;{"parts": ["a", "b"], "areas": ["0.8 ac", "1.2 ac"]}"""
    asked = fold(quern_bank(), events(netted), LATE)
    (question,) = [q for q in asked.questions if q.code == "which_part"]
    assert question.subject == "ewes"
    assert dict(question.facts)["parts"] == "6/a, 6/b"
    farm, state = with_parts(quern_bank(), asked)
    assert "6" in {p.id for p in farm.paddocks}
    assert next(m for m in state.mobs if m.id == "ewes").place == "6"
    said = (
        netted
        + """
                b;2026-05-03T09:00-04:00;moved;ewes;{"to": "6/b"}"""
    )
    told = fold(quern_bank(), events(said), LATE)
    assert codes(told) == []
    farm, state = with_parts(quern_bank(), told)
    assert {p.id for p in farm.paddocks} >= {"6/a", "6/b"}
    assert "6" not in {p.id for p in farm.paddocks}
    assert next(m for m in state.mobs if m.id == "ewes").place == "6/b"


# ---------------------------------------------------------------- trees

TREES = """id;observed;kind;subject;value
p;2026-05-02T08:00-04:00;pruned;nuts;{"to_height": "8 ft", "row": "A"}
t;2026-05-02T09:00-04:00;thinned;nuts;{"trees": 40}
f;2026-05-02T10:00-04:00;felled;nuts;{"trees": 2, "why": "leaning", "row": "B"}
m;2026-05-02T11:00-04:00;tree_measured;nuts;{"tree": "A7", "dbh": "5.5 in", "crown": "14 ft", "row": "A"}"""


def test_what_was_done_to_trees_is_kept_with_numbers_heights_and_rows() -> None:
    state = fold(quern_bank(), events(TREES), LATE)
    pruned, thinned, felled = state.trees_cut
    assert (pruned.trees, str(pruned.to_height), pruned.row) == (None, "8 ft", "A")
    assert (thinned.trees, thinned.to_height, thinned.row) == (40, None, "")
    assert (felled.kind, felled.trees, felled.row) == ("felled", 2, "B")
    (size,) = state.tree_sizes
    assert (str(size.dbh), str(size.crown), size.row) == ("5.5 in", "14 ft", "A")
