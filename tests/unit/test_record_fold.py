# ruff: noqa: E501 - events stand in full view, one a row
from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from browseline.events import Moved, When
from browseline.farm.records import Line, Mob, Planting, Stage, TreeRow
from browseline.record.fold import fold, fold_each, planned
from browseline.record.state import HeadLine, State
from browseline.record.told import tell, when_words
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


# ---------------------------------------------------------------- opening values


def test_a_farm_without_events_is_its_opening_values() -> None:
    state = fold(quern_bank(), [], at("2026-05-01T12:00:00-04:00"))
    mob = state.mob("ewes")
    assert mob is not None
    assert mob.since is not None
    assert (mob.place, mob.since.text(), mob.head) == ("6", "2026-04-30T12:00:00+00:00", 156)
    assert [(lot.lot, lot.bales) for lot in state.hay] == [("barn", 14.0)]
    assert state.living() == state.mobs
    assert (state.questions, state.disagreements, state.alarms, state.unknown) == ((), (), (), ())


def test_a_mob_without_a_typed_entry_stands_there_since_the_farm_began() -> None:
    mob = replace(quern_bank().mobs[0], since=None)
    stays = fold(quern_bank(mobs=(mob,)), [], LATE).stays
    assert [stay.begin.text() for stay in stays] == ["2026-04-20T04:00:00+00:00"]


def test_a_mob_that_comes_later_and_one_that_has_gone() -> None:
    line = (Line("cattle", "heifer", 12),)
    mobs = (
        Mob("later", "Later", line, at="1", from_day=date(2026, 6, 1)),
        Mob("gone", "Gone", line, at="2", to_day=date(2026, 5, 10)),
        Mob("nowhere", "Nowhere", line),
    )
    may, june = fold_each(
        quern_bank(mobs=mobs), [], (at("2026-05-09T12:00:00-04:00"), at("2026-06-02T12:00:00-04:00"))
    )
    assert [mob.id for mob in may.living()] == ["later", "gone", "nowhere"]
    assert [mob.id for mob in june.living()] == ["later", "nowhere"]
    assert june.stays[-1].end == When.at(at("2026-05-10T04:00:00+00:00"))
    assert [mob.id for mob in fold(quern_bank(mobs=mobs), [], at("2026-05-09T12:00:00-04:00")).mobs] == [
        "gone",
        "nowhere",
    ]


def test_instants_must_be_in_order() -> None:
    with pytest.raises(ValueError, match="not in order"):
        fold_each(quern_bank(), [], (LATE, LATE - timedelta(days=1)))


def test_the_stage_of_a_day_says_weight_and_intake_until_somebody_weighs() -> None:
    milk = Stage(date(2026, 5, 1), "milk", parse("4.4 lb/d", "intake"), parse("150 lb", "mass"))
    dry = Stage(date(2026, 7, 1), "dry", parse("2.6 lb/d", "intake"))
    line = Line("sheep", "ewe", 60, parse("140 lb", "mass"), stages=(milk, dry))
    farm = quern_bank(mobs=(Mob("ewes", "Ewes", (line,), at="6"),))
    weighed = events(
        """id;observed;kind;subject;value
           w;2026-05-20T09:00-04:00;weighed;ewes;{"weight": "155 lb", "klass": "ewe"}"""
    )
    april, may, june, july = fold_each(
        farm, weighed, [at(f"2026-{day}T12:00:00-04:00") for day in ("04-25", "05-10", "06-10", "07-10")]
    )
    told = [(s.mobs[0].lines[0].stage, str(s.mobs[0].lines[0].weight)) for s in (april, may, june, july)]
    assert told == [("", "140 lb"), ("milk", "150 lb"), ("milk", "155 lb"), ("dry", "155 lb")]
    assert demand_lb_d(july, "ewes") == pytest.approx(156.0)


# ---------------------------------------------------------------- P3: an injured ewe leaves the mob

