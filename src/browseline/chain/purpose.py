"""Stock for the purpose: kinds side by side, and each job with what ends it and what ends it sooner.

A kind is asked of every limit as if it stood in the job's paddock, so a kind that a limit keeps out
is never offered for a job there, and the page says why. Nothing here knows a limit by name.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import chain

from browseline import tables
from browseline.chain.kinds import KindRow, kind_row, one_of, shared_diets
from browseline.chain.look import Picture
from browseline.chain.matched import Level, matched
from browseline.farm import names, needs, settings
from browseline.farm.records import Job
from browseline.farm.toml_purpose import BY_HEIGHT
from browseline.figures import Figure, Mark, typed, weakest
from browseline.ledger.account import Account
from browseline.ledger.facts import rounded_up
from browseline.limits import Bite, known
from browseline.limits._jobs import foreseen, met, newest_reading
from browseline.limits._neighbours import bare_trees
from browseline.limits.ground import pig_rule
from browseline.limits.job import foreseen_words
from browseline.record.state import MobState
from browseline.science.stocking import paddocks_needed
from browseline.units import shown
from browseline.words import day_words, joined, linked, list_words, say

MOST = 50.0
"""A kind is offered for brush or grass where that is at least half of what it seeks; the tool's own. [%]"""
ROOTS = ("pig",)
INDENT = "  "
COLUMNS = ("kind", "eats", "harms", "fence", "water", "market", "experience", "mark")
PART = {"brush": 2, "keep_down": 0}
"""Which part of the diet a job asks for: browse, grass."""


@dataclass(frozen=True, slots=True)
class Fit:
    """Whether a kind does a job at all, whether it is fit for it in its paddock, and why."""

    kind: str
    works: bool
    fits: bool
    because: str
    mark: Mark


@dataclass(frozen=True, slots=True)
class JobPart:
    """One job: where, its target, how far it is, when it is foreseen done, what ends it sooner."""

    id: str
    name: str
    kind: str
    paddock: str
    mob: str
    target: str
    done: bool
    reached: str
    sooner: str
    harm: tuple[str, ...]
    locked: tuple[str, ...]
    fits: tuple[Fit, ...]
    figures: tuple[Figure, ...]
    says: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Purposes:
    """Kinds side by side, and the farm's jobs."""

    kinds: tuple[KindRow, ...]
    jobs: tuple[JobPart, ...]


def purposes(picture: Picture) -> Purposes:
    """Return every kind side by side and every job of the farm."""
    kinds = tuple(kind_row(picture, kind) for kind in names.words("kind"))
    return Purposes(kinds, tuple(_job(picture, job) for job in picture.farm.jobs))


def purpose_account(picture: Picture) -> Account:
    """Return stock for the purpose as a page: jobs in sentences, kinds as a table."""
    page = purposes(picture)
    said = list(chain.from_iterable(map(_job_words, page.jobs))) or [say("purpose.no_jobs")]
    said += [say("purpose.share", **words) for words in shared_diets(picture)]
    rows = tuple(tuple(getattr(kind, name) for name in COLUMNS) for kind in page.kinds)
    head = tuple(say(f"purpose.head.{name}") for name in COLUMNS)
    figures = tuple(chain.from_iterable(job.figures for job in page.jobs))
    return Account("browseline/purpose/1", "purpose", tuple(said), figures, head, rows)


def _job_words(job: JobPart) -> Iterator[str]:
    yield say(
        "purpose.job", name=job.name, job=names.label("job", job.kind), paddock=job.paddock, mob=job.mob
    )
    yield joined((INDENT, job.target, " ", job.reached))
    yield from (joined((INDENT, line)) for line in (job.sooner, *job.harm, *job.locked))
    yield from (joined((INDENT, fit.because, f" [{fit.mark}]")) for fit in job.fits if fit.works)
    yield from (joined((INDENT, line)) for line in (*_idle_words(job), *job.says))


def _idle_words(job: JobPart) -> Iterator[str]:
    """Yield which kinds do not do the work at all."""
    idle = [fit for fit in job.fits if not fit.works]
    if idle:
        kinds = list_words(names.label("kind", fit.kind) for fit in idle)
        mark = weakest(fit.mark for fit in idle)
        yield f"{say(f'purpose.unfit.{job.kind}', kind=kinds)} [{mark}]"


