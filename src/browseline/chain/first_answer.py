"""The first answer: at most twelve questions, no account, no farm yet; by when they must move, and why."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from browseline import tables
from browseline.chain.desk.begin import QUESTIONS, Question, answered, begin
from browseline.chain.desk.choices import Choice
from browseline.chain.desk.forms import FormField
from browseline.chain.look import look
from browseline.chain.today import Line, Today, today
from browseline.chain.why import WhyTogether, why_together
from browseline.errors import BadInput, Finding
from browseline.farm.herd_words import class_words
from browseline.farm.names import label
from browseline.words import say

LIKE = {"area": "ac", "height": "in", "weight": "lb", "intake": "lb/d", "mass-per-height": "lb/ac/in",
        "leave-at": "in", "share-eaten": "%"}  # fmt: skip
"""The units that are offered where nobody has said any."""
SURE = "yes"
"""The answer that keeps what was asked about."""
LATER = frozenset({"intake", "mass-per-height", "leave-at", "share-eaten", "since", "name"})
"""Questions that have an answer by the book: asked under "more"."""


@dataclass(frozen=True, slots=True)
class StartPage:
    """The page Start: the questions, what speaks against the answers, and if all of it may be kept."""

    schema: str
    fields: tuple[FormField, ...]
    found: tuple[Finding, ...]
    zone: str
    may_keep: bool
    asked: bool = False


@dataclass(frozen=True, slots=True)
class FirstAnswer:
    """The first answer: the limit that comes first, what comes after it, and every number opened.

    ``page`` is Today of the farm that the answers make; ``kept`` tells that it was kept, ``may_keep`` that
    it may be.
    """

    schema: str
    answers: tuple[tuple[str, str], ...]
    first: tuple[str, ...]
    others: tuple[str, ...]
    page: Today
    why: WhyTogether | None
    kept: bool
    may_keep: bool


def start_page(
    zone: str, may_keep: bool, given: Mapping[str, str] | None = None, found: Iterable[Finding] = ()
) -> StartPage:
    """Return the questions, with what was answered already."""
    told = given or {}
    fields = tuple(_field(question, told) for question in QUESTIONS if question.name != "kind")
    wrong = tuple(found)
    asked = bool(wrong) and all(one.level == "question" for one in wrong)
    return StartPage("browseline/start/1", fields, wrong, zone, may_keep, asked)


def _field(question: Question, told: Mapping[str, str]) -> FormField:
    name = question.name
    rows = tables.applies("animals", "intake") if name == "class" else ()
    choices = tuple(Choice(row, _class_label(row)) for row in rows)
    quantity = question.dimension not in ("", "head", "instant")
    kind = "choice" if choices else "quantity" if quantity else "whole" if name == "head" else "text"
    hint = say(f"form.start.hint.{name}") if name == "since" else ""
    return FormField(
        name, say(f"form.start.{name}"), hint, kind, told.get(name, ""), LIKE.get(name, ""),
        not question.optional and name not in LATER, name in LATER, choices,
    )  # fmt: skip


def _class_label(row: str) -> str:
    """Return a class of the tables as people say it, its kind before it: sheep: dry ewes."""
    kind, _, klass = row.partition(", ")
    return say("form.start.one_class", kind=label("kind", kind), klass=class_words(klass, 2))


def answers_of(given: Mapping[str, str], zone: str) -> dict[str, str]:
    """Return every answer as the farm file holds it.

    Raises
    ------
    BadInput
        With all that cannot be used.
    """
    out: dict[str, str] = {}
    wrong: list[Finding] = []
    kind, apart, klass = given.get("class", "").partition(", ")
    given = {**given, "kind": kind, "class": klass} if apart else given
    for question in QUESTIONS:
        text = " ".join(given.get(question.name, "").split()) or _by_default(question.name)
        unit = LIKE.get(question.name, "")
        bare = text and unit and not any(sign.isalpha() or sign in "%$" for sign in text)
        try:
            out[question.name] = answered(question, f"{text} {unit}" if bare else text, out, zone)
        except BadInput as bad:
            wrong += [replace(one, where=say(f"form.start.{question.name}")) for one in bad.findings]
    if wrong:
        raise BadInput(wrong)
    return out


def _by_default(name: str) -> str:
    return say("form.start.farm") if name == "name" else ""


def first_answer(
    given: Mapping[str, str], zone: str, now: datetime, folder: Path | None = None, *, may_keep: bool = False
) -> FirstAnswer:
    """Return the first answer of some answers; they are kept only in ``folder``, if one is given.

    Raises
    ------
    BadInput
        With all that cannot be used.
    """
    answers, sure = answers_of(given, zone), bool(given.get(SURE))
    if folder is not None:
        _begun(answers, folder, zone, now, sure)
        return _answer(answers, folder, now, kept=True, may_keep=False, sure=sure)
    with TemporaryDirectory() as made:
        farm = Path(made) / "farm"
        _begun(answers, farm, zone, now, sure)
        return _answer(answers, farm, now, kept=False, may_keep=may_keep, sure=sure)


def _begun(answers: Mapping[str, str], folder: Path, zone: str, now: datetime, sure: bool) -> None:
    """Make the farm of the answers; what speaks against one is told at its question."""
    try:
        begin(answers, folder, zone, now, sure=sure)
    except BadInput as wrong:
        raise BadInput([_at_question(one) for one in wrong.findings]) from None


def _at_question(one: Finding) -> Finding:
    option = one.where.partition(" ")[0]
    name = option.removeprefix("--")
    known = name != option and any(question.name == name for question in QUESTIONS)
    return replace(one, where=say(f"form.start.{name}")) if known else one


def _answer(
    answers: Mapping[str, str], folder: Path, now: datetime, *, kept: bool, may_keep: bool, sure: bool
) -> FirstAnswer:
    picture = look(folder, now)
    page = today(picture)
    lines = [line for mob in page.mobs for line in mob.lines]
    dated = [line for line in lines if line.likely is not None]
    first = tuple(_words("move", line) for line in dated[:1])
    others = [_words("other", line) for line in dated[1:]]
    others += [say("cli.start.no_answer", because=line.because) for line in lines if line.likely is None]
    opened = why_together(picture, page, "today.mobs") if lines else None
    told = (*answers.items(), *(((SURE, "yes"),) if sure else ()))
    return FirstAnswer("browseline/first-answer/1", told, first, tuple(others), page, opened, kept, may_keep)


def _words(key: str, line: Line) -> str:
    return say(f"cli.start.{key}", limit=line.name, when=line.when, because=line.because)