P3 = """id;observed;kind;subject;value
p1;2026-05-03T09:00-04:00;penned;ewes;{"animal": "0123", "head": ["sheep/ewe=1", "sheep/lamb=2"], "why": "lame"}
p2;2026-05-03T10:00-04:00;treated;0123;{"product": "as the vet said", "withdrawal": "2026-05-31"}
p3;2026-05-12T09:00-04:00;back;ewes;{"animal": "0123"}"""


def test_p3_every_day_reconciles() -> None:
    days = [at("2026-05-02T12:00:00-04:00") + timedelta(days=n) for n in range(12)]
    states = fold_each(quern_bank(), events(P3), days)
    found = [(heads(s)["ewe"], heads(s)["lamb"]) for s in states]
    assert found == [(60, 96)] + [(59, 94)] * 9 + [(60, 96)] * 2
    for state in states:
        mob = state.mobs[0]
        penned = sum(line.head for pen in mob.pens for line in pen.lines)
        assert mob.head + penned == 156
    assert all(not state.questions and not state.alarms for state in states)


def test_p3_demand_falls_while_she_is_penned_and_the_withdrawal_is_hers() -> None:
    before, during = fold_each(
        quern_bank(), events(P3), (at("2026-05-02T12:00:00-04:00"), at("2026-05-05T12:00:00-04:00"))
    )
    assert demand_lb_d(before, "ewes") == pytest.approx(360.0)
    assert demand_lb_d(during, "ewes") == pytest.approx(353.6)
    (pen,) = during.mobs[0].pens
    assert (pen.animal, pen.why, [line.head for line in pen.lines]) == ("0123", "lame", [1, 2])
    (held,) = during.withdrawals
    assert (held.animal, held.mob, held.until) == ("0123", "ewes", date(2026, 5, 31))


@pytest.mark.parametrize(
    ("sold", "asked"),
    [
        ('x;2026-05-20T09:00-04:00;sold;ewes;{"head": 1, "klass": "ewe"}', True),
        ('x;2026-05-05T09:00-04:00;sold;0123;{"head": 1, "klass": "ewe"}', True),
        ('x;2026-06-20T09:00-04:00;sold;ewes;{"head": 1, "klass": "ewe"}', False),
    ],
)
def test_a_sale_before_the_withdrawal_date_is_asked_about(sold: str, asked: bool) -> None:
    state = fold(quern_bank(), events(f"{P3}\n{sold}"), LATE)
    questions = [q for q in state.questions if q.code == "sold_in_withdrawal"]
    assert bool(questions) is asked
    for question in questions:
        assert tell(question, ZONE) == (
            "A sale from the mob of 0123, whose withdrawal date for as the vet said is 2026-05-31. "
            "Was 0123 among those sold? The vet decides."
        )


def test_a_penned_animal_can_die_in_its_pen_and_its_young_come_back() -> None:
    died = events(
        f"""{P3}
        d;2026-05-06T09:00-04:00;died;0123;{{"head": 1, "klass": "ewe"}}"""
    )
    assert heads(fold(quern_bank(), died, LATE)) == {"ewe": 59, "lamb": 96}


def test_a_pen_that_is_empty_is_no_pen() -> None:
    found = events(
        """id;observed;kind;subject;value
           a;2026-05-03T09:00-04:00;penned;ewes;{"animal": "7", "head": ["ewe=1"]}
           b;2026-05-03T10:00-04:00;penned;ewes;{"animal": "7", "head": ["lamb=1"]}
           c;2026-05-04T09:00-04:00;died;7;{"head": 1, "klass": "ewe"}
           d;2026-05-04T10:00-04:00;died;7;{"head": 1, "klass": "lamb"}
           e;2026-05-05T10:00-04:00;back;ewes;{"animal": "7"}"""
    )
    state = fold(quern_bank(), found, LATE)
    assert heads(state) == {"ewe": 59, "lamb": 95}
    assert state.mobs[0].pens == ()
    assert codes(state) == ["not_penned"]


# ---------------------------------------------------------------- P4: the fence fails

P4 = """id;observed;kind;subject;value
m;2026-05-02T08:00-04:00;moved;ewes;{"to": "9"}
f;2026-05-03T21:00-04:00/2026-05-04T06:30-04:00;moved;ewes;{"to": "10"}
l;2026-05-04T06:30-04:00;looked;10;{"at": "trees", "planting": "hazel", "seen": 40, "bitten": 6, "barked": 2}"""


