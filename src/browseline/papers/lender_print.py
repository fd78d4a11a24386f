"""The lender pack as the template sets it, and as plain text: the same rows in both."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from browseline.chain.keys import figures_of
from browseline.chain.look import Picture
from browseline.chain.money_ahead import money_given
from browseline.chain.why import Opened, open_figure
from browseline.figures import Figure
from browseline.papers.fit import soft
from browseline.papers.lender import lender_pack
from browseline.papers.lender_chart import lender_svg
from browseline.papers.lender_form import LenderPack, LenderRecord, Table
from browseline.words import language, say

AsRecord = Callable[[str, Any], Any]
TEMPLATE = "lender-1"
HEADS = (
    "asked", "first", "covers", "chart", "years", "bad_years", "switches", "change", "drawn", "assumptions",
    "trees", "not_known", "record",
)  # fmt: skip


def lender_context(picture: Picture, off: Sequence[str], as_record: AsRecord | None) -> dict[str, Any]:
    """Return everything that the pack is printed from, now and again later.

    Parameters
    ----------
    off : sequence of str
        Knocks that are switched off.
    as_record : callable or None
        Turns the pack with every number opened into lists and texts; None leaves its JSON out.

    Raises
    ------
    BadInput
        If the farm has no money plan.
    """
    pack = lender_pack(picture, money_given(picture), off)
    made: dict[str, Any] = {
        "schema": pack.schema, "template": TEMPLATE, "made": pack.made.isoformat(), "data": lender_data(pack),
        "text": lender_text(pack),
    }  # fmt: skip
    if as_record is not None:
        made["page"] = as_record(pack.schema, LenderRecord(pack.schema, pack, _opened(picture, pack)))
    return made


def _opened(picture: Picture, pack: LenderPack) -> tuple[Opened, ...]:
    """Return every number of the pack opened; what stands opened already stays closed."""
    told: set[Figure] = set()
    return tuple(open_figure(picture, key, figure, told) for key, figure in figures_of(pack).items())


def lender_data(pack: LenderPack) -> dict[str, Any]:
    """Return what the template sets: words, numbers and the chart, ready for JSON."""
    parts = ("asked", "first", "change", "drawn", "notes", "trees", "not_known", "record")
    tables = ("cases", "years", "bad_years", "switches", "drawn_years", "assumptions")
    return {
        "lang": language.get(), "paper": "us-letter" if pack.units == "acres" else "a4",
        "title": pack.title, "farm": _set(pack.farm), "printed": pack.printed, "covers": pack.covers,
        "disclaimer": pack.disclaimer, "chart": lender_svg(pack.drawing), "alt": say("lender.alt"),
        "chart_note": say("lender.chart.note"), "head": {name: say(f"lender.head.{name}") for name in HEADS},
        **{name: [_set(text) for text in getattr(pack, name)] for name in parts},
        **{name: _table(getattr(pack, name)) for name in tables},
        "band": say("lender.chart.band") if pack.drawing.band else "",
        "legend": [[line.drawn, _set(line.name)] for line in pack.drawing.lines],
    }  # fmt: skip


def _set(text: str) -> str:
    """Return a text as the paper sets it: long words may break, a minus stays with its amount."""
    return soft(text).replace("−", "−\u2060")


def _table(table: Table) -> dict[str, Any]:
    return {
        "head": [_set(cell) for cell in table.head],
        "rows": [[_set(cell) for cell in row] for row in table.rows],
        "groups": [[_set(group.words), group.columns] for group in table.groups],
    }


def lender_text(pack: LenderPack) -> str:
    """Return the pack as plain text, in the order of the paper."""
    out = [pack.printed, pack.title, pack.disclaimer]
    for name, lines in (("asked", pack.asked), ("first", pack.first), ("covers", (pack.covers,))):
        out += _part(name, lines)
    out += _rows(pack.cases)
    for name, table in (("years", pack.years), ("bad_years", pack.bad_years), ("switches", pack.switches)):
        if table.rows:
            out += [*_part(name, ()), *_rows(table)]
    out += _part("change", pack.change)
    out += [*_part("drawn", pack.drawn), *_rows(pack.drawn_years)]
    out += [*_part("assumptions", ()), *_rows(pack.assumptions), *pack.notes]
    for name in ("trees", "not_known", "record"):
        out += _part(name, getattr(pack, name))
    return "\n".join([*out, "", pack.disclaimer]) + "\n"


def _part(name: str, lines: Iterable[str]) -> list[str]:
    return ["", say(f"lender.head.{name}"), *lines]


def _rows(table: Table) -> list[str]:
    over = tuple(f"{group.words} ({group.columns})" for group in table.groups if group.words)
    return [" | ".join(row) for row in (over, table.head, *table.rows) if row]
