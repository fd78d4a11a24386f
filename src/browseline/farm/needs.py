"""What animals need in a day: herbage and water, as figures that name their source.

A typed intake or water need comes first; else the row of the class, scaled to the typed weight. A
stage that is a class of the table stands for the class. What no table knows is None, never 0.
"""

from __future__ import annotations

from typing import Protocol

from browseline import tables
from browseline.farm import names
from browseline.figures import Figure, typed
from browseline.science import animals
from browseline.tables import Row
from browseline.units import Quantity, factor

PERCENT = factor("%", "1")
GRAZERS = ("sheep", "goat", "cattle", "horse", "goose")
"""Kinds that live on what grows; pigs and other poultry are fed and take a little (``pasture_share``)."""


class Beasts(Protocol):
    """Animals of one class, in a farm file or in a mob now."""

    @property
    def kind(self) -> str:
        """Return the kind: sheep, cattle, goat …"""

    @property
    def klass(self) -> str:
        """Return the class of the table, or the farm's own word."""

    @property
    def head(self) -> int:
        """Return how many."""

    @property
    def weight(self) -> Quantity | None:
        """Return the typed weight a head."""

    @property
    def intake(self) -> Quantity | None:
        """Return the typed dry matter a head and day."""


def book_class(beasts: Beasts) -> str:
    """Return under which class the table of needs knows the animals: their stage's, else their own."""
    stage = str(getattr(beasts, "stage", "")).partition(";")[0]
    return stage if stage and stage in names.words("class", beasts.kind) else beasts.klass


def _row(key: str, beasts: Beasts) -> Row | None:
    try:
        return tables.row("animals", key, f"{beasts.kind}, {book_class(beasts)}")
    except LookupError:
        return None


def weight(beasts: Beasts) -> Figure | None:
    """Return the weight of one animal; None if neither typed nor in the table. [kg]"""
    if beasts.weight is not None:
        return typed("weight", beasts.weight.to("kg"), "kg", beasts.weight.text, about=beasts.klass)
    book = _row("body_weight", beasts)
    return book.figure("weight", beasts.klass) if book is not None else None


def intake(beasts: Beasts) -> Figure | None:
    """Return what one animal eats in a day as dry matter; None if it cannot be known. [kg/d]"""
    if beasts.intake is not None:
        value = beasts.intake.to("kg/d")
        return typed("intake", value, "kg/d", beasts.intake.text, about=beasts.klass)
    heavy, share = weight(beasts), _row("intake", beasts)
    if heavy is None or heavy.value is None or share is None:
        return None
    each = heavy.value * PERCENT
    value, formula = each * share.middle(), f"{heavy.value:g} kg × {share.middle():g} %"
    parts: tuple[Figure, ...] = (heavy, share.figure("intake_share", beasts.klass))
    printed, of = _row("printed_intake", beasts), _row("printed_weight", beasts)
    if printed is not None and of is not None:
        pounds = printed.middle() * factor(printed.unit, "kg/d")
        value = float(animals.scaled_by_weight(pounds, of.middle() * factor(of.unit, "kg"), heavy.value))
        formula = f"{printed.middle():g} {printed.unit} × {heavy.value:.4g} kg ÷ {of.middle():g} {of.unit}"
        parts = (*parts, printed.figure("printed_intake", beasts.klass))
    low, high = (each * x if x is not None else None for x in (share.low, share.high))
    return Figure("intake", value, "kg/d", low, high, formula=formula, parts=parts, about=beasts.klass)


def demand(lines: tuple[Beasts, ...], about: str = "") -> Figure | None:
    """Return what all animals of a mob eat in a day as dry matter; None if one class is not known. [kg/d]"""
    eating = [line for line in lines if line.head > 0]
    known = [(line.head, each) for line in eating if (each := _known(line)) is not None]
    if not known or len(known) < len(eating):
        return None
    low, total, high = (
        sum(head * _end(each, end) for head, each in known) for end in ("low", "value", "high")
    )
    formula = " + ".join(f"{head} × {each.value:.3g} kg" for head, each in known)
    return Figure(
        "demand", total, "kg/d", low, high, formula=formula, parts=tuple(e for _, e in known), about=about
    )


def _known(beasts: Beasts) -> Figure | None:
    """Return what one animal eats if there is a number for it. [kg/d]"""
    found = intake(beasts)
    return found if found is not None and found.value is not None else None


def _end(figure: Figure, which: str) -> float:
    """Return an end of a figure's range, or its value where it has no range."""
    found: float | None = getattr(figure, which)
    return found if found is not None else figure.value or 0.0


def on_grass(lines: tuple[Beasts, ...]) -> tuple[Beasts, ...]:
    """Return the lines that live on what grows; pigs and poultry are fed, no grass is counted for them."""
    return tuple(line for line in lines if line.kind in GRAZERS)


