"""Ground: soil near field capacity, rain typed ahead, ruts seen; for pigs bare ground, roots and days in."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from browseline import tables
from browseline.farm import settings
from browseline.farm.records import Farm
from browseline.figures import Figure, Mark, typed
from browseline.limits._jobs import done_in_d, jobs_at
from browseline.limits._prices import price_usd
from browseline.limits.form import Bite, Face, Hardness, Late, Limit, Moment, Ready, Scene
from browseline.record.state import GroundLook, MobState
from browseline.tables import Row
from browseline.units import shown
from browseline.words import day_words, say

Array = NDArray[np.float64]
DAY = timedelta(days=1)
PIG = "pig"
QUESTION = {"rooting_stay": "pig_stay", "rooting_rest": "pig_rest"}
FREE, HEAVY = "free draining", "heavy or poorly drained"
HEAVY_GROUPS = ("C", "D")
NOTHING_SEEN = ("", "no", "none", "not")


def heavy(scene: Scene, paddock: str) -> bool:
    """Return whether a paddock's soil counts as heavy or poorly drained, or is not known."""
    found = scene.paddock(paddock)
    soil = scene.farm.soil_of(found) if found is not None else None
    if soil is None or (soil.texture is None and soil.group is None and soil.drainage is None):
        return True
    poor = "poorly" in (soil.drainage or "") or "clay" in (soil.texture or "")
    return poor or (soil.group or "") in HEAVY_GROUPS


def _threshold(scene: Scene, paddock: str) -> Row:
    return tables.row("ground", "wet_deficit", HEAVY if heavy(scene, paddock) else FREE)


def _pigs(mob: MobState) -> bool:
    return any(line.kind == PIG and line.head > 0 for line in mob.lines)


def pig_rule(farm: Farm, which: str) -> Row:
    """Return the row of ``rooting_stay`` or ``rooting_rest``: the reading the farm named, else the woods'."""
    return settings.chosen(farm, QUESTION[which]) or tables.row("ground", which, PIG)


def _named(scene: Scene, which: str, words: str) -> str:
    """Return a sentence with the reading that the farm named behind it."""
    row = settings.chosen(scene.farm, QUESTION[which])
    return words if row is None else f"{words} {settings.words_of(row)}"


def _hardness(scene: Scene, mob: MobState) -> Hardness:
    """Return how firm wet ground is: by the farm's rule; pigs are always kept off it."""
    return "hard" if scene.farm.rules.wet_rule or _pigs(mob) else "soft"


# ---------------------------------------------------------------- wet


def _deficit(scene: Scene, paddock: str) -> Array | None:
    """Return the soil water missing from field capacity today, shape (member,). [mm]"""
    deficit = scene.herbage.deficit_mm
    return None if deficit is None else deficit[:, scene.herbage.index(paddock)]


def wet_share(scene: Scene, paddock: str) -> float:
    """Return the share of members in which the ground is too wet today; 0 if soil water is not known."""
    deficit = _deficit(scene, paddock)
    return 0.0 if deficit is None else float(np.mean(deficit < _threshold(scene, paddock).middle()))


def _rain_ahead(scene: Scene) -> list[tuple[date, date, Figure]]:
    """Return the rain that somebody expects from now on, the first to come first: typed day, until, depth."""
    today = scene.days[0]
    return [
        (max(first, today), until, typed("rain_ahead", depth.to("mm"), "mm", depth.text, as_of=first))
        for first, until, depth in sorted(scene.state.rain_ahead, key=lambda r: r[:2])
        if until > today
    ]


def _wet_days(scene: Scene, paddock: str, begin: datetime) -> Array | None:
    """Return the days from ``begin`` until each member is too wet: now, by typed rain, or never. [d]"""
    deficit = _deficit(scene, paddock)
    if deficit is None:
        return None
    limit = _threshold(scene, paddock).middle()
    out = np.where(deficit < limit, 0.0, np.inf)
    left = deficit.copy()
    for first, _until, depth in _rain_ahead(scene):
        # Nobody knows the hour: it may come from the first midnight on.
        starts = max((scene.midnight(first) + DAY - begin) / DAY, 0.0)
        left = left - (depth.value or 0.0)
        out = np.where(np.isinf(out) & (left < limit), starts, out)
    return out


