"""The first questions: what each may be, and the farm folder that their answers make."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from browseline import tables
from browseline.chain.desk.lookup import singular
from browseline.chain.desk.slots import not_a_quantity
from browseline.chain.desk.times import when
from browseline.chain.desk.unlikely import at_answers, unlikely
from browseline.errors import BadInput, finding
from browseline.events import Event, Moved, Walked, When, new_id
from browseline.farm.disk import write_whole
from browseline.farm.herd_words import class_words
from browseline.farm.read import read
from browseline.record.store import Record
from browseline.units import CHOSEN, NotAQuantity, System, parse
from browseline.words import say

ANY = "mixed_cool"


def _none(_so_far: Mapping[str, str]) -> tuple[str, ...]:
    return ()


def kinds(_so_far: Mapping[str, str]) -> tuple[str, ...]:
    """Return the kinds of animal that the tables know."""
    return tuple(dict.fromkeys(row.partition(", ")[0] for row in tables.applies("animals", "intake")))


def classes(so_far: Mapping[str, str]) -> tuple[str, ...]:
    """Return the classes of the kind that was said."""
    rows = (row.partition(", ") for row in tables.applies("animals", "intake"))
    return tuple(klass for kind, _, klass in rows if kind == so_far.get("kind"))


@dataclass(frozen=True, slots=True)
class Question:
    """One question: a dimension for a quantity, choices for a word, neither for a text."""

    name: str
    dimension: str = ""
    choices: Callable[[Mapping[str, str]], tuple[str, ...]] = _none
    optional: bool = False


QUESTIONS = (
    Question("name"),
    Question("head", "head"),
    Question("kind", choices=kinds),
    Question("class", choices=classes),
    Question("weight", "mass", optional=True),
    Question("intake", "intake", optional=True),
    Question("area", "area"),
    Question("height", "length"),
    Question("mass-per-height", "herbage density", optional=True),
    Question("leave-at", "length", optional=True),
    Question("share-eaten", "share", optional=True),
    Question("since", "instant", optional=True),
)


def answered(question: Question, text: str, so_far: Mapping[str, str], place: str) -> str:
    """Return an answer as the farm file holds it.

    Raises
    ------
    BadInput
        If it is missing or cannot be used.
    """
    text = text.strip()
    where = f"--{question.name} {text}".strip()
    if not text:
        if question.optional:
            return ""
        raise BadInput([finding("cli.start.missing", where, option=where)])
    if question.dimension == "head":
        if not (text.isascii() and text.isdigit() and int(text) > 0):
            raise BadInput([finding("cli.whole_number", where, text=text)])
        return text
    if question.dimension == "instant":
        return text
    if question.dimension:
        return _quantity(question, text, so_far, where)
    found = question.choices(so_far)
    return _chosen(text, found, where) if found else text


def _quantity(question: Question, text: str, so_far: Mapping[str, str], where: str) -> str:
    chosen = CHOSEN[system_of(so_far)]
    default = "%" if question.dimension == "share" else chosen[question.dimension]
    try:
        return parse(text, question.dimension, default).text
    except NotAQuantity as wrong:
        raise not_a_quantity(wrong, where) from None


def _chosen(text: str, choices: tuple[str, ...], where: str) -> str:
    """Return the choice that is said whole, by its number, or by words that only it has."""
    if text.isdigit() and 0 < int(text) <= len(choices):
        return choices[int(text) - 1]
    said = _words(text)
    exact = [c for c in choices if said in (_words(c), _words(class_words(c, 1)))]
    fits = exact or [c for c in choices if said <= _words(c) | _words(class_words(c, 1))]
    if len(fits) != 1:
        called = ", ".join(choice_words(c) for c in fits or choices)
        code = "cli.choose_more" if fits else "cli.choose"
        raise BadInput([finding(code, where, text=text, choices=called)])
    return fits[0]


def _words(text: str) -> set[str]:
    return {singular(word) for word in text.split()}


def choice_words(choice: str) -> str:
    """Return a choice as people say it: dry ewes; what names no animals as it is."""
    return class_words(choice, 1)


def system_of(answers: Mapping[str, str]) -> System:
    """Return the units that the answers speak: hectares if the area or the weight is metric."""
    metric = ("ha", "m2", "kg", "hectare", "hectares")
    said = " ".join(answers.get(name, "") for name in ("area", "weight", "intake"))
    return (
        "hectares"
        if any(said.rstrip("/d ").endswith(unit) or f" {unit}" in said for unit in metric)
        else "acres"
    )


def begin(answers: Mapping[str, str], folder: Path, place: str, now: datetime, *, sure: bool = False) -> Path:
    """Write a farm folder from the answers, with the move and the height in its record.

    Parameters
    ----------
    sure : bool
        Whether what is hardly so was asked about already and is kept as it was said.

    Raises
    ------
    BadInput
        If a farm is there already, the answers make none, or one of them is hardly so; nothing stays then.
    """
    if (folder / "farm.toml").exists():
        raise BadInput([finding("cli.folder_taken", str(folder))])
    zone = ZoneInfo(place)
    since = _since(answers.get("since", ""), now, zone)
    there = folder.exists()
    folder.mkdir(parents=True, exist_ok=True)
    text = farm_text(answers, place, since)
    write_whole(folder / "farm.toml", text.encode())
    reading = read(folder, now.astimezone(zone).date())
    wrong = at_answers(reading.errors, answers, text)
    if reading.farm is not None and not sure:
        wrong += unlikely(answers, reading.farm)
    if reading.farm is None or wrong:
        (folder / "farm.toml").unlink()
        if not there:
            folder.rmdir()
        raise BadInput(wrong)
    mob, paddock = reading.farm.mobs[0].id, reading.farm.paddocks[0].id
    at = now.astimezone(zone)
    with Record.open(folder) as record:
        record.keep_files(now)
        bodies = (
            (since, mob, Moved(paddock)),
            (When.at(at), paddock, Walked(parse(answers["height"], "length"))),
        )
        record.append(
            Event(new_id(now), record.device, "owner", observed, at, subject, body)
            for observed, subject, body in bodies
        )
    return folder


def _since(said: str, now: datetime, zone: ZoneInfo) -> When:
    """Return when they went in; what cannot be read is told as the answer that it was."""
    if not said:
        return When.at(now.astimezone(zone))
    try:
        return when(said, now, zone)
    except BadInput:
        raise BadInput([finding("cli.start.since", f"--since {said}")]) from None


def farm_text(answers: Mapping[str, str], place: str, since: When) -> str:
    """Return the ``farm.toml`` of the answers, with comments that say how to go on."""
    import tomlkit

    farm = tomlkit.document()
    farm.add(tomlkit.comment(say("cli.start.comment.farm")))
    farm["schema"] = 1
    farm["name"] = answers["name"]
    farm["time_zone"] = place
    farm["units"] = system_of(answers)
    farm["as_of"] = since.start.date()
    sward = tomlkit.table()
    sward["kind"] = ANY
    for key in ("mass-per-height", "leave-at", "share-eaten"):
        if answers.get(key):
            sward[key.replace("-", "_")] = answers[key]
    swards = tomlkit.table(is_super_table=True)
    swards["home"] = sward
    farm["swards"] = swards
    farm["paddocks"] = _tables({"id": "1", "name": "1", "area": answers["area"], "sward": "home"})
    line = {"kind": answers["kind"], "class": answers["class"], "head": int(answers["head"])}
    line |= {key: answers[key] for key in ("weight", "intake") if answers.get(key)}
    mobs = _tables({"id": "mob", "name": say("cli.start.mob")})
    mobs[0]["lines"] = _tables(line)
    farm["mobs"] = mobs
    return tomlkit.dumps(farm)


def _tables(values: Mapping[str, object]) -> list[dict[str, object]]:
    """Return an array of one table."""
    import tomlkit

    array = tomlkit.aot()
    table = tomlkit.table()
    for key, value in values.items():
        table[key] = value
    array.append(table)
    return array
