"""Sources that differ: every reading by name with its source, what is used here, the list of conflicts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from browseline import tables
from browseline.chain.look import Picture
from browseline.farm import settings
from browseline.farm.needs import on_grass
from browseline.farm.settings import Setting
from browseline.figures import BASES, Basis, Figure, Origin, typed
from browseline.ledger.account import Account
from browseline.limits.ground import PIG
from browseline.sward.numbers import WORM_HOSTS
from browseline.units import Quantity, plain
from browseline.words import linked, say


@dataclass(frozen=True, slots=True)
class Used:
    """What is used for one question; ``figures`` holds the reading with its source, if it is one."""

    words: str
    figures: tuple[Figure, ...]


def used_words(one: Setting) -> str:
    """Return a question and what is used here for it: typed, named, or the reading used without a name."""
    if one.typed is not None:
        used = say("account.settings.typed", amount=linked(one.typed.text, _typed(one, one.typed)))
    else:
        used = say(f"account.settings.{'named' if one.named else 'default'}", name=_name(one.used, one.key))
    return say("account.settings.question", question=say(f"account.settings.{one.key}"), used=used)


def _typed(one: Setting, said: Quantity) -> Figure:
    return typed(one.key, float(said.value), said.unit, said.text)


def _name(row: tables.Row, key: str) -> str:
    """Return what a reading is called; a number in it is the reading's."""
    found = _figure(row, key)
    return linked(row.applies_to, found if found is not None else _origin(row))


def _figure(row: tables.Row, key: str) -> Figure | None:
    """Return a reading as a figure; None where it has no number."""
    if row.value is None and (row.low is None or row.high is None):
        return None
    return settings.figure(row, key, row.applies_to)


def in_use(picture: Picture) -> tuple[Used, ...]:
    """Return what is used for each question that matters today, with the reading behind it.

    Worms and the height to leave matter where sheep or goats are, manure where a harvest is dated.
    """
    matters = _of_grass(picture) | _of_stock(picture)
    if any(p.harvested and p.first_drop is not None for p in picture.farm.plantings):
        matters.add("manure_to_harvest")
    found = (one for one in settings.settings(picture.farm) if one.key in matters)
    return tuple(Used(used_words(one), _behind(one)) for one in found)


def _of_stock(picture: Picture) -> set[str]:
    """Return the questions that the kinds of animal on the farm raise."""
    kinds = {line.kind for mob in picture.scene.mobs for line in mob.lines if line.head > 0}
    pigs = {"pig_stay", "pig_rest"} if PIG in kinds else set()
    return pigs | ({"worm_rest", "height_to_leave"} if kinds & set(WORM_HOSTS) else set())


def _of_grass(picture: Picture) -> set[str]:
    """Return the questions on grass that matter: a height not typed, regrowth not typed, shade typed."""
    farm, scene = picture.farm, picture.scene
    grazing = any(on_grass(mob.lines) for mob in scene.mobs)
    by_book = any(n.enter_at.origins[0].basis != "farm" for n in scene.herbage.numbers)
    shaded = any(p.light is not None and p.light.to("1") < 1 for p in farm.paddocks)
    asked = {
        "height_to_start": grazing and by_book,
        "rest_by_season": grazing and farm.rules.regrazed_after is None,
        "shade_against_yield": shaded,
    }
    return {key for key, matters in asked.items() if matters}


def _behind(one: Setting) -> tuple[Figure, ...]:
    return (settings.figure(one.used, one.key),) if one.typed is None else ()


def _origin(row: tables.Row) -> Origin:
    return Origin(row.source, row.locator, row.basis, note=row.note)


def source_words(origin: Origin) -> str:
    """Return where a reading was read, with its mark."""
    every = tables.sources()
    known = "; ".join(every.get(one, {}).get("reference", one) for one in origin.source.split(";"))
    words = say("account.settings.source", source=known, locator=origin.locator, mark=BASES[origin.basis])
    return linked(words, origin)


def settings_account(picture: Picture) -> Account:
    """Return every question on which sources differ: all readings, and what is used here."""
    found = settings.settings(picture.farm)
    told = [line for one in found for line in _setting(one)]
    told.append(say("account.settings.elsewhere"))
    told.append(say("account.settings.conflicts"))
    told += [_conflict(row) for row in tables.texts("conflicts")]
    return Account("browseline/settings/1", "settings", tuple(told), tuple(_figures(found)))


def _figures(found: Iterable[Setting]) -> Iterator[Figure]:
    """Yield what is used for every question, then every reading with a number."""
    for one in found:
        if one.typed is not None:
            yield _typed(one, one.typed)
        rows = (one.used, *one.readings) if one.typed is None else one.readings
        yield from (figure for row in rows if (figure := _figure(row, one.key)) is not None)


def _setting(one: Setting) -> Iterator[str]:
    yield used_words(one)
    for row in one.readings:
        yield say("account.settings.reading", name=_name(row, one.key), amount=_amount(row, one.key),
                  source=source_words(_origin(row)), note=linked(row.note, _origin(row)))  # fmt: skip
    if not one.cautious and one.typed is None:
        yield say(f"account.settings.{'shorter' if one.key == 'worm_rest' else 'bolder'}")
    yield say("account.settings.how", key=one.key, name=_name(one.used, one.key))


def _amount(row: tables.Row, key: str) -> str:
    """Return what a reading asks for, linked to its figure."""
    found = _figure(row, key)
    return linked(_amount_words(row), found) if found is not None else _amount_words(row)


def _amount_words(row: tables.Row) -> str:
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
    words = say("account.settings.conflict", third=third, ident=ident, source=row["source_id"], **told)
    return linked(words, Origin(row["source_id"], row["conflict_id"], basis))