def water_span(beasts: Beasts) -> tuple[float, float, tuple[Figure, ...]] | None:
    """Return what one animal drinks in a day, cool and hot, and the rows behind it; None if not known. [L/d]

    A typed need stands for both. A cow in milk never needs less than a dry one (conflict K09).
    """
    said = getattr(beasts, "water", None)
    if isinstance(said, Quantity):
        litres = said.to("L/d")
        return litres, litres, (typed("water_need", litres, "L/d", said.text, about=beasts.klass),)
    own = _row("water_need", beasts)
    if own is None:
        return None
    cool, hot, rows = *_ends(own), [own]
    printed = _row("printed_water", beasts)
    if printed is not None:
        cool, rows = printed.middle() * factor(printed.unit, "L/d"), [printed, own]
    dry = _dry_row(beasts)
    if dry is not None and dry is not own:
        floor = _ends(dry)
        rows += [dry] if floor[0] > cool or floor[1] > hot else []
        cool, hot = max(cool, floor[0]), max(hot, floor[1])
    return cool, hot, tuple(row.figure("water_need", beasts.klass) for row in rows)


def _ends(row: Row) -> tuple[float, float]:
    low, high = (x if x is not None else row.middle() for x in (row.low, row.high))
    return low, high


def _dry_row(beasts: Beasts) -> Row | None:
    """Return the water row of the dry class of animals in milk, or None."""
    of = f"{beasts.kind} dairy" if "dairy" in book_class(beasts) else beasts.kind
    if names.label("milk class", of) != book_class(beasts):
        return None
    dry = names.label("dry class", of)
    known = f"{beasts.kind}, {dry}" in tables.applies("animals", "water_need")
    return tables.row("animals", "water_need", f"{beasts.kind}, {dry}") if known else None


def water(lines: tuple[Beasts, ...], hot: bool, about: str = "") -> Figure | None:
    """Return what a mob drinks in a day, cool or hot; None if one class is not known. [L/d]"""
    parts: list[Figure] = []
    each: list[str] = []
    total = 0.0
    for line in lines:
        if line.head == 0:
            continue
        span = water_span(line)
        if span is None:
            return None
        drinks = span[1] if hot else span[0]
        total += line.head * drinks
        each.append(f"{line.head} × {drinks:.4g} L")
        parts += span[2]
    formula = " + ".join(each)
    return (
        Figure("water_need", total, "L/d", formula=formula, parts=tuple(parts), about=about)
        if parts
        else None
    )


def water_at(lines: tuple[Beasts, ...], temp_c: float, about: str = "") -> Figure | None:
    """Return what a mob drinks on a day of such a highest temperature. [L/d]

    Between the two temperatures that the source prints for the kind; where it prints none, the middle
    of cool and hot, with both as the range.
    """
    cool, hot = water(lines, False, about), water(lines, True, about)
    if cool is None or hot is None or cool.value is None or hot.value is None:
        return None
    kinds = {line.kind for line in lines if line.head > 0}
    known = kinds <= set(tables.applies("animals", "water_temperature"))
    value, low, high = (cool.value + hot.value) / 2, cool.value, hot.value
    parts, formula = [cool, hot], f"({low:.4g} + {high:.4g}) ÷ 2"
    if known:
        rows = [tables.row("animals", "water_temperature", kind) for kind in sorted(kinds)]
        parts += [row.figure("water_temperature", row.applies_to) for row in rows]
        value = low = high = sum(_at(line, temp_c) for line in lines if line.head > 0)
        share = (value - cool.value) / (hot.value - cool.value) if hot.value != cool.value else 0.0
        formula = f"{cool.value:.4g} + {share:.3g} × ({hot.value:.4g} − {cool.value:.4g})"
    return Figure("water_need", value, "L/d", low, high, formula=formula, parts=tuple(parts), about=about)


def _at(line: Beasts, temp_c: float) -> float:
    cool, hot, _ = water_span(line) or (0.0, 0.0, ())
    cool_c, hot_c = _ends(tables.row("animals", "water_temperature", line.kind))
    return line.head * float(animals.water_at_l_d(temp_c, cool_c, hot_c, cool, hot))


def diet(kind: str, klass: str = "") -> tuple[Figure, Figure, Figure] | None:
    """Return the share of grass, forbs and browse that a kind seeks; None where nobody knows. [%]"""
    own = f"{kind}, {klass.partition(' ')[0]}"
    of = own if own in tables.applies("animals", "diet_grass") else kind
    if of not in tables.applies("animals", "diet_grass"):
        return None
    grass, forb, browse = (
        tables.row("animals", key, of).figure(key, kind) for key in ("diet_grass", "diet_forb", "diet_browse")
    )
    return grass, forb, browse
