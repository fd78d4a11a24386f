"""Land, animals, forage, water and trees of the plan for a planner's office: as supplied, else blanks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from browseline.chain.season_growth import grown_of
from browseline.farm.herd_words import class_words
from browseline.farm.names import label
from browseline.farm.records import Paddock, Planting, Sward
from browseline.farm.site import LEASE
from browseline.figures import Figure, Origin, typed
from browseline.layout.form import LaidPlanting
from browseline.ledger.account import dated
from browseline.ledger.balance_months import Supply
from browseline.ledger.balance_page import balance_account
from browseline.ledger.facts import area_of_all, counted, whole_area
from browseline.ledger.losses import Survival, survival
from browseline.papers.names import place_words
from browseline.papers.planner_form import OWN, Draft, section_of
from browseline.papers.section_form import Section
from browseline.units import Quantity
from browseline.words import linked, list_words, say

DRAWN = (Origin("derived_here", "the farm's map and rules", "derived"),)


def purpose(made: Draft) -> Section:
    """Return what the land is for, its jobs for stock, and its leases."""
    scene, farm = made.picture.scene, made.picture.farm
    lines = [made.said("purpose", farm.review.purpose), _programme(made)]
    lines += [say("planner.job", job=job.name, place=place_words(scene, job.paddock)) for job in farm.jobs]
    leases = [promise for promise in farm.promises if promise.kind == LEASE]
    for lease in leases:
        places = list_words(place_words(scene, one) for one in lease.paddocks) or say("planner.whole")
        ends = {"first": dated(lease.from_day), "last": dated(lease.last_day)}
        lines.append(say("planner.lease", what=lease.what, places=places, **ends))
    if not leases:
        lines.append(made.line("tenure"))
    return section_of("purpose", tuple(lines))


def _programme(made: Draft) -> str:
    """Return which programme asks and the day of its rules, each as typed or a blank."""
    review = made.picture.farm.review
    if not review.programme:
        return made.line("programme")
    day = review.programme_rules
    told = dated(day) if day is not None else made.blank("programme_rules")
    return say("planner.programme", name=linked(review.programme, OWN), day=told)


def land(made: Draft) -> Section:
    """Return every paddock with its acres, soil, forage, yield and supply."""
    farm = made.picture.farm
    supplies = {one.paddock: one for one in made.balance.supplies}
    rows = tuple(_paddock(made, paddock, supplies.get(paddock.id)) for paddock in farm.paddocks)
    lines = [say("planner.land.whole", area=made.size(area_of_all(farm.paddocks, grazed=False), "area"))]
    if not farm.shapes:
        lines.append(made.line("map"))
    return section_of("land", tuple(lines), ("paddock", "area", "soil", "forage", "yield", "supply"), rows)


def _paddock(made: Draft, paddock: Paddock, supply: Supply | None) -> tuple[str, ...]:
    farm = made.picture.farm
    name = place_words(made.picture.scene, paddock.id)
    soil = next((one for one in farm.soils if one.id == paddock.soil), None)
    words = [word for word in (soil.texture, soil.drainage) if word] if soil is not None else []
    sward = farm.sward_of(paddock)
    given = supply.of if supply is not None else None
    return (
        name,
        made.size(whole_area(paddock), "area"),
        ", ".join(words) or made.blank("soil", paddock=name),
        label("sward", sward.kind) if sward is not None else made.blank("forage", paddock=name),
        _yearly(made, sward, given, name),
        made.size(given, "mass", 0) if given is not None else say("planner.outside"),
    )


def _yearly(made: Draft, sward: Sward | None, given: Figure | None, name: str) -> str:
    """Return the yearly yield as typed, that the weather makes it, or a blank."""
    if sward is not None and sward.yearly_yield is not None:
        said = sward.yearly_yield
        return linked(said.text, typed("yearly_yield", said.to("kg/ha"), "kg/ha", said.text, about=sward.id))
    return say("planner.by_weather") if given is not None else made.blank("yield", paddock=name)


def animals(made: Draft) -> Section:
    """Return the animals here now, and what each class needs over the season."""
    rows = []
    for one in made.balance.eaters:
        klass = class_words(one.klass, 2)
        need = made.size(one.need, "mass", 0) if one.need is not None else made.blank("intake", animals=klass)
        days = linked(f"{one.head_days.value:,.0f}", one.head_days)
        rows.append((label("kind", one.kind), klass, days, need))
    standing = [line for mob in made.picture.scene.mobs for line in mob.lines if line.head]
    heads = tuple(
        say("planner.animals.now", klass=class_words(line.klass, line.head),
            head=linked(f"{line.head:,}", counted("head_now", line.head, "head", about=line.klass)))
        for line in standing
    )  # fmt: skip
    lines = heads or (made.line("animals"),)
    return section_of("animals", lines, ("kind", "class", "head_days", "need"), tuple(rows))


def balance(made: Draft) -> Section:
    """Return the balance of forage and animals, in words and by month."""
    page = balance_account(made.picture.scene, grown_of(made.picture))
    lines = tuple(page.sentences)
    return Section("balance", say("planner.balance"), lines, page.head if page.rows else (), page.rows)


def water(made: Draft) -> Section:
    """Return where water is, and blanks for its store, its flow and how sure it is."""
    rows = tuple(_water(made, paddock) for paddock in made.picture.farm.paddocks)
    return section_of("water", (), ("paddock", "water", "store", "flow", "reliable"), rows)


def _water(made: Draft, paddock: Paddock) -> tuple[str, ...]:
    name, said = place_words(made.picture.scene, paddock.id), paddock.trough
    known = paddock.water != "unknown"
    store = linked(said.text, typed("trough", said.to("L"), "L", said.text, about=name)) if said else ""
    return (
        name, label("water", paddock.water) if known else made.blank("water", paddock=name),
        store or made.blank("trough"), made.blank("flow"), made.blank("reliable"),
    )  # fmt: skip


# ---------------------------------------------------------------- trees


def trees(made: Draft) -> Section:
    """Return every planting, planned ones too: species, year, trees, spacing, guard."""
    farm = made.picture.farm
    alive = {one.planting: one for one in survival(made.picture.scene)}
    every = {planting.id: planting for planting in (*farm.planned, *farm.plantings)}
    rows = tuple(_planting(made, one, alive.get(one.id)) for one in every.values())
    lines = tuple(_thinning(made, tuple(every.values()))) if rows else (say("planner.trees.none"),)
    columns = ("planting", "species", "planted", "trees", "spacing", "guard")
    return section_of("trees", lines, columns, rows)


def _thinning(made: Draft, every: Sequence[Planting]) -> Iterator[str]:
    """Yield what triggers thinning by planting, as typed; one blank where nothing is typed at all."""
    review = made.picture.farm.review
    if not any(review.trigger(one.id) for one in every):
        yield made.line("thinning")
        return
    for one in every:
        trigger = review.trigger(one.id)
        if not trigger:
            yield made.line("thinning_of", planting=one.name)
            continue
        yield say("planner.thinning", planting=one.name, trigger=linked(trigger, OWN))


def _planting(made: Draft, planting: Planting, found: Survival | None) -> tuple[str, ...]:
    name, said = planting.name, planting.planted
    year: str
    if said is None:
        year = made.blank("planted", planting=name)
    else:
        year = linked(f"{said}", typed("planted_year", said, "yr", f"{said}", about=name))
    guard = label("guard", planting.guard) if planting.guard else made.blank("guard", planting=name)
    return (
        name, label("species", planting.species), year, _alive(made, planting, found), _apart(made, planting),
        guard,
    )  # fmt: skip


def _apart(made: Draft, planting: Planting) -> str:
    """Return how far apart trees and rows are: as typed, else as the rows lie on the map."""
    laid = _laid(made, planting)
    step, alleys = (laid.in_row_m, laid.alley_m) if laid is not None else (None, None)
    row = _far(made, planting, "tree_spacing", planting.spacing, step)
    alley = _far(made, planting, "tree_alley", planting.alley, alleys[1] if alleys is not None else None)
    return (
        say("planner.apart", row=row, alley=alley)
        if row and alley
        else made.blank("spacing", planting=planting.name)
    )


def _far(made: Draft, planting: Planting, name: str, said: Quantity | None, lies_m: float | None) -> str:
    if said is not None:
        return linked(said.text, typed(name, said.to("cm"), "cm", said.text, about=planting.name))
    if lies_m is None:
        return ""
    return made.size(Figure(name, lies_m, "m", origins=DRAWN, about=planting.name), "distance")


def _laid(made: Draft, planting: Planting) -> LaidPlanting | None:
    """Return a planting as its rows lie on the map; None where none do."""
    rows = made.layout.plantings if made.layout is not None else ()
    return next((one for one in rows if one.id == planting.id), None)


def _alive(made: Draft, planting: Planting, found: Survival | None) -> str:
    """Return the trees alive; of planned rows the number typed, else their places on the map, or a blank."""
    figure = found.alive_figure if found is not None else None
    if figure is not None:
        return linked(f"{figure.value:,.0f}", figure)
    if planting.trees is not None:
        own = typed("trees_planned", planting.trees, "trees", f"{planting.trees}", about=planting.name)
        return linked(f"{planting.trees:,}", own)
    laid = _laid(made, planting)
    if laid is None or not laid.places:
        return made.blank("trees", planting=planting.name)
    places = Figure("tree_places", laid.places, "trees", origins=DRAWN, about=planting.name)
    return say("planner.places", places=linked(f"{laid.places:,}", places))
