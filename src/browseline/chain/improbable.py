"""An entry that is improbable for its unit is questioned once; the person may keep it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import numpy as np

from browseline import tables
from browseline.chain.look import Picture
from browseline.errors import Finding
from browseline.events import Event, Rained, Walked, Weighed
from browseline.farm.check_stock import NO_BEAST
from browseline.farm.herd_words import class_words
from browseline.record.state import HeightRead
from browseline.science.sun import extraterrestrial_mj_m2_d
from browseline.sward import SwardNumbers
from browseline.units import UNITS, convert, factor, shown
from browseline.words import say

KG_HA_OF_G_M2 = factor("m2", "ha") ** -1 * factor("g", "kg")
LATITUDES_DEG = (-60.0, -45.0, -30.0, 0.0, 30.0, 45.0, 60.0)
OTHER_UNIT = {"in": "cm", "cm": "in", "ft": "cm", "m": "ft", "mm": "in"}


def improbable(event: Event, picture: Picture) -> tuple[Finding, ...]:
    """Return the questions about an entry before it is recorded; none if it is likely.

    Whoever takes the entry asks once, and records it as typed if the person keeps it: the next
    question then starts from the height that was kept.
    """
    if isinstance(event.body, Walked):
        return _height(event, event.body, picture)
    if isinstance(event.body, Rained):
        return _rain(event, event.body, picture)
    return _weight(event, event.body, picture) if isinstance(event.body, Weighed) else ()


def _rain(event: Event, body: Rained, picture: Picture) -> tuple[Finding, ...]:
    """Return the question of a day's rain above what a whole month usually brings here."""
    normals = picture.farm.normals
    if normals is None or body.depth.to("mm") <= max(normals.rain_mm):
        return ()
    month = shown(max(normals.rain_mm), "rain", picture.farm.units)
    return (_asked(picture, event, say("ask.rain", rain=body.depth.text, month=month), ""),)


def _weight(event: Event, body: Weighed, picture: Picture) -> tuple[Finding, ...]:
    """Return the question of a weight that no animal of its class comes near."""
    mob = picture.state.mob(event.subject)
    lines = [line for line in mob.lines if body.klass in ("", line.klass)] if mob is not None else []
    if len(lines) != 1:
        return ()
    try:
        row = tables.row("animals", "body_weight", f"{lines[0].kind}, {lines[0].klass}")
    except LookupError:
        return ()
    low, high = row.low or 0.0, row.high or row.middle()
    if low / NO_BEAST <= body.weight.to("kg") <= high * NO_BEAST:
        return ()
    least, most = (shown(kg, "mass", picture.farm.units, 0) for kg in (low, high))
    one = class_words(lines[0].klass, 1)
    what = say("ask.weight", weight=body.weight.text, one=one, least=least, most=most)
    return (_asked(picture, event, what, ""),)


def _height(event: Event, body: Walked, picture: Picture) -> tuple[Finding, ...]:
    scene = picture.scene
    if event.subject not in scene.herbage.paddocks:
        return ()
    numbers = scene.herbage.numbers[scene.herbage.index(event.subject)]
    now_cm, last = body.height.to("cm"), picture.state.last_height(event.subject)
    if last is None:
        return _too_tall(event, body, picture, numbers)
    day, before = (scene.local(at.end).date() for at in (event.observed, last.at))
    days = max((day - before).days, 1)
    rise_cm = now_cm - last.height.to("cm")
    most_cm = days * _fastest_cm_d(picture, numbers, day)
    if rise_cm <= most_cm:
        return ()
    units = picture.farm.units
    what = say(
        "ask.height.rise", height=body.height.text, last=last.height.text, before=_ago(picture, last, day),
        rise=shown(rise_cm, "length", units, 0), days=days,
    )  # fmt: skip
    return (_asked(picture, event, what, _instead(body, lambda cm: cm - last.height.to("cm") <= most_cm)),)


def _too_tall(event: Event, body: Walked, picture: Picture, numbers: SwardNumbers) -> tuple[Finding, ...]:
    """Return the question of a first height above what any sward of the table piles up."""
    most_cm = tallest_cm(numbers)
    if body.height.to("cm") <= most_cm:
        return ()
    tall = shown(most_cm, "length", picture.farm.units, 0)
    what = say("ask.height.tall", height=body.height.text, tall=tall)
    return (_asked(picture, event, what, _instead(body, lambda cm: cm <= most_cm)),)


def tallest_cm(numbers: SwardNumbers) -> float:
    """Return the height above which no sward of the table piles up more. [cm]"""
    most = max(tables.row("forage", "Mmax", group).middle() for group in tables.applies("forage", "Mmax"))
    return numbers.height_cm(most)


def _fastest_cm_d(picture: Picture, numbers: SwardNumbers, day: date) -> float:
    """Return the growth of a sward that caught all the light above the air. [cm/d]"""
    place = picture.farm.place
    latitudes = LATITUDES_DEG if place is None else (place.latitude_deg,)
    of_year = np.array([float(day.timetuple().tm_yday)])
    light = max(float(extraterrestrial_mj_m2_d(deg, of_year)[0]) for deg in latitudes)
    grams = max(tables.row("forage", "RUE", group).middle() for group in tables.applies("forage", "RUE"))
    per_day = light * tables.row("forage", "par_share", "sunlight").middle() * grams * KG_HA_OF_G_M2
    return numbers.height_cm(per_day)


def _instead(body: Walked, likely: Callable[[float], bool]) -> str:
    """Return the same number in the unit that would make it likely, or nothing."""
    other = OTHER_UNIT.get(body.height.unit, "")
    if other not in UNITS or not likely(float(convert(body.height.value, other, "cm"))):
        return ""
    return say("ask.instead", number=f"{float(body.height.value):g}", unit=other)


def _ago(picture: Picture, last: HeightRead, day: date) -> str:
    days = (day - picture.scene.local(last.at.end).date()).days
    return say("ask.days_ago", count=days) if days > 0 else say("ask.today")


def _asked(picture: Picture, event: Event, what: str, instead: str) -> Finding:
    mend = " ".join(words for words in (instead, say("ask.keep")) if words)
    about = picture.farm.paddock(event.subject) or picture.state.mob(event.subject)
    where = about.name if about is not None else say(f"record.kind.{event.kind}")
    return Finding(where, what, mend, "question", "improbable")