def test_p4_the_stay_is_kept_as_an_interval() -> None:
    state = fold(quern_bank(), events(P4), at("2026-05-04T07:00:00-04:00"))
    nine, ten = state.stays[-2:]
    assert (nine.place, ten.place) == ("9", "10")
    assert nine.end == ten.begin == When(at("2026-05-03T21:00-04:00"), at("2026-05-04T06:30-04:00"))
    assert ten.begin.end - ten.begin.start == timedelta(hours=9.5)
    assert (nine.end_event, ten.begin_event, ten.end) == ("f", "f", None)
    assert when_words(ten.begin, ZONE) == "some time between 3 May 21:00 and 4 May 06:30"
    twice = When.read("2026-11-01T01:30-04:00/2026-11-01T01:30-05:00")
    assert when_words(twice, ZONE) == "1 Nov 01:30, one of the two times that the clock shows it"
    assert state.disagreements == ()
    (seen,) = state.looks
    assert (seen.paddock, seen.planting, seen.seen, seen.bitten, seen.barked) == ("10", "hazel", 40, 6, 2)


def test_p4_before_the_mob_is_found_it_stands_where_it_was_last_seen() -> None:
    assert fold(quern_bank(), events(P4), at("2026-05-04T06:00:00-04:00")).mobs[0].place == "9"


def test_an_interval_does_not_begin_before_the_stay_that_it_ends() -> None:
    found = events(
        """id;observed;kind;subject;value
           m;2026-05-03T22:00-04:00;moved;ewes;{"to": "9"}
           f;2026-05-03T21:00-04:00/2026-05-04T06:30-04:00;moved;ewes;{"to": "10"}"""
    )
    nine, ten = fold(quern_bank(), found, LATE).stays[-2:]
    assert nine.end == ten.begin == When(at("2026-05-03T22:00-04:00"), at("2026-05-04T06:30-04:00"))


# ---------------------------------------------------------------- M9: counts


def test_a_count_that_does_not_reconcile_is_a_question_and_never_edits_the_mob() -> None:
    found = events(
        """id;observed;kind;subject;value
           c1;2026-05-03T08:00-04:00;counted;ewes;{"head": ["155"]}
           c2;2026-05-04T08:00-04:00;counted;ewes;{"head": ["154"]}"""
    )
    state = fold(quern_bank(), found, LATE)
    (question,) = state.questions
    assert tell(question, ZONE) == (
        "Ewes: 154 animals counted, 156 expected (difference -2, open since 3 May 08:00). The mob is not changed: "
        "is a birth, death, sale, pen or return missing?"
    )
    assert heads(state) == {"ewe": 60, "lamb": 96}


@pytest.mark.parametrize(
    ("last", "open_"),
    [
        ('z;2026-05-05T08:00-04:00;counted;ewes;{"head": ["156"]}', []),
        ('z;2026-05-05T08:00-04:00;counted;ewes;{"head": ["ewe=60", "lamb=96"]}', []),
        ('z;2026-05-05T08:00-04:00;counted;ewes;{"head": ["sheep/ewe=60"]}', ["count"]),
        ('z;2026-05-05T08:00-04:00;counted;ewes;{"head": ["ewe=60", "lamb=95"]}', ["count", "count"]),
        ('z;2026-05-03T07:00-04:00;died;ewes;{"head": 1, "klass": "lamb"}', []),
        ('z;2026-05-05T08:00-04:00;counted;ewes;{"head": ["a few"]}', ["count", "unreadable"]),
        ('z;2026-05-05T08:00-04:00;counted;ewes;{"head": ["goat=3"]}', ["count", "count"]),
    ],
)
def test_what_closes_the_question_of_a_count(last: str, open_: list[str]) -> None:
    found = events(
        f'id;observed;kind;subject;value\nc;2026-05-03T08:00-04:00;counted;ewes;{{"head": ["155"]}}\n{last}'
    )
    assert codes(fold(quern_bank(), found, LATE)) == open_