# ---------------------------------------------------------------- jobs


def _job(picture: Picture, job: Job) -> JobPart:
    scene = picture.scene
    mob = picture.state.mob(job.mob) if job.mob else None
    done, reached, read = _reached(picture, job)
    if mob is not None and job.target is not None and not done:
        days = foreseen(scene, job, mob).days
        read = (*read, *((days,) if days else ()))
        reached = matched(joined((reached, foreseen_words(scene, job, mob)), " "), (Level.make(read),))
    there = _due(picture, mob, job.paddock) if mob is not None else []
    locked = tuple(_of(b, say("purpose.locked", why=b.because)) for b in there if b.hardness == "hard")
    harm = tuple(_of(b, say("purpose.harm", why=b.because, act=b.do)) for b in there if b.hardness == "soft")
    figures = (*read, *(_cells(picture, job) if job.kind == "turn" else ()))
    paddock = scene.farm.paddock(job.paddock)
    return JobPart(
        job.id, job.name, job.kind, paddock.name if paddock else job.paddock,
        mob.name if mob is not None else say("purpose.no_mob"), _target(picture, job), done, reached,
        say(f"purpose.sooner.{job.kind}", share=_bare()), harm, locked,
        tuple(_fit(picture, job, kind) for kind in names.words("kind")), figures,
        tuple(_says(picture, job, figures)),
    )  # fmt: skip


def target_of(job: Job) -> Figure | None:
    """Return what ends a job, as typed; None where nobody typed it."""
    if job.target is None:
        return None
    unit = "cm" if job.kind in BY_HEIGHT else "1"
    return typed("job_target", job.target.to(unit), unit, job.target.text, about=job.id)


def _due(picture: Picture, mob: MobState, paddock: str) -> list[Bite]:
    """Return what bites a mob in a paddock by now, by whatever limit."""
    found = [bite for limit in known() for bite in limit.bites(picture.scene, mob, paddock)]
    return [bite for bite in found if bite.moment is not None and bite.moment.likely <= picture.now]


def _target(picture: Picture, job: Job) -> str:
    target = target_of(job)
    if target is None:
        return say("purpose.target.none")
    high = job.kind in BY_HEIGHT
    amount = shown(target.value or 0.0, "length", picture.farm.units) if high else target.typed
    return say(f"purpose.target.{job.kind}", target=linked(amount, target))


def _reached(picture: Picture, job: Job) -> tuple[bool, str, tuple[Figure, ...]]:
    """Return whether the newest reading since the job began meets its target, in words, with the reading."""
    found = newest_reading(picture.scene, job)
    if job.target is None or found is None:
        return False, say("purpose.reached.not_read"), ()
    at, value, unit, text = found
    done = met(job, found)
    local = picture.scene.local(at).date()
    figure = typed("job_reading", value, unit, text, about=job.id, as_of=local)
    key = "done" if done else "going"
    return done, say(f"purpose.reached.{key}", reading=linked(text, figure), day=day_words(local)), (figure,)


def _cells(picture: Picture, job: Job) -> tuple[Figure, ...]:
    """Return cells, the area of each and the stays of ground that pigs turn, by days in and days of rest.

    References
    ----------
    psu_four_steps: paddocks = rest / stay + groups
    """
    paddock = picture.farm.paddock(job.paddock)
    stay, rest = (
        typed(key, said.to("d"), "d", said.text, about=job.id)
        if said is not None
        else pig_rule(picture.farm, key).figure(key, job.id)
        for key, said in (("rooting_stay", job.stay), ("rooting_rest", job.rest))
    )
    if paddock is None or not stay.value or rest.value is None:
        return ()
    cells = math.ceil(paddocks_needed(rest.value, stay.value))
    area = paddock.grazed_ha / cells
    out = [
        Figure("job_cells", cells, "paddocks", parts=(stay, rest), about=job.id,
               formula=rounded_up(f"{rest.value:g} ÷ {stay.value:g} + 1")),
        Figure("job_cell_area", area, "ha", parts=(stay, rest), about=job.id,
               formula=f"{paddock.grazed_ha:.4g} ha ÷ {cells}"),
    ]  # fmt: skip
    if job.from_day is not None and job.to_day is not None:
        days = (job.to_day - job.from_day).days
        stays = math.ceil(days / stay.value)
        out.append(
            Figure(
                "job_stays",
                stays,
                "1",
                parts=(stay,),
                about=job.id,
                formula=rounded_up(f"{days} ÷ {stay.value:g}"),
            )
        )
    return tuple(out)


