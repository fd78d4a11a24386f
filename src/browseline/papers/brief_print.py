"""The design brief of a class as the template sets it, and as plain text."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from browseline.chain.look import Picture
from browseline.errors import BadInput, finding
from browseline.papers.fit import soft
from browseline.trials.brief import Brief, brief, looked_at, subtitle
from browseline.trials.designs import HERE, design_ids, laid_out, locks_of
from browseline.words import day_words, language, say

TEMPLATE = "brief-1"


def brief_of(picture: Picture) -> Brief:
    """Return the brief of the farm's designs, or of the farm alone where none is written.

    Raises
    ------
    BadInput
        If no design has a planting with spacings.
    """
    folder = picture.folder
    with laid_out(folder, design_ids(folder) or (HERE,), picture.now) as designs:
        locks = locks_of(folder)
        made = brief(locks.title, designs, locks, picture, looked_at(designs, picture))
    if not made.designs:
        raise BadInput([finding("trials.no_stand", "designs")])
    return made


def brief_context(
    picture: Picture, as_record: Callable[[str, Any], dict[str, Any]] | None = None
) -> dict[str, Any]:
    """Return everything that the brief is printed from, now and again later.

    Parameters
    ----------
    as_record : callable, optional
        Turns a brief into lists and texts, for its JSON.

    Raises
    ------
    BadInput
        As ``brief_of``.
    """
    made = brief_of(picture)
    context: dict[str, Any] = {
        "schema": made.schema, "template": TEMPLATE, "made": picture.scene.local(picture.now).isoformat(),
        "data": brief_data(made, picture), "text": brief_text(made),
    }  # fmt: skip
    if as_record is not None:
        context["page"] = as_record(made.schema, made)
    return context


def brief_data(made: Brief, picture: Picture) -> dict[str, Any]:
    """Return what the template sets: words alone."""
    return {
        "lang": language.get(), "paper": "us-letter" if picture.farm.units == "acres" else "a4",
        "title": soft(made.title), "farm": soft(made.farm), "subtitle": soft(subtitle(made)),
        "printed": say("trials.brief.printed", day=day_words(picture.today), year=picture.today.year),
        "assumed": say("trials.brief.assumed"), "found": say("trials.brief.found"),
        "head": [soft(cell) for cell in made.head],
        "rows": [[soft(cell) for cell in row] for row in made.rows],
        "assumptions": [soft(words) for words in made.assumptions],
        "sentences": [soft(words) for words in made.sentences],
    }  # fmt: skip


def brief_text(made: Brief) -> str:
    """Return the brief as plain text: the table row by row, each design's cell named."""
    names = made.head[1:]
    lines = [made.title, subtitle(made), "", say("trials.brief.assumed"), *made.assumptions, ""]
    for row in (*made.rows,):
        cells = "; ".join(f"{name}: {cell}" for name, cell in zip(names, row[1:], strict=True))
        lines.append(f"{row[0]}. {cells}")
    return "\n".join([*lines, "", say("trials.brief.found"), *made.sentences, ""])
