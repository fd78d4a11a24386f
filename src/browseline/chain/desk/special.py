"""What single kinds of entry need beyond their table row: places, new mobs, growth, parts, photos."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

from browseline.chain.desk.beasts import split_head
from browseline.chain.desk.desk import Desk, Said
from browseline.chain.desk.lookup import Names, singular, unknown
from browseline.chain.desk.slots import Filled, not_a_quantity
from browseline.errors import BadInput, finding
from browseline.events.verbs import Entry
from browseline.farm.disk import write_whole
from browseline.units import NotAQuantity, parse
from browseline.words import list_words

Step = Callable[[Filled, Desk], None]
LOOKED_AT = ("trees", "ground", "animals", "plants")
ABOUT = {
    "leaf": "ground", "bare": "ground", "ruts": "ground", "roots": "ground",
    "seen": "trees", "bitten": "trees", "barked": "trees", "sick": "trees",
    "animal": "animals", "condition": "animals", "eyelid": "animals",
}  # fmt: skip
"""What a look is about where only its options say so."""


def finish(entry: Entry, filled: Filled, at: Desk, said: Said) -> str:
    """Settle what a kind needs beyond its words, and return the reason for the envelope.

    Raises
    ------
    BadInput
        If a place, mob or file that it names is not there.
    """
    step = _STEPS.get(entry.kind)
    if step is not None:
        step(filled, at)
    _row(filled, at)
    reason = said.because
    if entry.kind == "moved" and not _shut(filled, at):
        reason = str(filled.value.pop("despite_shut", "")) or reason
    return reason


def _row(filled: Filled, at: Desk) -> None:
    """Name the row of the planting that the entry is about, or that was looked at, by its id."""
    row = str(filled.value.get("row", ""))
    if row:
        filled.value["row"] = at.names.row(str(filled.value.get("planting", "")) or filled.subject, row)


def _shut(filled: Filled, at: Desk) -> bool:
    to, part = str(filled.value.get("to", "")), filled.part
    return any(at.state.shut_now(place) for place in (to, part) if place)


def _moved(filled: Filled, at: Desk) -> None:
    if "to" in filled.value:
        filled.value["to"], filled.part = at.names.place(str(filled.value["to"]))


def _split(filled: Filled, at: Desk) -> None:
    _moved(filled, at)
    if "into" in filled.value:
        filled.value["into"] = _mob_or_new(at.names, str(filled.value["into"]))


def _merged(filled: Filled, at: Desk) -> None:
    if "into" not in filled.value:
        return
    said, into = str(filled.value["into"]), at.names.mob(str(filled.value["into"]))
    own = (into.id.casefold(), into.name.casefold())
    by_class = next((word for word in (filled.said, said) if word.casefold() not in own), "")
    if into.id == filled.subject and by_class:
        raise BadInput([finding("cli.joins_its_own", by_class, said=by_class, mob=into.name)])
    filled.value["into"] = into.id


def _weaned(filled: Filled, at: Desk) -> None:
    if "into" in filled.value:
        filled.value["into"] = _mob_or_new(at.names, str(filled.value["into"]))
        filled.value.setdefault("new_klass", filled.value.get("klass", ""))


def _mob_or_new(names: Names, said: str) -> str:
    living = [mob for mob in names.state.mobs if mob.ended is None]
    found = [m.id for m in living if said.casefold() in (m.id.casefold(), m.name.casefold())]
    return found[0] if found else said


def _penned(filled: Filled, at: Desk) -> None:
    """Where nothing else was said, one animal of the class that the mob was called by goes to the pen."""
    if "head" not in filled.value and filled.mob is not None:
        line = at.names.line(filled.mob, filled.said)
        if line is None and len(filled.mob.lines) == 1:
            line = filled.mob.lines[0]
        filled.value["head"] = [f"{line.kind}/{line.klass}=1" if line is not None else "1"]


def _back(filled: Filled, at: Desk) -> None:
    """Refuse an animal that is in no pen of the mob."""
    held = {pen.animal for mob in at.state.mobs for pen in mob.pens}
    animal = str(filled.value.get("animal", ""))
    if animal and animal not in held:
        code = "cli.not_penned" if held else "cli.pens_empty"
        raise BadInput([finding(code, animal, animal=animal, held=list_words(sorted(held)))])


def _borrowed(filled: Filled, at: Desk) -> None:
    _moved(filled, at)


def _looked(filled: Filled, at: Desk) -> None:
    """Say what was looked at by its word, and name the planting of its paddock where there is only one."""
    said = str(filled.value.get("at", ""))
    if said and not filled.subject and _looked_word(said) is None:
        said = _looked_place(filled, at, said)
    if said:
        filled.value["at"] = _look_at(said)
    here = [p.id for p in at.farm.plantings if p.paddock == filled.subject]
    if filled.value.get("planting"):
        filled.value["planting"], row = at.names.planting_row(str(filled.value["planting"]))
        filled.value |= {"row": row} if row else {}
    elif len(here) == 1 and str(filled.value.get("at", "")).startswith("tree"):
        filled.value["planting"] = here[0]


def _look_at(said: str) -> str:
    """Return what can be looked at by its word, one or many: tree, trees."""
    found = _looked_word(said)
    if found is None:
        raise unknown("look", said, LOOKED_AT)
    return found


def _looked_word(said: str) -> str | None:
    return next((word for word in LOOKED_AT if singular(word) == singular(said)), None)


def _looked_place(filled: Filled, at: Desk, said: str) -> str:
    """Take a paddock in the place of what was looked at, and return what its options can only be about.

    Where they leave it open the finding says the words that are missing; a word that names no paddock is
    returned as it is.
    """
    try:
        place, part = at.names.paddock(said)
    except BadInput:
        return said
    about = {what for name, what in ABOUT.items() if name in filled.value}
    if len(about) != 1:
        raise BadInput([finding("cli.look_at", f"look {said}", paddock=part or place)])
    filled.subject, filled.part = place, part
    return about.pop()


def _forecast(filled: Filled, at: Desk) -> None:
    """Take what is expected for growth as mass, growth as height, or rain, by its unit."""
    text = filled.value.pop("growth", None)
    if text is None:
        return
    reasons = []
    for name, dimension in (("growth", "herbage growth"), ("rain", "length"), ("height", "height growth")):
        try:
            filled.value[name] = parse(text, dimension).text
            return
        except NotAQuantity as wrong:
            reasons.append(wrong)
    raise not_a_quantity(reasons[0], f"forecast {text}")


def _netted(filled: Filled, at: Desk) -> None:
    """Take ``a 1 ac, b 2 ac`` for the parts and the area of each."""
    said = filled.value.pop("parts", "")
    text = " ".join(said) if isinstance(said, list) else str(said)
    pairs = [piece.split(maxsplit=1) for piece in text.split(",") if piece.strip()]
    filled.value["parts"] = [pair[0] for pair in pairs]
    filled.value["areas"] = [pair[1] if len(pair) > 1 else "" for pair in pairs]
    for pair in pairs:
        try:
            parse(pair[1] if len(pair) > 1 else "", "area")
        except NotAQuantity as wrong:
            raise not_a_quantity(wrong, f"net {' '.join(pair)}") from None


def _photographed(filled: Filled, at: Desk) -> None:
    """Keep a photo in the folder ``files``, named by its hash."""
    path = Path(str(filled.value.get("file", "")))
    if not path.is_file():
        raise BadInput([finding("cli.no_file", str(path))])
    content = path.read_bytes()
    name = f"{hashlib.sha256(content).hexdigest()}{path.suffix.lower()}"
    files = at.folder / "files"
    files.mkdir(exist_ok=True)
    if not (files / name).exists():
        write_whole(files / name, content)
    filled.value["file"] = name


def _treated(filled: Filled, at: Desk) -> None:
    """Let a whole mob be named as well as one animal."""
    living = [mob for mob in at.state.mobs if mob.ended is None]
    if any(mob.id == filled.subject for mob in living):
        return
    for mob in living:
        if singular(filled.subject) in (singular(mob.id), singular(mob.name)):
            filled.subject = mob.id


def _returned(filled: Filled, at: Desk) -> None:
    head = filled.value.get("head")
    if isinstance(head, str):
        filled.value["head"] = split_head(head)[0]


_STEPS: dict[str, Step] = {
    "moved": _moved, "split": _split, "merged": _merged, "weaned": _weaned, "penned": _penned, "back": _back,
    "borrowed": _borrowed, "looked": _looked, "forecast": _forecast, "netted": _netted,
    "photographed": _photographed, "treated": _treated, "returned": _returned,
}  # fmt: skip