def _says(picture: Picture, job: Job, figures: tuple[Figure, ...]) -> Iterator[str]:
    if job.kind == "brush":
        yield from (say(f"purpose.say.{key}") for key in ("leaf", "years", "netting"))
    if job.kind == "turn":
        yield from _turn_words(picture, {figure.name: figure for figure in figures})
        yield say("purpose.say.early", share=_bare())
        yield from (say(f"purpose.say.{key}") for key in ("fed", "nuts", "alone", "wild"))


def _turn_words(picture: Picture, told: Mapping[str, Figure]) -> Iterator[str]:
    """Yield the cells and stays of ground that pigs turn."""
    if "job_cells" in told:
        stay, rest = (_span(pig_rule(picture.farm, key)) for key in ("rooting_stay", "rooting_rest"))
        area = shown(told["job_cell_area"].value or 0.0, "area", picture.farm.units, 2)
        yield say("purpose.say.cells", cells=_count(told["job_cells"]), stay=stay, rest=rest,
                  area=linked(area, told["job_cell_area"]))  # fmt: skip
        chosen = (settings.chosen(picture.farm, key) for key in ("pig_stay", "pig_rest"))
        yield from (settings.words_of(row) for row in chosen if row is not None)
    if "job_stays" in told:
        yield say("purpose.say.stays", stays=_count(told["job_stays"]))


def _count(figure: Figure) -> str:
    return linked(f"{figure.value:.0f}", figure)


def _bare() -> str:
    """Return the bare share at which pigs move, in percent."""
    row = tables.row("ground", "bare_share", "pig")
    return linked(f"{row.middle():.0f}", row.figure("bare_share", "pig"))


def _span(row: tables.Row) -> str:
    text = f"{row.middle():g}" if row.low is None or row.high is None else f"{row.low:g}-{row.high:g}"
    return linked(text, row.figure(row.key, row.applies_to))


def _of(bite: Bite, text: str) -> str:
    """Return what is said of a bite, its numbers linked to the bite's figures."""
    return matched(text, (Level.make(bite.figures),))


# ---------------------------------------------------------------- which kind


def _fit(picture: Picture, job: Job, kind: str) -> Fit:
    """Return whether a kind is fit: whether it does the work at all, and whether a limit keeps it out."""
    label = names.label("kind", kind)
    works, mark = _works(job, kind)
    if not works:
        return Fit(kind, False, False, say(f"purpose.unfit.{job.kind}", kind=label), mark)
    trees = bare_trees(picture.scene, job.paddock, job.beside) if kind in ROOTS else ()
    if trees:
        told = list_words(dict.fromkeys(p.name for p in trees))
        return Fit(kind, True, False, say("purpose.unfit.roots", kind=label, trees=told), "B")
    one = MobState(f"any {kind}", label, (one_of(kind),), None, None)
    out = [bite for bite in _due(picture, one, job.paddock) if bite.hardness == "hard"]
    if out:
        why = _of(out[0], say("purpose.unfit.limit", kind=label, why=out[0].because))
        return Fit(kind, True, False, why, out[0].mark)
    return Fit(kind, True, True, say("purpose.fit", kind=label), mark)


def _works(job: Job, kind: str) -> tuple[bool, Mark]:
    """Return whether a kind does a job: by what it roots or seeks, and how sure that is."""
    if job.kind == "feed_rows":
        return True, "G"
    if job.kind == "turn":
        return kind in ROOTS, tables.row("ground", "rooting_stay", "pig").figure("x").mark
    diet = needs.diet(kind)
    if diet is None:
        return False, "G"
    part = diet[PART[job.kind]]
    return (part.value or 0.0) >= MOST, part.mark
