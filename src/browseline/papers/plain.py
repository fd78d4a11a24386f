"""Papers as plain text: the relief sheet for a telephone that only takes text messages."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from browseline.papers.names import brief, briefs, clipped
from browseline.papers.relief import MoveLine, ReliefSheet
from browseline.words import say


@dataclass(frozen=True, slots=True)
class Cut:
    """One step of shortening: signs kept of the place in words, of a reason, of a name, and lines kept."""

    place: int
    reason: int
    name: int
    lines: int


PARTS_MOST = 4
FENCE_MOST = 110
SINGLE, JOINED = 160, 153
"""Signs in one message, and in each part of a longer one (3GPP TS 23.038 and 23.040)."""
SINGLE_WIDE, JOINED_WIDE = 70, 67
_BASIC = set(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§"
    "¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
_TWICE = set("^{}\\[~]|€\f")
_PLAINER = str.maketrans(
    {"…": "...", "→": ">", "·": ",", "’": "'", "‘": "'", "“": '"', "”": '"', "–": "-", "—": "-"}
)
STEPS = (
    Cut(200, 200, 60, 9),
    Cut(120, 60, 40, 9),
    Cut(100, 36, 28, 6),
    Cut(90, 28, 20, 4),
    Cut(80, 24, 14, 3),
    Cut(70, 16, 12, 3),
    Cut(50, 14, 10, 2),
)


def message(sheet: ReliefSheet) -> str:
    """Return the relief sheet as text, shortened step by step to four message parts.

    With many mobs and moves it stays longer: counts, moves and telephones are never cut. Then it is cut
    no more than the fewest parts ask for.
    """
    tries = [_text(sheet, step) for step in STEPS]
    fewest = max(min(map(parts, tries)), PARTS_MOST)
    return next(text for text in tries if parts(text) <= fewest)


def parts(text: str) -> int:
    """Return how many text messages a text takes."""
    if set(text) <= _BASIC | _TWICE:
        size = sum(2 if sign in _TWICE else 1 for sign in text)
        return 1 if size <= SINGLE else -(-size // JOINED)
    size = len(text.encode("utf-16-le")) // 2
    return 1 if size <= SINGLE_WIDE else -(-size // JOINED_WIDE)


def _text(sheet: ReliefSheet, step: Cut) -> str:
    def cut(text: str, most: int) -> str:
        return clipped(text.translate(_PLAINER), most, say("papers.text.cut"))

    def name(text: str) -> str:
        return cut(text, step.name)

    def place(text: str) -> str:
        return brief(text.translate(_PLAINER), step.name, say("papers.text.cut"))

    out = [
        say("papers.text.head", farm=cut(sheet.farm, 30), span=sheet.span_short),
        say("papers.text.emergency", emergency=sheet.emergency, place=cut(sheet.place, step.place)),
        ", ".join(say("papers.text.phone", role=p.role, phone=p.phone) for p in sheet.phones),
        *(cut(alarm, step.place) for alarm in sheet.alarms),
    ]
    for m in sheet.mobs:
        said = say("papers.text.now", mob=name(m.name), place=place(m.place), heads=m.heads, total=m.total)
        out += [said, *(cut(pen, step.place) for pen in m.pens)]
    out += [_move(m, name, place) for m in sheet.moves] or [say("papers.text.no_move")]
    out += _ground(sheet, step, cut)
    out += [say("papers.text.water", places=_water(sheet, step, place)), cut(sheet.fence_text, FENCE_MOST)]
    out += _look(sheet, step)
    out += [sheet.care_text, *(f"{head}: {then}" for head, then in sheet.ifs_short)]
    return "\n".join(out).translate(_PLAINER)


def _ground(sheet: ReliefSheet, step: Cut, cut: Callable[[str, int], str]) -> list[str]:
    """Return what ground is shut, and where hay is or will be."""

    def places(each: tuple[str, ...]) -> str:
        return briefs([one.translate(_PLAINER) for one in each], step.name, say("papers.text.cut"))

    shut, hay = sheet.shut[: step.lines], sheet.hay[: step.lines]
    return [
        *(
            say("papers.text.shut", paddocks=places(s.places), because=cut(s.because, step.reason))
            for s in shut
        ),
        *(say("papers.text.hay.line", paddocks=places(h.places), words=h.short) for h in hay),
    ]


def _look(sheet: ReliefSheet, step: Cut) -> list[str]:
    if not sheet.look_for:
        return []
    more = say("papers.text.cut")
    pins = "; ".join(clipped(h, step.reason, more) for h in sheet.look_for[: step.lines])
    return [say("papers.text.look", hazards=pins)]


def _water(sheet: ReliefSheet, step: Cut, shorten: Callable[[str], str]) -> str:
    """Return the water of the places, places with the same words together."""
    alike: dict[str, list[str]] = {}
    for place, words in sheet.water:
        alike.setdefault(clipped(words, max(step.reason, 30), say("papers.text.cut")), []).append(
            shorten(place)
        )
    return "; ".join(f"{', '.join(places)} {words}" for words, places in alike.items())


def _move(move: MoveLine, name: Callable[[str], str], place: Callable[[str], str]) -> str:
    note = f" ({move.note})" if move.note else ""
    start, to = place(move.start), place(move.to)
    return say(
        "papers.text.move", day=move.day, time=move.time, mob=name(move.mob), start=start, to=to, note=note
    )