def test_births_deaths_trade_and_weaning_reconcile() -> None:
    found = events(
        """id;observed;kind;subject;value
           a;2026-05-03T08:00-04:00;born;ewes;{"head": 3, "klass": "lamb"}
           b;2026-05-04T08:00-04:00;died;ewes;{"head": 1, "klass": "Lamb"}
           c;2026-05-05T08:00-04:00;sold;ewes;{"head": 4, "klass": "ewe", "price": "$600"}
           d;2026-05-06T08:00-04:00;bought;ewes;{"head": 2, "klass": "ram", "beast": "sheep", "weight": "190 lb"}
           e;2026-07-01T08:00-04:00;weaned;ewes;{"head": 98, "klass": "lamb", "new_klass": "weaned lamb", "into": "lambs", "intake": "2.4 lb/d"}
           f;2026-07-02T08:00-04:00;counted;ewes;{"head": ["58"]}
           g;2026-07-02T08:00-04:00;counted;lambs;{"head": ["98"]}"""
    )
    state = fold(quern_bank(), found, LATE)
    assert heads(state) == {"ewe": 56, "ram": 2}
    lambs = state.mob("lambs")
    assert lambs is not None
    assert lambs.lines == (HeadLine("sheep", "weaned lamb", 98, None, parse("2.4 lb/d", "intake")),)
    assert (lambs.place, lambs.parents) == ("6", ("ewes",))
    assert state.questions == ()


def test_weaned_in_place_is_a_class_of_its_own_and_joins_a_mob_that_is_there() -> None:
    found = events(
        """id;observed;kind;subject;value
           a;2026-07-01T08:00-04:00;weaned;ewes;{"head": 40, "klass": "lamb", "new_klass": "hogget"}
           b;2026-07-02T08:00-04:00;split;ewes;{"into": "h", "head": ["hogget=40"], "name": "Hoggets"}
           c;2026-07-03T08:00-04:00;weaned;ewes;{"head": 50, "klass": "lamb", "new_klass": "hogget", "into": "h"}"""
    )
    state = fold(quern_bank(), found, LATE)
    assert heads(state) == {"ewe": 60, "lamb": 6}
    assert heads(state, "h") == {"hogget": 90}


@pytest.mark.parametrize(
    ("row", "code", "left"),
    [
        ('x;2026-05-05T08:00-04:00;died;ewes;{"head": 99, "klass": "lamb"}', "too_few", {"ewe": 60}),
        ('x;2026-05-05T08:00-04:00;died;ewes;{"head": 1, "klass": "goat"}', "which_animals", {"ewe": 60, "lamb": 96}),
        ('x;2026-05-05T08:00-04:00;weaned;ewes;{"head": 1, "klass": "kid", "new_klass": "k"}', "which_animals", {"ewe": 60, "lamb": 96}),
        ('x;2026-05-05T08:00-04:00;weighed;ewes;{"weight": "150 lb"}', "which_animals", {"ewe": 60, "lamb": 96}),
        ('x;2026-05-05T08:00-04:00;split;ewes;{"into": "b", "head": ["some"]}', "unreadable", {"ewe": 60, "lamb": 96}),
        ('x;2026-05-05T08:00-04:00;split;ewes;{"into": "b", "head": ["9"]}', "which_animals", {"ewe": 60, "lamb": 96}),
        ('x;2026-05-05T08:00-04:00;moved;ewes;{"to": "Top Field"}', "unknown_place", {"ewe": 60, "lamb": 96}),
    ],
)  # fmt: skip
def test_what_is_not_clear_is_asked(row: str, code: str, left: dict[str, int]) -> None:
    state = fold(quern_bank(), events(f"id;observed;kind;subject;value\n{row}"), LATE)
    assert codes(state) == [code]
    assert heads(state) == left
    assert tell(state.questions[0], ZONE)


