"""Kinds of animal side by side: what each eats, harms, needs and sells, and what the keeper knows of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from browseline import tables
from browseline.chain.look import Picture
from browseline.farm import names, needs
from browseline.farm.herd_words import class_words
from browseline.figures import Figure, Mark, weakest
from browseline.record.state import HeadLine
from browseline.science import animals
from browseline.units import factor, shown
from browseline.words import linked, say

FED = ("pig",)
ALONE = 100.0
"""Head of one kind that a pasture carries alone, to tell what it carries of two. [head]"""


@dataclass(frozen=True, slots=True)
class KindRow:
    """One kind beside the others: what it eats, harms, needs and sells, and what the keeper knows."""

    kind: str
    eats: str
    harms: str
    fence: str
    water: str
    market: str
    experience: str
    mark: Mark


def shared_diets(picture: Picture) -> Iterator[dict[str, str]]:
    """Yield each pair of kinds of the farm, how much of their diet they share, and head of each together."""
    kinds = sorted({line.kind for mob in picture.scene.mobs for line in mob.lines})
    known_diets = [(kind, diet) for kind in kinds if (diet := needs.diet(kind)) is not None]
    for (one, its), (other, theirs) in combinations(known_diets, 2):
        overlap, together, alone = _shared(f"{one} {other}", its, theirs)
        yield {
            "one": names.label("kind", one), "other": names.label("kind", other), "share": _count(overlap),
            "head": _count(together), "alone": _count(alone), "mark": together.mark,
        }  # fmt: skip


def _shared(about: str, its: Sequence[Figure], theirs: Sequence[Figure]) -> tuple[Figure, Figure, Figure]:
    """Return the share of diet that two kinds share, head of each together, and head of one alone.

    References
    ----------
    science.animals: diet_overlap_pct, head_sharing_diet
    """
    shares = [[f.value or 0.0 for f in diet] for diet in (its, theirs)]
    share = float(animals.diet_overlap_pct(*shares))
    steps = " + ".join(f"min({a:g}, {b:g})" for a, b in zip(*shares, strict=True))
    overlap = Figure("diet_overlap", share, "%", formula=steps, parts=(*its, *theirs), about=about)
    alone = Figure("head_alone", ALONE, "head", formula=say("purpose.example"), parts=(overlap,), about=about)
    together = Figure(
        "head_together", float(animals.head_sharing_diet(ALONE, share)), "head", parts=(overlap,),
        formula=f"{ALONE:g} × (1 − {share:g} % ÷ 2)", about=about,
    )  # fmt: skip
    return overlap, together, alone


def _count(figure: Figure) -> str:
    return linked(f"{figure.value:.0f}", figure)


def kind_row(picture: Picture, kind: str) -> KindRow:
    """Return one kind's row, with the weakest mark of all that it says."""
    marks: list[Mark] = []
    keeper = next((k for k in picture.farm.keepers if k.kind == kind), None)
    unknown = say("purpose.not_known")
    cells = (
        _eats(kind, marks),
        _harms(picture, kind, marks),
        _fence(kind, marks),
        _water(picture, kind, marks),
    )
    market, experience = (keeper.market, keeper.experience) if keeper is not None else ("", "")
    label = names.label("kind", kind)
    return KindRow(label, *cells, market or unknown, experience or unknown, weakest(marks))


def _eats(kind: str, marks: list[Mark]) -> str:
    diet = needs.diet(kind)
    if diet is None:
        marks.append("G")
        return say("purpose.eats.fed") if kind in FED else say("purpose.not_known")
    marks += [figure.mark for figure in diet]
    grass, forb, browse = (linked(f"{figure.value:g}", figure) for figure in diet)
    return say("purpose.eats.diet", grass=grass, forb=forb, browse=browse)


def _harms(picture: Picture, kind: str, marks: list[Mark]) -> str:
    if kind not in tables.applies("browsing", "browse_reach"):
        marks.append("G")
        return say("purpose.not_known")
    row = tables.row("browsing", "browse_reach", kind)
    reach = row.figure("browse_reach", kind)
    marks.append(reach.mark)
    tall = shown(row.middle() * factor(row.unit, "m"), "distance", picture.farm.units)
    return say(f"purpose.harms.{kind}", reach=linked(tall, reach))


def _fence(kind: str, marks: list[Mark]) -> str:
    if kind not in tables.applies("fence", "fence_volts_min"):
        marks.append("G")
        return say("purpose.not_known")
    row = tables.row("fence", "fence_volts_min", kind)
    least = row.figure("fence_volts_min", kind)
    marks.append(least.mark)
    return say("purpose.fence", volts=linked(f"{row.middle() * factor('V', 'kV'):g}", least))


def _water(picture: Picture, kind: str, marks: list[Mark]) -> str:
    line = one_of(kind)
    cool, hot = needs.water((line,), hot=False), needs.water((line,), hot=True)
    if cool is None or hot is None:
        marks.append("G")
        return say("purpose.not_known")
    marks.append(hot.mark)
    units = picture.farm.units
    ends = (linked(shown(figure.value or 0.0, "water use", units), figure) for figure in (cool, hot))
    return say("purpose.water", cool=next(ends), hot=next(ends), klass=class_words(line.klass, 1))


def one_of(kind: str) -> HeadLine:
    """Return one animal of the first class that the tables know of a kind."""
    return HeadLine(kind, next(iter(names.words("class", kind)), ""), 1)
