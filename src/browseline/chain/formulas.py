"""Formulas in the units that a person reads: every amount in them turned, or none where that is not clear.

A formula is written in the units of the program: ``3 ha × (20 − 10) cm × 308 kg/ha/cm``. Somebody who reads
acres gets ``7.4 ac × (7.9 in − 3.9 in) × 698 lb/ac/in``, so that it can be worked out by hand to the amount
that stands above it. Where one side of a plus or minus has a unit and the other has none, nothing is turned.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from browseline.units import BASE, CHOSEN, SIGNS, System, coined, factor

USES = {unit: use for use, unit in BASE.items() if use != "temperature"}
_N = r"\d[\d,]*(?:\.\d+)?(?:e[+-]?\d+)?"
_U = "|".join(re.escape(unit) for unit in sorted(USES, key=len, reverse=True))
AMOUNT = re.compile(rf"(?<![\w.])({_N}) ({_U})(?![\w/])")
MONEY = re.compile(rf"(?<![\w.])({_N}) ((?:{'|'.join(SIGNS)})(?:/[A-Za-z]+)*)")
GROUP = re.compile(rf"\(({_N}(?: [−+] {_N})*)\) ({_U})(?![\w/])")
SHARED = re.compile(rf"(?<![\w.÷×] )(?<![\w.])((?:{_N} [−+] )+)({_N}) ({_U})(?![\w/])")
NUMBER = re.compile(_N)
THOUSAND = 1000.0


def formula_words(formula: str, system: System) -> str:
    """Return a formula with its amounts in the units of a system, or as it is where they are not clear."""
    return MONEY.sub(lambda found: coined(found[1], found[2]), _in_units(formula, system))


def _in_units(formula: str, system: System) -> str:
    if all(CHOSEN[system][use] == unit for unit, use in USES.items()):
        return formula
    whole = SHARED.sub(_each, GROUP.sub(_grouped, formula))
    if not all(_alike(terms) for terms in _sums(whole)):
        return formula
    return AMOUNT.sub(lambda found: _turned(found[1], found[2], system), whole)


def _grouped(found: re.Match[str]) -> str:
    return f"({NUMBER.sub(lambda number: f'{number[0]} {found[2]}', found[1])})"


def _each(found: re.Match[str]) -> str:
    first = NUMBER.sub(lambda number: f"{number[0]} {found[3]}", found[1])
    return f"{first}{found[2]} {found[3]}"


def _turned(number: str, unit: str, system: System) -> str:
    new = CHOSEN[system][USES[unit]]
    value = float(number.replace(",", "")) * factor(unit, new)
    text = f"{value:,.0f}" if abs(value) >= THOUSAND else f"{value:.4g}"
    return f"{text} {new}"


def _sums(formula: str) -> Iterator[list[str]]:
    """Yield the terms of every sum in a formula: of each bracket, then of what stands outside."""
    rest = formula
    while (inner := re.search(r"\(([^()]*)\)", rest)) is not None:
        yield _terms(inner[1])
        held = AMOUNT.search(inner[1])
        rest = f"{rest[: inner.start()]}{f'1 {held[2]}' if held else '1'}{rest[inner.end() :]}"
    yield _terms(rest)


def _terms(text: str) -> list[str]:
    return [term for term in re.split(r" [−+] ", text) if term.strip("0. ")]


def _alike(terms: list[str]) -> bool:
    """Return whether all terms of a sum hold an amount, or none does."""
    return len({AMOUNT.search(term) is not None for term in terms}) < 2
