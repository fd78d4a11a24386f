"""What differs in short: the money first, gains before losses, what is sold and nothing beside it."""

from __future__ import annotations

from datetime import date

import numpy as np

from browseline.farm.accounts import MoneyLine, MoneyPlan
from browseline.farm.records import Planting
from browseline.trials.differs import differs_of
from browseline.trials.outcome import Measure
from browseline.trials.table import Column, table_of
from browseline.units import parse
from browseline.words import links_of

HAZEL = Planting("hazel", "Hazel", "hazel_hybrid", "1", trees=40)
LINE = MoneyLine("nuts", "Nuts", "income", parse("$2", "money"), follows="yield hazel nuts")
PLAN = MoneyPlan(date(2026, 1, 1).year, 10, parse("5 %", "share"), lines=(LINE,))


def measure(name: str, value: float, *, about: str = "", unit: str = "kg", group: str = "feed") -> Measure:
    return Measure(name, about, unit, np.full((2, 3), value), "year", group=group)


HERE = Column("As it is", (
    measure("feed_grown", 900), measure("feed_need", 800), measure("hay_short", 50),
    measure("product", 20, about="Hazel, nuts", group="harvest"),
    measure("product", 7, about="Hazel, pods", group="harvest"),
    measure("cash_a_year", 400, unit="USD", group="money"),
))  # fmt: skip
BARE = Column("Pasture", (
    measure("feed_grown", 1000), measure("feed_need", 810), measure("hay_short", 50),
    measure("cash_a_year", 300, unit="USD", group="money"),
))  # fmt: skip
CROP = Column("Annual crop", (
    measure("product", 5000, about="maize", group="harvest"),
    measure("cash_a_year", 350, unit="USD", group="money"),
))  # fmt: skip


def test_money_first_then_what_it_comes_from() -> None:
    bare, crop = differs_of(table_of([HERE, BARE, CROP], "hectares"), PLAN, (HAZEL,))
    assert (bare.name, bare.first) == ("Pasture", "Money left over, a year: −$100")
    assert bare.reasons == "What changes: Feed grown for stock, a year: +100 kg; Hazel, nuts, a year: −20 kg."
    assert crop.reasons.startswith(
        "What changes: maize, a year: +5,000 kg; Hazel, nuts, a year: −20 kg; Feed grown"
    )
    assert "pods" not in bare.reasons + crop.reasons, "nobody sells them"


def test_every_number_of_it_opens() -> None:
    (bare,) = differs_of(table_of([HERE, BARE], "hectares"), PLAN, (HAZEL,))
    assert [len(links_of(text)) for text in (bare.first, bare.reasons)] == [1, 2]


def test_without_money_the_feed_stands_first_and_what_is_alike_is_left_out() -> None:
    poor = [Column(c.name, tuple(m for m in c.measures if m.group != "money")) for c in (HERE, BARE, HERE)]
    found = differs_of(table_of(poor, "hectares"), None, (HAZEL,))
    assert [one.first for one in found] == ["Feed grown for stock, a year: +100 kg"]
    assert found[0].reasons == ""