def _wet(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    begin = max(scene.now, scene.begin(mob, paddock))
    days = _wet_days(scene, paddock, begin)
    rain = _rain_ahead(scene)
    if days is None:
        return [_ask(scene, mob, paddock, rain[0])] if rain else []
    moment = Moment.after(begin, days)
    if moment is None:
        return []
    row, deficit = _threshold(scene, paddock), _deficit(scene, paddock)
    low, middle, high = np.quantile(deficit if deficit is not None else days, (0.1, 0.5, 0.9))
    missing = Figure(
        "deficit", float(middle), "mm", float(low), float(high), parts=(row.figure("wet_deficit", paddock),),
        about=paddock,
    )  # fmt: skip
    key = "wet" if moment.likely <= begin else "rain"
    fields = {
        "deficit": shown(float(middle), "rain", scene.farm.units),
        "limit": shown(row.middle(), "rain", scene.farm.units),
    }
    if key == "rain":
        first, until, depth = rain[0]
        fields |= {"rain": depth.typed, "first": day_words(first), "last": day_words(until)}
    return [
        Bite(
            "ground", mob.id, paddock, moment, _hardness(scene, mob),
            say(f"limits.ground.{key}", **fields),
            say("limits.ground.pig_do" if _pigs(mob) else "limits.ground.wet_do"),
            (missing, row.figure("wet_deficit", paddock), *(r[2] for r in rain[:1] if key == "rain")),
            _late(), moment.likely, say(f"limits.ground.{key}_short"),
        )
    ]  # fmt: skip


def _ask(scene: Scene, mob: MobState, paddock: str, rain: tuple[date, date, Figure]) -> Bite:
    """Return the question of how wet the ground is, where rain is expected and no weather is known."""
    first, until, depth = rain
    because = say("limits.ground.not_known", rain=depth.typed, first=day_words(first), last=day_words(until))
    do = say("limits.ground.not_known_do")
    return Bite("ground", mob.id, paddock, None, "question", because, do, (depth,), reserve=("M",))


def _late() -> tuple[Late, ...]:
    loss = tables.row("ground", "pugging_loss", "any kind")
    told = {"low": f"{loss.low:g}", "high": f"{loss.high:g}"}
    return tuple(Late(n, risk=say("limits.ground.late", **told)) for n in (1, 2, 3))


# ---------------------------------------------------------------- what was seen


def _seen(scene: Scene, mob: MobState, paddock: str) -> GroundLook | None:
    """Return the newest look at the ground since the mob came, or since it would come: none."""
    if mob.place != paddock or mob.since is None:
        return None
    place = scene.ground(paddock)
    found = [g for g in scene.state.ground if g.paddock in place and g.at.end > mob.since.start]
    return max(found, key=lambda g: (g.at.end, g.event), default=None)


def _said(words: str) -> bool:
    return words.casefold().strip() not in NOTHING_SEEN


def _looked(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    """Return the bites of what somebody saw: bare ground over the share, roots showing, ruts."""
    look = _seen(scene, mob, paddock)
    if look is None:
        return []
    out = []
    row = tables.row("ground", "bare_share", PIG)
    hardness: Hardness = "hard" if _pigs(mob) else "soft"
    if look.bare is not None and look.bare.to("%") > row.middle():
        bare = typed("bare", look.bare.to("%"), "%", look.bare.text, about=paddock)
        fields = {"bare": look.bare.text, "most": f"{row.middle():.0f}"}
        out.append(_look_bite(mob, paddock, look, "bare", hardness, (bare, row.figure("bare_share")), fields))
    if _said(look.roots):
        out.append(_look_bite(mob, paddock, look, "roots", hardness, (), {"roots": look.roots}))
    if _said(look.ruts):
        firm = _hardness(scene, mob)
        out.append(_look_bite(mob, paddock, look, "ruts", firm, (), {"ruts": look.ruts}))
    return out


def _look_bite(
    mob: MobState, paddock: str, look: GroundLook, what: str, firm: Hardness, figures: tuple[Figure, ...],
    fields: dict[str, str],
) -> Bite:  # fmt: skip
    marks: tuple[Mark, ...] = ("M",) if not figures else ()
    return Bite(
        "ground", mob.id, paddock, Moment.at(look.at.end), firm, say(f"limits.ground.{what}", **fields),
        say("limits.ground.look_do"), figures, _late(), look.at.end, say(f"limits.ground.{what}_short"),
        reserve=marks,
    )  # fmt: skip


# ---------------------------------------------------------------- pigs


def _rooting(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    """Return the longest stay of pigs, which root: a range, and softer than what is seen."""
    if not _pigs(mob):
        return []
    row = pig_rule(scene.farm, "rooting_stay")
    begin = scene.begin(mob, paddock)
    days = row.middle()
    ends = (row.low or days, days, row.high or days)
    moment = Moment(*(begin + timedelta(days=d) for d in ends))
    share = tables.row("ground", "bare_share", PIG)
    told = {"low": f"{ends[0]:g}", "high": f"{ends[2]:g}", "most": f"{share.middle():.0f}"}
    because = say("limits.ground.rooting", **told)
    if settings.chosen(scene.farm, QUESTION["rooting_stay"]) is not None:
        because = _named(scene, "rooting_stay", say("limits.ground.rooting_named", days=f"{days:g}"))
    return [
        Bite(
            "ground", mob.id, paddock, moment, "soft", because,
            say("limits.ground.rooting_do", **told),
            (row.figure("rooting_stay", mob.id), share.figure("bare_share", mob.id)),
            tuple(Late(n, risk=say("limits.ground.rooting_late", count=n)) for n in (1, 2, 3)),
            moment.likely, say("limits.ground.rooting_short", days=f"{days:g}"),
        )
    ]  # fmt: skip


def _bites(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    return [*_wet(scene, mob, paddock), *_looked(scene, mob, paddock), *_rooting(scene, mob, paddock)]


def _ready(scene: Scene, mob: MobState, paddock: str) -> Ready | None:
    """Return that wet ground waits until it has dried, and when pigs' rest is over."""
    if wet_share(scene, paddock) > 0.5 and _hardness(scene, mob) == "hard":
        return Ready("ground", None, say("limits.ground.waits"))
    rest = _pig_rest_ends(scene, paddock) if _pigs(mob) else None
    if rest is None or rest <= scene.now:
        return None
    row = pig_rule(scene.farm, "rooting_rest")
    words = say("limits.ground.rest", day=day_words(scene.local(rest).date()), days=f"{row.middle():g}")
    words = _named(scene, "rooting_rest", words)
    return Ready("ground", Moment.at(rest), words, (row.figure("rooting_rest"),))


def _pig_rest_ends(scene: Scene, paddock: str) -> datetime | None:
    """Return the end of the rest after the last pigs in a paddock; those still there leave now."""
    pigs = {mob.id for mob in scene.state.mobs if any(line.kind == PIG for line in mob.lines)}
    place = scene.ground(paddock)
    left = [
        stay.end.end if stay.end is not None else scene.now
        for stay in scene.state.stays
        if stay.mob in pigs and not stay.planned and stay.place in place
    ]
    rest = pig_rule(scene.farm, "rooting_rest").middle()
    return max(left) + timedelta(days=rest) if left else None


def _face(scene: Scene) -> Face:
    """Return wet or harmed ground as shut today, also to who stands on it, and what pigs ask.

    That is their stay, their rest, and a day on grass that they would turn though no job of theirs is there.
    How wet later days are is not known to the planner; today's plan is made again tomorrow.
    """
    mobs, paddocks = scene.mobs, scene.paddocks
    closed = np.zeros((len(mobs), len(scene.days), len(paddocks)), bool)
    pigs = np.array([_pigs(mob) for mob in mobs], bool)
    for p, paddock in enumerate(paddocks):
        if wet_share(scene, paddock) > 0.5:
            closed[:, 0, p] = [_hardness(scene, mob) == "hard" for mob in mobs]
        for m, mob in enumerate(mobs):
            closed[m, 0, p] |= any(bite.hardness == "hard" for bite in _looked(scene, mob, paddock))
    if not pigs.any():
        return Face(closed=closed)
    stay, rest = (pig_rule(scene.farm, key).middle() for key in ("rooting_stay", "rooting_rest"))
    price = price_usd(scene.farm, "yard_day")
    return Face(
        closed=closed,
        longest_stay_d=np.where(pigs[:, None], stay, np.inf) * np.ones((1, len(paddocks))),
        over_stay_usd_d=price,
        rest_d=np.where(pigs[:, None] & pigs[None, :], rest, 0.0),
        short_rest_usd_d=price,
        fit_from_d=np.array(
            [[_fit_from_d(scene, p) if pig else 0.0 for p in paddocks] for pig in pigs], float
        ).reshape(len(mobs), len(paddocks)),
        dear_usd_d=_turned_usd_d(scene, price),
    )


def _turned_usd_d(scene: Scene, price: float) -> Array:
    """Return what a day costs where pigs that are kept for a job elsewhere would turn grass.

    Shape (mob, day, paddock). Grass counts where its height was read, that of a job of theirs from the day on
    which it is done or foreseen to be. Pigs without any job are taken to be kept on the land that they go
    round. [USD]

    Parameters
    ----------
    price : float
        Of a day off grass: turned ground feeds nobody until it is sown and grown. [USD]
    """
    grass = np.array([scene.herbage.read[scene.herbage.index(name)] for name in scene.paddocks], bool)
    out = np.zeros((len(scene.mobs), len(scene.days), len(scene.paddocks)))
    for m, mob in enumerate(scene.mobs):
        if _pigs(mob) and any(job.mob == mob.id for job in scene.farm.jobs):
            until = [
                max((done_in_d(scene, job, mob) for job in jobs_at(scene, mob.id, name)), default=0.0)
                for name in scene.paddocks
            ]
            out[m] = price * (grass & (np.arange(len(scene.days))[:, None] >= np.array(until)))
    return out


def _fit_from_d(scene: Scene, paddock: str) -> float:
    ends = _pig_rest_ends(scene, paddock)
    return max((ends - scene.now) / DAY, 0.0) if ends is not None else 0.0


def _rows(kind: str) -> tuple[Row, ...]:
    wet = tuple(tables.row("ground", "wet_deficit", soil) for soil in (FREE, HEAVY))
    own = ("bare_share", "rooting_stay", "rooting_rest") if kind == PIG else ()
    return (
        *wet,
        tables.row("ground", "pugging_loss", "any kind"),
        *(tables.row("ground", k, PIG) for k in own),
    )


LIMIT = Limit("ground", _bites, _face, _ready, _rows)
