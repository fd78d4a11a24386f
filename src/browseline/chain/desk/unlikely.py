"""What is asked about the first answers before a farm is made of them: numbers that are hardly so."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from browseline import tables
from browseline.chain.improbable import tallest_cm
from browseline.errors import Finding, finding
from browseline.farm.herd_words import class_words
from browseline.farm.needs import demand
from browseline.farm.records import Farm
from browseline.sward import SwardNumbers, share_eaten, sward_numbers
from browseline.tables import Row
from browseline.units import factor, parse, plain, shown
from browseline.words import say

IN_FILE = re.compile(r"^farm\.toml:(\d+)")
TWICE = 2.0
"""So far outside what the book tells of a class an answer is asked about."""
A_YEAR_D = 365.0
AN_HOUR_D = factor("h", "d")
A_HUNDREDTH = 0.01
"""A smaller share is a part of one that was written without its percent: 0.7 for 70 %."""


def unlikely(answers: Mapping[str, str], farm: Farm) -> list[Finding]:
    """Return the questions of first answers; whoever gives them asks once, and keeps what is kept."""
    numbers = sward_numbers(farm, farm.paddocks[0])
    asked = [*_of_the_class(answers, farm), *_tall(answers, farm, numbers), *_share(answers)]
    return asked or list(_lasting(answers, farm, numbers))


def at_answers(found: Iterable[Finding], answers: Mapping[str, str], text: str) -> list[Finding]:
    """Return findings of the farm's file where they stand among the answers that it was made of."""
    lines, out = text.splitlines(), list[Finding]()
    for one in found:
        place = IN_FILE.match(one.where)
        key = lines[int(place[1]) - 1].partition("=")[0].strip().replace("_", "-") if place else ""
        if not answers.get(key):
            out.append(one)
            continue
        what = say("cli.start.impossible", typed=answers[key])
        out.append(replace(one, where=_option(key, answers), what=what))
    return out


def _option(name: str, answers: Mapping[str, str]) -> str:
    return f"--{name} {answers[name]}"


def _asked(code: str, name: str, answers: Mapping[str, str], **fields: str) -> Finding:
    where = _option(name, answers)
    return finding(f"cli.start.{code}", where, level="question", typed=answers[name], **fields)


def _tall(answers: Mapping[str, str], farm: Farm, numbers: SwardNumbers) -> Iterator[Finding]:
    """Yield heights of grass above what any sward of the tables piles up, and a height of nothing."""
    most = tallest_cm(numbers)
    for name in ("height", "leave-at"):
        if not answers.get(name):
            continue
        tall = parse(answers[name], "length").to("cm")
        if tall > most:
            yield _asked("tall", name, answers, most=shown(most, "length", farm.units, 0))
        elif tall <= 0:
            yield _asked("no_height", name, answers)


def _share(answers: Mapping[str, str]) -> Iterator[Finding]:
    if answers.get("share-eaten"):
        share = parse(answers["share-eaten"], "share", "%").to("1")
        if share <= A_HUNDREDTH:
            yield _asked("share", "share-eaten", answers, percent=plain(share * factor("1", "%") ** 2))


def _of_the_class(answers: Mapping[str, str], farm: Farm) -> Iterator[Finding]:
    """Yield a weight, and an intake at that weight, that are far from what the tables tell of the class."""
    line = farm.mobs[0].lines[0]
    of, one, units = f"{line.kind}, {line.klass}", class_words(line.klass, 1), farm.units
    body, row = tables.row("animals", "body_weight", of), tables.row("animals", "intake", of)
    low, high = _ends(body)
    weight_kg = line.weight.to("kg") if line.weight is not None else body.middle()
    if not low / TWICE <= weight_kg <= high * TWICE:
        least, most = (shown(kg, "mass", units, 0) for kg in (low, high))
        yield _asked("weight", "weight", answers, one=one, least=least, most=most)
    low, high = (weight_kg * end * factor("%", "1") for end in _ends(row))
    if line.intake is not None and not low / TWICE <= line.intake.to("kg/d") <= high * TWICE:
        least, most = (shown(kg, "intake", units, 1) for kg in (low, high))
        yield _asked("intake", "intake", answers, one=one, least=least, most=most)


def _ends(row: Row) -> tuple[float, float]:
    middle = row.middle()
    return (row.low if row.low is not None else middle), (row.high if row.high is not None else middle)


def _lasting(answers: Mapping[str, str], farm: Farm, numbers: SwardNumbers) -> Iterator[Finding]:
    """Yield an area whose grass lasts these animals more than a year, or less than an hour."""
    needs = demand(farm.mobs[0].lines)
    tall_cm = parse(answers["height"], "length").to("cm") - (numbers.leave_at.value or 0.0)
    eaten = share_eaten(numbers, 1.0).value or 1.0
    if needs is None or not needs.value or tall_cm <= 0:
        return
    days = farm.paddocks[0].area_ha * numbers.mass_kg_ha(tall_cm) * eaten / needs.value
    if days > A_YEAR_D:
        yield _asked("large", "area", answers, head=answers["head"], days=plain(days, 0))
    elif days < AN_HOUR_D:
        yield _asked("small", "area", answers, head=answers["head"])
