"""From the names that people say to the ids of the farm; an unknown name is told with the nearest."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from browseline.errors import BadInput, finding
from browseline.farm.herd_words import class_words
from browseline.farm.records import Farm, Planting
from browseline.record.state import AWAY, PEN, YARD, HeadLine, MobState, State
from browseline.words import list_words, say

PLACES = (YARD, PEN, AWAY)
MOST_NAMES = 12
"""So many names are told where a name is unknown; of more, how many they are."""


@dataclass(frozen=True, slots=True)
class Names:
    """What a farm's things are called on one instant."""

    farm: Farm
    state: State

    def mob(self, said: str) -> MobState:
        """Return the living mob of a name: its id, its name, or a class that only it has.

        Raises
        ------
        BadInput
            If no mob, or more than one, is meant.
        """
        mobs = {mob.id: mob for mob in self.state.mobs if mob.ended is None}
        found = self._find(said, {m.id: (m.id, m.name) for m in mobs.values()})
        if found is None:
            holding = [m for m in mobs.values() if any(_is(said, line) for line in m.lines)]
            if len(holding) == 1:
                return holding[0]
            raise unknown("mob", said, (name for m in mobs.values() for name in (m.id, m.name)))
        return mobs[found]

    def paddock(self, said: str) -> tuple[str, str]:
        """Return the paddock of a name and, where a net made one, its part.

        Raises
        ------
        BadInput
            If the farm has none of that name.
        """
        parents = dict(self.state.parents)
        names = {p.id: (p.id, p.name) for p in self.farm.paddocks} | {part: (part,) for part in parents}
        found = self._find(said, names)
        if found is None:
            raise unknown("paddock", said, (name for both in names.values() for name in both))
        return (parents[found], found) if found in parents else (found, "")

    def place(self, said: str) -> tuple[str, str]:
        """Return a paddock and part, or yard, pen or away."""
        return (said.casefold(), "") if said.casefold() in PLACES else self.paddock(said)

    @property
    def plantings(self) -> tuple[Planting, ...]:
        """Return the plantings that stand and those that are planned: an entry may be about either."""
        return (*self.farm.plantings, *self.farm.planned)

    def planting(self, said: str) -> str:
        """Return the planting of a name, or the only one of a paddock.

        Raises
        ------
        BadInput
            If none, or more than one, is meant.
        """
        plantings = self.plantings
        names = {p.id: (p.id, p.name) for p in plantings}
        found = self._find(said, names)
        if found is not None:
            return found
        within = [p.id for p in plantings if p.paddock is not None and _alike(said, p.paddock)]
        if len(within) == 1:
            return within[0]
        raise unknown("planting", said, (name for both in names.values() for name in both))

    def planting_row(self, said: str) -> tuple[str, str]:
        """Return the planting of a name and, of ``planting/row``, the row.

        Raises
        ------
        BadInput
            If none, or more than one, is meant.
        """
        whole = {n.casefold() for p in self.plantings for n in (p.id, p.name)}
        before, slash, after = said.rpartition("/")
        if not slash or said.casefold() in whole:
            return self.planting(said), ""
        planting = self.planting(before)
        return planting, self.row(planting, after)

    def row(self, planting: str, said: str) -> str:
        """Return the id of a planting's row by its id or name; ``planting/row`` may be said too.

        Raises
        ------
        BadInput
            If the planting has no such row.
        """
        rows = next((p.rows for p in self.plantings if p.id == planting), ())
        found = self._find(said.removeprefix(f"{planting}/"), {r.id: (r.id, r.name) for r in rows})
        if found is None:
            raise unknown("row", said, (name for r in rows for name in (r.id, r.name)))
        return found

    def called(self, ident: str) -> str:
        """Return what people call a mob, paddock or planting."""
        for found in (self.state.mob(ident), self.farm.paddock(ident)):
            if found is not None:
                return found.name
        return next((p.name for p in self.plantings if p.id == ident), ident)

    def line(self, mob: MobState, said: str) -> HeadLine | None:
        """Return the animals of a mob that a word means, or None where it is not clear."""
        pens = [line for held in mob.pens for line in held.lines]
        fits = [line for line in (*mob.lines, *pens) if _is(said, line)]
        classes = {(line.kind, line.klass) for line in fits}
        return fits[0] if len(classes) == 1 else None

    def mob_with(self, said: str) -> MobState:
        """Return the only living mob that has animals of a class.

        Raises
        ------
        BadInput
            If none has them, or more than one.
        """
        living = [mob for mob in self.state.mobs if mob.ended is None]
        fits = [mob for mob in living if self.line(mob, said) is not None]
        if len(fits) == 1:
            return fits[0]
        if fits:
            held = list_words([mob.id for mob in fits])
            raise BadInput([finding("cli.which_mob", said, name=said, mobs=held)])
        raise unknown("animals", said, (mob.id for mob in living))

    def _find(self, said: str, names: Mapping[str, Iterable[str]]) -> str | None:
        """Return the id whose id, else whose name, is said; else None."""
        for exact in (True, False):
            fits = [i for i, own in names.items() for n in own if (said == n if exact else _alike(said, n))]
            if len(set(fits)) == 1:
                return fits[0]
        return None


def unknown(what: str, said: str, known: Iterable[str]) -> BadInput:
    """Return the finding of a name that is not there, with the nearest that is, or with all."""
    folded = {name.casefold(): name for name in known}
    names = list(folded.values())
    near = difflib.get_close_matches(said.casefold(), folded, n=1, cutoff=0.5)
    if near:
        mend = say("cli.nearest", name=folded[near[0]])
    else:
        mend = say("cli.there_are", names=_some(names)) if names else say("cli.there_is_none")
    return BadInput([finding(f"cli.unknown.{what}", said, name=said, mend=mend)])


def _some(names: list[str]) -> str:
    """Return names as people say them; of very many the first, and how many more there are."""
    told = names[:MOST_NAMES] if len(names) > MOST_NAMES + 1 else names
    more = len(names) - len(told)
    return list_words([*told, say("cli.more", count=more)] if more else told)


def singular(word: str) -> str:
    """Return a word without its plural: ewes, heifers, calves, geese."""
    folded = word.casefold()
    for many, one in (("calves", "calf"), ("geese", "goose"), ("oxen", "ox")):
        if folded == many:
            return one
    return folded[:-1] if folded.endswith("s") and not folded.endswith("ss") else folded


def _alike(said: str, name: str) -> bool:
    return singular(said.strip()) == singular(name.strip())


def _is(said: str, line: HeadLine) -> bool:
    """Return whether all words that are said stand in a line's kind and class, as kept or as said."""
    words = {singular(w) for w in re.findall(r"\w+", said)}
    held = {singular(w) for w in re.findall(r"\w+", f"{line.kind} {line.klass} {class_words(line.klass, 1)}")}
    return bool(words) and words <= held