@pytest.mark.parametrize(
    ("kind", "value"),
    [
        ("moved", '{"to": "1"}'), ("split", '{"into": "b", "head": ["ewe=1"]}'), ("merged", '{"into": "ewes"}'),
        ("penned", '{"animal": "1", "head": ["ewe=1"]}'), ("counted", '{"head": ["1"]}'),
        ("born", '{"head": 1, "klass": "kid"}'), ("bought", '{"head": 1, "klass": "kid"}'),
        ("died", '{"head": 1, "klass": "kid"}'), ("sold", '{"head": 1, "klass": "kid"}'),
        ("weaned", '{"head": 1, "klass": "kid", "new_klass": "k"}'), ("weighed", '{"weight": "9 kg"}'),
        ("returned", "{}"),
    ],
)  # fmt: skip
def test_an_entry_about_a_mob_that_is_not_there_is_asked_about(kind: str, value: str) -> None:
    table = f"id;observed;kind;subject;value\nx;2026-05-05T08:00-04:00;{kind};goats;{value}"
    state = fold(quern_bank(), events(table), LATE)
    assert codes(state) == ["unknown_mob"]
    assert "goats" in tell(state.questions[0], ZONE)
    assert heads(state) == {"ewe": 60, "lamb": 96}


# ---------------------------------------------------------------- mobs and paddocks split and merged


def test_split_and_merge_reconcile_and_name_their_parents() -> None:
    found = events(
        """id;observed;kind;subject;value
           a;2026-05-03T08:00-04:00;split;ewes;{"into": "twins", "head": ["ewe=20", "lamb=40"], "name": "Twins", "to": "8"}
           b;2026-05-03T09:00-04:00;penned;twins;{"animal": "7", "head": ["ewe=1"]}
           c;2026-05-10T08:00-04:00;split;ewes;{"into": "twins", "head": ["ewe=5"]}
           d;2026-05-20T08:00-04:00;merged;twins;{"into": "ewes"}
           e;2026-05-21T08:00-04:00;back;twins;{"animal": "7"}"""
    )
    farm = quern_bank()
    apart, together = fold_each(farm, found, (at("2026-05-15T12:00:00-04:00"), LATE))
    assert heads(apart) == {"ewe": 35, "lamb": 56}
    assert heads(apart, "twins") == {"ewe": 24, "lamb": 40}
    twins = apart.mob("twins")
    assert twins is not None
    assert (twins.name, twins.place, twins.parents) == ("Twins", "8", ("ewes",))
    assert heads(together) == {"ewe": 60, "lamb": 96}
    (ended,) = [mob for mob in together.mobs if mob.id == "twins"]
    assert ended.ended == When.at(at("2026-05-20T08:00-04:00"))
    assert ended not in together.living()
    assert together.mobs[0].parents == ("twins",)
    assert together.questions == ()
    assert [s.place for s in together.stays if s.mob == "twins" and s.end is not None] == ["6", "8"]


def test_a_mob_that_is_split_from_one_that_stands_nowhere_stands_nowhere() -> None:
    mob = Mob("ewes", "Ewes", (Line("sheep", "ewe", 60),))
    found = events(
        """id;observed;kind;subject;value
           a;2026-05-03T08:00-04:00;split;ewes;{"into": "b", "head": ["9"]}
           b;2026-05-03T09:00-04:00;merged;b;{"into": "b"}"""
    )
    state = fold(quern_bank(mobs=(mob,)), found, LATE)
    assert heads(state, "b") == {"ewe": 9}
    assert state.stays == ()


# ---------------------------------------------------------------- lent animals


def test_borrowed_goats_are_a_mob_of_their_own_until_they_go_home() -> None:
    found = events(
        """id;observed;kind;subject;value
           a;2026-08-01T08:00-04:00;borrowed;goats;{"head": 20, "beast": "goat", "klass": "doe", "until": "2026-08-22", "owner": "neighbour", "to": "10", "weight": "110 lb"}
           b;2026-08-02T08:00-04:00;borrowed;goats;{"head": 20, "beast": "goat", "klass": "doe"}
           c;2026-08-20T08:00-04:00;returned;goats;{"head": 5}
           d;2026-08-22T08:00-04:00;returned;goats;{}"""
    )
    farm = quern_bank()
    here, fewer, gone = fold_each(
        farm, found, [at(f"2026-08-{day}T12:00:00-04:00") for day in ("02", "21", "23")]
    )
    goats = here.mob("goats")
    assert goats is not None
    assert (goats.owner, goats.due, goats.place, goats.head) == ("neighbour", date(2026, 8, 22), "10", 20)
    assert heads(here) == {"ewe": 60, "lamb": 96}
    assert codes(here) == ["borrowed_twice"]
    assert heads(fewer, "goats") == {"doe": 15}
    assert [mob.id for mob in gone.living()] == ["ewes"]
    assert gone.stays[-1].end == When.at(at("2026-08-22T08:00-04:00"))


