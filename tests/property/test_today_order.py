"""The same day's facts, entered in any order, give the same Today."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from browseline.chain import picture, today
from browseline.events import Event, When, body_of, new_id
from browseline.exchange.plain import plain
from browseline.farm.read import read
from browseline.farm.records import Farm
from browseline.record.fold import fold
from tests.small_farm import ZONE, some
from tests.unit.cli_farm import small_farm

MEMBERS, HORIZON_D = 7, 20
EVENING = datetime(2026, 5, 6, 21, tzinfo=ZONE)
TWINS, LAMB = "ewe lactating twins", "lamb growing 30 kg"
Fact = tuple[str, str, str, dict[str, Any]]
FACTS: tuple[Fact, ...] = (
    ("05:30", "rained", "farm", {"depth": "0.4 in"}),
    ("06:00", "walked", "6", {"height": "4.5 in"}),
    ("06:00", "walked", "8", {"height": "8 in", "density": "good"}),
    ("06:00", "walked", "7", {"height": "11 cm"}),
    ("06:30", "penned", "ewes", {"animal": "0123", "head": [f"sheep/{TWINS}=1"], "why": "lame"}),
    ("07:00", "moved", "ewes", {"to": "8"}),
    ("07:10", "counted", "ewes", {"head": [f"sheep/{TWINS}=58", f"sheep/{LAMB}=96"]}),
    ("08:00", "died", "ewes", {"head": 1, "beast": "sheep", "klass": LAMB, "cause": "fox"}),
    ("08:30", "treated", "0123", {"product": "spray", "withdrawal": "2026-05-20"}),
    ("09:00", "split", "ewes", {"into": "hoggs", "head": [f"sheep/{LAMB}=20"]}),
    ("09:30", "moved", "hoggs", {"to": "7"}),
    ("10:00", "stormed", "farm", {"what": "wind"}),
    ("10:30", "shut", "4", {"because": "cherry limb down", "until": "cleared"}),
    ("11:00", "looked", "7", {"at": "trees", "planting": "hazel", "seen": 30, "bitten": 5, "barked": 2}),
    ("12:00", "cut", "6", {"purpose": "hay", "to_height": "3 in"}),
    ("13:00", "opened", "4", {"met": "cleared"}),
    ("14:00", "fed", "ewes", {"amount": "2 bales", "lot": "barn"}),
    ("15:00", "lost", "hazel", {"trees": 7, "cause": "drought"}),
    ("16:00", "weighed", "ewes", {"weight": "66 lb", "klass": LAMB, "beast": "sheep", "head": 10}),
    ("17:00", "back", "ewes", {"animal": "0123"}),
    ("18:00", "walked", "8", {"height": "7.5 in"}),
    ("19:00", "sold", "hoggs", {"head": 5, "beast": "sheep", "klass": LAMB, "price": "$600"}),
    ("20:00", "noted", "farm", {"text": "the far gate drags"}),
)  # fmt: skip


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Farm:
    return some(read(small_farm(tmp_path_factory.mktemp("order") / "farm").folder).farm)


def entered(facts: Sequence[Fact]) -> tuple[Event, ...]:
    """Return the day's facts as events, written down one after the other in this order."""
    out = []
    for minute, (clock, kind, subject, value) in enumerate(facts):
        recorded = EVENING - timedelta(minutes=len(facts) - minute)
        hour, minutes = map(int, clock.split(":"))
        observed = When.at(EVENING.replace(hour=hour, minute=minutes))
        body = body_of(kind, 1, value)
        out.append(Event(new_id(recorded), "phone", "owner", observed, recorded, subject, body))
    return tuple(out)


def page(farm: Farm, events: tuple[Event, ...]) -> Any:
    """Return Today as the pages read it."""
    seen = picture(Path("order"), farm, events, fold(farm, events, EVENING), EVENING, MEMBERS, HORIZON_D)
    ids = {event.id: f"{event.kind} {event.subject} {event.observed.text()}" for event in events}
    return _named(plain(today(seen)), ids)


def _named(item: Any, ids: dict[str, str]) -> Any:
    """Return a record with what an entry says in place of its id, which tells when it was written."""
    if isinstance(item, dict):
        return {name: _named(part, ids) for name, part in item.items()}
    if isinstance(item, list):
        return [_named(part, ids) for part in item]
    return ids.get(item, item) if isinstance(item, str) else item


@pytest.mark.parametrize("left_out", ["moved", "walked", "died", "split", "opened", "cut", "sold"])
def test_a_fact_that_is_left_out_is_seen(farm: Farm, left_out: str) -> None:
    fewer = [fact for fact in FACTS if fact[1] != left_out]
    assert page(farm, entered(fewer)) != page(farm, entered(FACTS))


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_any_order_of_entering_a_day_gives_the_same_today(farm: Farm, data: st.DataObject) -> None:
    kept = data.draw(st.lists(st.sampled_from(range(len(FACTS))), unique=True, min_size=2), label="facts")
    day = [FACTS[n] for n in sorted(kept)]
    order = data.draw(st.permutations(day), label="order")
    assert page(farm, entered(order)) == page(farm, entered(day))


def test_the_day_backwards_gives_the_same_today(farm: Farm) -> None:
    assert page(farm, entered(FACTS[::-1])) == page(farm, entered(FACTS))


def test_of_two_facts_of_one_minute_that_differ_the_later_entered_stands(farm: Farm) -> None:
    """The one case where order tells, and should: the second height corrects the first."""
    first, second = (("06:00", "walked", "8", {"height": height}) for height in ("8 in", "6 in"))
    rest = [FACTS[5]]
    assert page(farm, entered([first, second, *rest])) != page(farm, entered([second, first, *rest]))
