"""What animals need in a day: herbage and water, as figures that name their source.

A typed intake or water need comes first; else the row of the class, scaled to the typed weight.
"""

from __future__ import annotations

from typing import Protocol

from browseline import tables
from browseline.figures import Figure, typed
from browseline.units import Quantity, factor

PERCENT = factor("%", "1")


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


def weight(beasts: Beasts) -> Figure | None:
    """Return the weight of one animal; None if neither typed nor in the table. [kg]"""
    if beasts.weight is not None:
        return typed("weight", beasts.weight.to("kg"), "kg", beasts.weight.text, about=beasts.klass)
    try:
        return tables.row("animals", "body_weight", f"{beasts.kind}, {beasts.klass}").figure(
            "weight", beasts.klass
        )
    except LookupError:
        return None


def intake(beasts: Beasts) -> Figure | None:
    """Return what one animal eats in a day as dry matter; None if it cannot be known. [kg/d]"""
    if beasts.intake is not None:
        value = beasts.intake.to("kg/d")
        return typed("intake", value, "kg/d", beasts.intake.text, about=beasts.klass)
    heavy = weight(beasts)
    try:
        share = tables.row("animals", "intake", f"{beasts.kind}, {beasts.klass}")
    except LookupError:
        return None
    if heavy is None or heavy.value is None:
        return None
    book = share.figure("intake_share", beasts.klass)
    each = heavy.value * PERCENT
    formula = f"{heavy.value:g} kg × {share.middle():g} %"
    low, high = (each * x if x is not None else None for x in (share.low, share.high))
    return Figure(
        "intake",
        each * share.middle(),
        "kg/d",
        low,
        high,
        formula=formula,
        parts=(heavy, book),
        about=beasts.klass,
    )


def demand(lines: tuple[Beasts, ...], about: str = "") -> Figure | None:
    """Return what all animals of a mob eat in a day as dry matter; None if one class is not known. [kg/d]"""
    parts = [(line, intake(line)) for line in lines if line.head > 0]
    if not parts or any(each is None or each.value is None for _, each in parts):
        return None
    known = [(line.head, each) for line, each in parts if each is not None and each.value is not None]
    total = sum(head * (each.value or 0.0) for head, each in known)
    low = sum(head * (each.low if each.low is not None else each.value or 0.0) for head, each in known)
    high = sum(head * (each.high if each.high is not None else each.value or 0.0) for head, each in known)
    formula = " + ".join(f"{head} × {each.value:.3g} kg" for head, each in known)
    return Figure(
        "demand", total, "kg/d", low, high, formula=formula, parts=tuple(e for _, e in known), about=about
    )


def water(lines: tuple[Beasts, ...], hot: bool, about: str = "") -> Figure | None:
    """Return what a mob drinks in a day, cool or hot; None if one class is not known. [L/d]"""
    parts: list[Figure] = []
    total = 0.0
    for line in lines:
        if line.head == 0:
            continue
        try:
            row = tables.row("animals", "water_need", f"{line.kind}, {line.klass}")
        except LookupError:
            return None
        each = row.high if hot and row.high is not None else row.low
        total += line.head * (each if each is not None else row.middle())
        parts.append(row.figure("water_need", line.klass))
    formula = " + ".join(f"{line.head} head" for line in lines if line.head)
    return (
        Figure("water_need", total, "L/d", formula=formula, parts=tuple(parts), about=about)
        if parts
        else None
    )