def test_more_that_go_home_than_came_is_asked_about_and_they_may_come_again() -> None:
    found = events(
        """id;observed;kind;subject;value
           a;2026-08-01T08:00-04:00;borrowed;goats;{"head": 20, "beast": "goat", "klass": "doe"}
           b;2026-08-22T08:00-04:00;returned;goats;{"head": 21}
           c;2026-09-01T08:00-04:00;borrowed;goats;{"head": 8, "beast": "goat", "klass": "doe"}"""
    )
    state = fold(quern_bank(), found, LATE)
    assert codes(state) == ["returned_more"]
    assert heads(state, "goats") == {"doe": 8}


def test_a_mob_that_nobody_named_is_called_as_names_are_written() -> None:
    found = events(
        """id;observed;kind;subject;value
           a;2026-08-01T08:00-04:00;borrowed;billy goats;{"head": 20, "beast": "goat", "klass": "doe"}
           b;2026-08-02T08:00-04:00;split;ewes;{"into": "old", "head": ["sheep/ewe=5"]}"""
    )
    state = fold(quern_bank(), found, LATE)
    assert {mob.id: mob.name for mob in state.mobs} == {
        "ewes": "Ewes",
        "billy goats": "Billy goats",
        "old": "Old",
    }


OAKS = Planting("oaks", "Oaks", "oak_white", None, trees=300, rows=(TreeRow("a", "A", 40), TreeRow("b", "B")))


@pytest.mark.parametrize(
    ("rows", "asked"),
    [
        ('a;2026-05-01T08:00-04:00;lost;oaks;{"trees": 300}', []),
        ('a;2026-05-01T08:00-04:00;lost;oaks;{"trees": 301}', ["more_gone"]),
        ('a;2026-05-01T08:00-04:00;felled;oaks;{"trees": 200}\nb;2026-05-02T08:00-04:00;lost;oaks;{"trees": 101}',
         ["more_gone"]),
        ('a;2026-05-01T08:00-04:00;planted;oaks;{"trees": 5}\nb;2026-05-02T08:00-04:00;thinned;oaks;{"trees": 305}',
         []),
        ('a;2026-05-01T08:00-04:00;lost;oaks;{"trees": 41, "row": "a"}', ["more_gone_row"]),
        (('a;2026-05-01T08:00-04:00;thinned;oaks;{"trees": 30, "row": "a"}\n'
         'b;2026-05-02T08:00-04:00;lost;oaks;{"trees": 11, "row": "a"}'), ["more_gone_row"]),
        ('a;2026-05-01T08:00-04:00;lost;oaks;{"trees": 299, "row": "b"}', []),
        ('a;2026-05-01T08:00-04:00;pruned;oaks;{"trees": 900}', []),
    ],
)  # fmt: skip
def test_more_trees_gone_than_stood_are_asked_about(rows: str, asked: list[str]) -> None:
    state = fold(quern_bank(plantings=(OAKS,)), events(f"id;observed;kind;subject;value\n{rows}"), LATE)
    assert codes(state) == asked
    for question in state.questions:
        told = tell(question, ZONE)
        assert "Oaks" in told
        assert "takes out" in told


def test_young_without_a_kind_take_the_kind_of_their_class() -> None:
    lines = (Line("sheep", "ewe", 6), Line("goat", "doe", 4), Line("goat", "kid", 1))
    found = events(
        """id;observed;kind;subject;value
           a;2026-05-01T08:00-04:00;born;both;{"head": 2, "klass": "kid"}
           b;2026-05-02T08:00-04:00;born;both;{"head": 3, "klass": "cria"}"""
    )
    state = fold(quern_bank(mobs=(Mob("both", "Both", lines),)), found, LATE)
    assert [(line.kind, line.klass, line.head) for line in state.mobs[0].lines[2:]] == [
        ("goat", "kid", 3),
        ("", "cria", 3),
    ]


