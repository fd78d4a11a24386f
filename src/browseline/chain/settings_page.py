"""Sources that differ: every reading by name with its source, what is used here, the list of conflicts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from browseline import tables
from browseline.chain.look import Picture
from browseline.farm import settings
from browseline.farm.needs import on_grass
from browseline.farm.settings import Setting
from browseline.figures import BASES, Basis, Figure, Origin
from browseline.ledger.account import Account
from browseline.limits.ground import PIG
from browseline.sward.numbers import WORM_HOSTS
from browseline.units import plain
from browseline.words import say


@dataclass(frozen=True, slots=True)
class Used:
    """What is used for one question; ``figures`` holds the reading with its source, if it is one."""

    words: str
    figures: tuple[Figure, ...]


def used_words(one: Setting) -> str:
    """Return a question and what is used here for it: typed, named, or the reading used without a name."""
    if one.typed is not None:
        used = say("account.settings.typed", amount=one.typed.text)
    else:
        used = say(f"account.settings.{'named' if one.named else 'default'}", name=one.used.applies_to)
    return say("account.settings.question", question=say(f"account.settings.{one.key}"), used=used)


def in_use(picture: Picture) -> tuple[Used, ...]:
    """Return what is used for each question that matters today, with the reading behind it.

    Worms and the height to leave matter where sheep or goats are, manure where a harvest is dated.
    """
    matters = _of_grass(picture)
    if any(line.kind == PIG and line.head > 0 for mob in picture.scene.mobs for line in mob.lines):
        matters |= {"pig_stay", "pig_rest"}
    if any(line.kind in WORM_HOSTS for mob in picture.scene.mobs for line in mob.lines):
        matters |= {"worm_rest", "height_to_leave"}
    if any(p.harvested and p.first_drop is not None for p in picture.farm.plantings):
        matters.add("manure_to_harvest")
    found = (one for one in settings.settings(picture.farm) if one.key in matters)
    return tuple(Used(used_words(one), _behind(one)) for one in found)


def _of_grass(picture: Picture) -> set[str]:
    """Return the questions on grass that matter: a height not typed, regrowth not typed, shade typed."""
    matters = set()
    if any(on_grass(mob.lines) for mob in picture.scene.mobs):
        if any(n.enter_at.origins[0].basis != "farm" for n in picture.scene.herbage.numbers):
            matters.add("height_to_start")
        if picture.farm.rules.regrazed_after is None:
            matters.add("rest_by_season")
    if any(p.light is not None and p.light.to("1") < 1 for p in picture.farm.paddocks):
        matters.add("shade_against_yield")
    return matters


def _behind(one: Setting) -> tuple[Figure, ...]:
    return (settings.figure(one.used, one.key),) if one.typed is None else ()


def _origin(row: tables.Row) -> Origin:
    return Origin(row.source, row.locator, row.basis, note=row.note)


def source_words(origin: Origin) -> str:
    """Return where a reading was read, with its mark."""
    every = tables.sources()
    known = "; ".join(every.get(one, {}).get("reference", one) for one in origin.source.split(";"))
    return say("account.settings.source", source=known, locator=origin.locator, mark=BASES[origin.basis])


def settings_account(picture: Picture) -> Account:
    """Return every question on which sources differ: all readings, and what is used here."""
    found = settings.settings(picture.farm)
    told = [line for one in found for line in _setting(one)]
    told.append(say("account.settings.elsewhere"))
    told.append(say("account.settings.conflicts"))
    told += [_conflict(row) for row in tables.texts("conflicts")]
    return Account("browseline/settings/1", "settings", tuple(told))


def _setting(one: Setting) -> Iterator[str]:
    yield used_words(one)
    for row in one.readings:
        yield say("account.settings.reading", name=row.applies_to, amount=_amount(row),
                  source=source_words(_origin(row)), note=row.note)  # fmt: skip
    if not one.cautious and one.typed is None:
        yield say(f"account.settings.{'shorter' if one.key == 'worm_rest' else 'bolder'}")
    yield say("account.settings.how", key=one.key, name=one.used.applies_to)


def _amount(row: tables.Row) -> str:
    unit = f" {row.unit}" if row.unit != "1" else ""
    value = f"{plain(row.value)}{unit}" if row.value is not None else None
    if row.low is None or row.high is None:
        return value or say("account.settings.no_number")
    span = say("account.settings.from_to", low=plain(row.low), high=plain(row.high), unit=unit)
    return say("account.settings.inside", value=value, span=span) if value else span


def _conflict(row: Mapping[str, str]) -> str:
    third = say("account.settings.third", third=row["reading_c"]) if row["reading_c"] else ""
    basis: Basis = row["basis"]  # type: ignore[assignment]
    ident = f"{row['conflict_id']} {BASES[basis]}"
    told = {
        "topic": row["topic"],
        "first": row["reading_a"],
        "second": row["reading_b"],
        "done": row["do_this"],
    }
    return say("account.settings.conflict", third=third, ident=ident, source=row["source_id"], **told)
