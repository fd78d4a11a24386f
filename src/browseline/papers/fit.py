"""What the relief sheet says at each step of shortening, so that it always fits on one page.

Type is as large as the page allows and never below 14 points. Then words are cut, by rule and in
this order: the sketch shrinks, facts run on in paragraphs, long reasons end in "see Today", the sketch is
left out, long lists end in "so many more", moves and mobs last. Telephones, cautions and the three
"if" lines always stand.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from browseline.papers.names import SHORT_ID, brief, briefs, clipped, first_of
from browseline.papers.relief import MobLine, MoveLine, Phone, ReliefSheet
from browseline.papers.relief_hay import HayLine
from browseline.papers.sketch import Outline, Sketch
from browseline.units import plain
from browseline.words import say

RELIEF = "relief-1"
LEAST_MOVES = 16
"""Where fewer moves than this are kept, the "if" lines are said in as few words as in a message."""
WORD_MOST = 10
LEAST_HAY = 60
"""Signs kept of a line on hay: room for the two days that the short one holds."""
PHONE_MOST = 24


@dataclass(frozen=True, slots=True)
class Fit:
    """One step of shortening.

    Attributes
    ----------
    points : int
        Size of the type.
    sketch : float
        Share of the sketch's full size; 0 leaves it out.
    close : bool
        Facts run on in one paragraph each, without rules between them.
    reason, name, words : int
        Signs kept of a reason, of a name, of the place in words.
    mobs, moves, lines : int
        Mobs, moves, and lines of every other list kept.
    """

    points: int
    sketch: float
    close: bool
    reason: int
    name: int
    words: int
    mobs: int
    moves: int
    lines: int


STEPS = (
    Fit(17, 1.0, False, 400, 60, 400, 20, 20, 40),
    Fit(16, 1.0, False, 400, 60, 400, 20, 20, 40),
    Fit(15, 1.0, False, 400, 60, 400, 20, 20, 40),
    Fit(14, 1.0, False, 400, 60, 400, 20, 20, 40),
    Fit(14, 0.85, False, 400, 60, 400, 20, 20, 40),
    Fit(14, 0.7, False, 90, 40, 160, 20, 20, 20),
    Fit(14, 0.7, True, 90, 40, 160, 20, 20, 20),
    Fit(14, 0.6, True, 90, 24, 120, 20, 20, 12),
    Fit(14, 0.45, True, 90, 20, 120, 20, 20, 8),
    Fit(14, 0.0, True, 90, 20, 120, 20, 20, 8),
    Fit(14, 0.0, True, 44, 16, 100, 8, 16, 6),
    Fit(14, 0.0, True, 32, 12, 80, 7, 12, 4),
    Fit(14, 0.0, True, 28, 9, 60, 5, 9, 3),
    Fit(14, 0.0, True, 24, 7, 50, 4, 7, 2),
    Fit(14, 0.0, True, 20, 5, 44, 3, 5, 2),
    Fit(14, 0.0, True, 16, 4, 30, 3, 3, 1),
)


def printed(sheet: ReliefSheet, fit: Fit) -> dict[str, Any]:
    """Return what the template sets at one step: words and numbers only, ready for JSON."""
    ends = sheet.ifs_short if fit.moves < LEAST_MOVES else sheet.ifs
    return {
        "paper": "us-letter" if sheet.units == "acres" else "a4",
        "points": fit.points,
        "close": fit.close,
        "head": _heads(),
        "farm": _name(sheet.farm, min(fit.words, 30)),
        "span": sheet.span,
        "printed": sheet.printed,
        "emergency": soft(sheet.emergency[:PHONE_MOST]),
        "place": _cut(sheet.place, fit.words),
        "phones": [_phone(phone, fit) for phone in sheet.phones],
        "alarms": first_of([_cut(a, fit.words) for a in sheet.alarms], fit.lines, say("papers.more")),
        "days": list(sheet.days),
        "mobs": [_mob(mob, fit) for mob in sheet.mobs[: fit.mobs]],
        "mobs_more": _left(len(sheet.mobs), fit.mobs),
        "moves": [_move(move, fit) for move in sheet.moves[: fit.moves]],
        "moves_more": _left(len(sheet.moves), fit.moves),
        "left_out": _cut(sheet.left_out, max(2 * fit.words, LEAST_HAY)),
        "wire": sheet.wire,
        "energiser": [_cut(line, fit.words) for line in sheet.energiser],
        "care": list(sheet.cautions),
        "ifs": [{"head": head, "then": soft(then)} for head, then in ends],
        "sketch": _sketch(sheet, sheet.sketch, fit.sketch) if sheet.sketch and fit.sketch else None,
    } | _facts(sheet, fit)


def _facts(sheet: ReliefSheet, fit: Fit) -> dict[str, Any]:
    """Return what is shut, the water and what to look for, each with what was left off."""
    look = [_cut(t, fit.reason) for t in sheet.look_for]
    water: dict[str, list[str]] = {}
    for place, words in sheet.water:
        water.setdefault(words, []).append(_place(place, fit.name))
    return {
        "shut": [
            {"paddocks": _places(s.places, max(fit.name * 2, 12)), "because": _cut(s.because, fit.reason)}
            for s in sheet.shut[: fit.lines]
        ],
        "shut_more": _left(len(sheet.shut), fit.lines),
        "hay": [_hay(line, fit) for line in sheet.hay[: fit.lines]],
        "hay_more": _left(len(sheet.hay), fit.lines),
        "water": [
            {"places": ", ".join(first_of(own, fit.lines + 2, "")).strip(), "words": _cut(words, fit.reason)}
            for words, own in list(water.items())[: fit.lines]
        ],
        "water_more": _left(len(water), fit.lines),
        "look": first_of(look, fit.lines + 1, say("papers.more")),
    }


def _hay(line: HayLine, fit: Fit) -> dict[str, str]:
    """Return a line on hay: the short one where the full one would lose its last day."""
    words = line.short if fit.close or len(line.words) > fit.reason else line.words
    return {
        "paddocks": _places(line.places, max(fit.name * 2, 12)),
        "words": _cut(words, max(fit.reason, LEAST_HAY)),
    }


def _cut(text: str, most: int) -> str:
    return soft(clipped(text, most, say("papers.more")))


def _name(text: str, most: int) -> str:
    return soft(clipped(text, most, "…"))


def _place(text: str, most: int) -> str:
    return soft(brief(text, most, "…"))


def _places(places: tuple[str, ...], most: int) -> str:
    return soft(briefs(places, most, "…"))


def soft(text: str) -> str:
    """Return a text in which a very long word may break, so that no line leaves the page."""
    return " ".join(
        "\u200b".join(word[i : i + WORD_MOST] for i in range(0, len(word), WORD_MOST))
        for word in text.split(" ")
    )


def _left(have: int, kept: int) -> str:
    return say("papers.more_lines", count=have - kept, more=say("papers.more")) if have > kept else ""


def _phone(phone: Phone, fit: Fit) -> dict[str, str]:
    return {"role": phone.role, "name": _name(phone.name, fit.name), "phone": soft(phone.phone[:PHONE_MOST])}


def _mob(mob: MobLine, fit: Fit) -> dict[str, Any]:
    pens = first_of([_name(p, fit.words) for p in mob.pens], fit.lines, say("papers.more"))
    return {
        "name": _name(mob.name, fit.name), "place": _place(mob.place, fit.name), "total": str(mob.total),
        "heads": _name(mob.heads, max(fit.words // 2, 26)), "pens": pens,
    }  # fmt: skip


def _move(move: MoveLine, fit: Fit) -> dict[str, str]:
    return {
        "day": move.day, "time": move.time, "mob": _name(move.mob, fit.name), "note": _name(move.note, 60),
        "start": _place(move.start, fit.name), "to": _place(move.to, fit.name),
    }  # fmt: skip


def _heads() -> dict[str, str]:
    keys = ("emergency", "place", "now", "where", "moves", "done", "counted", "shut", "hay", "water", "fence",
            "look", "care", "water_seen", "wire_read")  # fmt: skip
    heads = {key: say(f"papers.relief.head.{key}") for key in keys}
    return heads | {
        "title": say("papers.relief.title"),
        "no_moves": say("papers.relief.no_moves"),
        "nothing_shut": say("papers.relief.nothing_shut"),
        "no_hazards": say("papers.relief.no_hazards"),
    }


# ---------------------------------------------------------------- the sketch


def _sketch(sheet: ReliefSheet, drawn: Sketch, share: float) -> dict[str, Any]:
    present = {kind for kind, _ in drawn.marks}
    legend = [
        {"kind": kind, "word": say(f"papers.relief.map.{kind}")}
        for kind, shown in (
            ("here", any(p.id in sheet.here for p in drawn.paddocks)),
            ("ahead", any(p.id in sheet.ahead for p in drawn.paddocks)),
            ("shut", any(p.hatch for p in drawn.paddocks)),
            *((kind, kind in present) for kind in ("gate", "water", "energiser", "hazard")),
        )
        if shown
    ]
    return {
        "share": share,
        "wide": drawn.wide_m,
        "deep": drawn.deep_m,
        "north": say("papers.relief.map.north"),
        "alt": say("papers.relief.map.alt"),
        "bar": {
            "m": drawn.bar_m,
            "words": say("papers.relief.map.bar", length=plain(drawn.bar), unit=drawn.bar_unit),
        },
        "paddocks": [_outline(p, sheet) for p in drawn.paddocks],
        "lines": [{"kind": kind, "ring": ring} for kind, ring in drawn.lines],
        "marks": [{"kind": kind, "at": at} for kind, at in drawn.marks],
        "legend": legend,
    }


def _outline(paddock: Outline, sheet: ReliefSheet) -> dict[str, Any]:
    """Return a paddock with the labels to try: the widest that has room is taken."""
    state = "here" if paddock.id in sheet.here else "ahead" if paddock.id in sheet.ahead else ""
    words = paddock.name.split()
    if paddock.id != paddock.name and len(paddock.id) <= SHORT_ID:
        tries = [f"{paddock.id} {paddock.name}", paddock.id]
    else:
        tries = [paddock.name, *words[:1]]
    raw = {k: v for k, v in asdict(paddock).items() if k in ("ring", "spot", "hatch")}
    return raw | {"room": paddock.room_m, "labels": tries, "state": state}