# ---------------------------------------------------------------- before the farm, unknown kinds, plans


def test_entries_from_before_the_farm_are_kept_listed_and_give_history() -> None:
    found = events(
        """id;observed;kind;subject;value
           a;2026-04-01T08:00-04:00;moved;ewes;{"to": "3"}
           b;2026-04-10T08:00-04:00;died;ewes;{"head": 1, "klass": "ewe"}
           c;2026-04-11T08:00-04:00;walked;6;{"height": "3 in"}
           d;2026-04-12T08:00-04:00;cut;6;{"bales": "9 bales"}
           e;2026-04-13T08:00-04:00;moved;cattle;{"to": "9"}
           f;2026-04-14T08:00-04:00;shut;9;{"because": "wet"}"""
    )
    state = fold(quern_bank(), found, LATE)
    assert codes(state) == ["before_the_farm"] * 4
    assert tell(state.questions[0], ZONE) == (
        "An entry (move) is dated 2026-04-01, before the farm's opening values of 2026-04-20. It is kept, and the "
        "opening values stand over it."
    )
    assert heads(state) == {"ewe": 60, "lamb": 96}
    assert [(s.mob, s.place, s.end is None) for s in state.stays] == [
        ("ewes", "3", False),
        ("cattle", "9", False),
        ("ewes", "6", True),
    ]
    assert state.stays[0].end == When.at(at("2026-04-30T12:00:00+00:00"))
    assert (len(state.heights), len(state.cuts), state.hay[0].bales) == (1, 1, 14.0)
    assert state.shut_now("9") is not None


def test_a_mob_that_the_farm_puts_nowhere_ends_its_earlier_stay() -> None:
    mob = Mob("ewes", "Ewes", (Line("sheep", "ewe", 60),))
    found = events('id;observed;kind;subject;value\na;2026-04-01T08:00-04:00;moved;ewes;{"to": "3"}')
    state = fold(quern_bank(mobs=(mob,)), found, LATE)
    assert state.mobs[0].place is None
    assert state.stays[0].end == When.at(at("2026-04-20T04:00:00+00:00"))


def test_nothing_is_taken_from_after_the_instant_asked_for() -> None:
    found = events('id;observed;kind;subject;value\na;2026-04-01T08:00-04:00;moved;ewes;{"to": "3"}')
    assert fold(quern_bank(), found, at("2026-03-31T12:00:00+00:00")).questions == ()


def test_unknown_kinds_are_named_and_kinds_without_a_state_pass() -> None:
    found = events(
        """id;observed;kind;version;subject;value
           a;2026-05-01T08:00-04:00;sung_to;2;ewes;{"song": "any"}
           b;2026-05-01T09:00-04:00;moved;9;ewes;{"towards": "1"}
           c;2026-05-01T10:00-04:00;worked;1;farm;{"time": "20 min"}"""
    )
    state = fold(quern_bank(), found, LATE)
    assert state.unknown == (("moved", 9), ("sung_to", 2))
    assert state.mobs[0].place == "6"


def test_what_is_planned_changes_nothing_and_is_handed_out() -> None:
    found = events(
        """id;observed;kind;subject;planned;supersedes;value
           a;2026-05-03T08:00-04:00;moved;ewes;yes;;{"to": "8"}
           b;2026-05-05T08:00-04:00;moved;ewes;yes;;{"to": "9"}
           c;2026-05-05T08:00-04:00;undone;ewes;yes;b;{}
           d;2026-05-06T08:00-04:00;moved;ewes;no;;{"to": "1"}
           e;2026-05-06T09:00-04:00;moved;ewes;yes;d;{"to": "2"}"""
    )
    assert [(e.id, e.body) for e in planned(found)] == [("a", Moved("8")), ("e", Moved("2"))]
    assert fold(quern_bank(), found, LATE).mobs[0].place == "1"
