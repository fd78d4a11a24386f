"""What the relief sheet says at each step of shortening, so that it always fits on one page.

Type is as large as the page allows and never below 14 points. Then words are cut, by rule and in
this order: the sketch shrinks, long reasons end in "see Today", the sketch is left out, long lists
end in "so many more". Telephones, the three "if" lines and the fence caution are never cut.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from browseline.papers.names import SHORT_ID, clipped, first_of
from browseline.papers.relief import MobLine, ReliefSheet
from browseline.papers.sketch import Outline, Sketch
from browseline.units import plain
from browseline.words import say

RELIEF = "relief-1"
WORD_MOST = 22


@dataclass(frozen=True, slots=True)
class Fit:
    """One step: the sketch's share of its full size (0 leaves it out), signs and lines kept."""

    points: int
    sketch: float
    reason: int
    name: int
    words: int
    lines: int
    pens: int


STEPS = (
    Fit(17, 1.0, 400, 60, 400, 40, 20),
    Fit(16, 1.0, 400, 60, 400, 40, 20),
    Fit(15, 1.0, 400, 60, 400, 40, 20),
    Fit(14, 1.0, 400, 60, 400, 40, 20),
    Fit(14, 0.85, 400, 60, 400, 40, 20),
    Fit(14, 0.7, 90, 40, 160, 40, 4),
    Fit(14, 0.6, 60, 24, 120, 12, 2),
    Fit(14, 0.6, 44, 20, 100, 6, 1),
    Fit(14, 0.5, 40, 16, 80, 5, 1),
    Fit(14, 0.0, 40, 16, 80, 6, 1),
    Fit(14, 0.0, 30, 14, 60, 4, 1),
    Fit(14, 0.0, 24, 12, 44, 3, 1),
    Fit(14, 0.0, 20, 8, 30, 2, 0),
)


def printed(sheet: ReliefSheet, fit: Fit) -> dict[str, Any]:
    """Return what the template sets at one step: words and numbers only, ready for JSON."""
    more = say("papers.more")

    def cut(text: str, most: int) -> str:
        return soft(clipped(text, most, more))

    def names(text: str) -> str:
        return soft(clipped(text, fit.name, "…"))

    look = [cut(t, fit.reason) for t in sheet.look_for]
    return {
        "paper": "us-letter" if sheet.units == "acres" else "a4",
        "points": fit.points,
        "head": _heads(),
        "farm": cut(sheet.farm, min(fit.words, 40)),
        "span": sheet.span,
        "printed": sheet.printed,
        "emergency": soft(sheet.emergency[:24]),
        "place": cut(sheet.place, fit.words),
        "phones": [
            {"role": p.role, "name": names(p.name), "phone": soft(p.phone[:24])} for p in sheet.phones
        ],
        "alarms": first_of([cut(a, fit.words) for a in sheet.alarms], fit.lines, more),
        "days": list(sheet.days),
        "mobs": [_mob(mob, fit, names) for mob in sheet.mobs[: fit.lines]],
        "mobs_more": _left(len(sheet.mobs), fit.lines),
        "moves": [
            {
                "day": m.day, "time": m.time, "mob": names(m.mob), "start": names(m.start), "to": names(m.to),
                "note": cut(m.note, fit.words),
            }
            for m in sheet.moves[: fit.lines]
        ],
        "moves_more": _left(len(sheet.moves), fit.lines),
        "shut": [
            {"paddocks": cut(s.paddocks, max(fit.name * 2, 24)), "because": cut(s.because, fit.reason)}
            for s in sheet.shut[: fit.lines]
        ],
        "shut_more": _left(len(sheet.shut), fit.lines),
        "water": [{"place": names(p), "words": cut(w, fit.reason)} for p, w in sheet.water[: fit.lines]],
        "water_more": _left(len(sheet.water), fit.lines),
        "wire": sheet.wire,
        "energiser": [cut(line, fit.words) for line in sheet.energiser],
        "look": first_of(look, fit.lines, more),
        "care": list(sheet.cautions),
        "ifs": [{"head": head, "then": soft(then)} for head, then in sheet.ifs],
        "sketch": _sketch(sheet, sheet.sketch, fit.sketch) if sheet.sketch and fit.sketch else None,
    }  # fmt: skip


def soft(text: str) -> str:
    """Return a text in which a very long word may break, so that no line leaves the page."""
    return " ".join(
        "\u200b".join(word[i : i + WORD_MOST] for i in range(0, len(word), WORD_MOST))
        for word in text.split(" ")
    )


def _left(have: int, kept: int) -> str:
    return say("papers.more_lines", count=have - kept, more=say("papers.more")) if have > kept else ""


def _mob(mob: MobLine, fit: Fit, names: Any) -> dict[str, Any]:
    pens = first_of([soft(clipped(p, fit.words, "…")) for p in mob.pens], fit.pens, say("papers.more"))
    return {
        "name": names(mob.name), "place": names(mob.place), "total": str(mob.total),
        "heads": soft(clipped(mob.heads, max(fit.words // 2, 30), "…")), "pens": pens if fit.pens else [],
    }  # fmt: skip


def _heads() -> dict[str, str]:
    keys = ("emergency", "place", "now", "where", "animals", "total", "count", "moves", "done", "counted",
            "shut", "water", "fence", "look", "care", "water_seen", "wire_read")  # fmt: skip
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
