"""The plan for a planner's office: what the farm supplied in the order of a review, and blanks for the rest.

Nothing is filled in: what nobody typed or entered is a blank, and is listed on the first page.
"""

from __future__ import annotations

from datetime import date, timedelta

from browseline.chain.look import Picture
from browseline.chain.period import PeriodRow, period
from browseline.chain.season_growth import grown_of
from browseline.events import Looked, Photographed
from browseline.farm.herd_words import class_words
from browseline.farm.records import Paddock
from browseline.figures import typed
from browseline.ledger.account import dated, happened
from browseline.ledger.balance_months import months_balance
from browseline.ledger.facts import counted
from browseline.ledger.hay import hay_store
from browseline.moves.form import Season
from browseline.papers.names import clock_words, place_words
from browseline.papers.planner_form import ORDER, SCHEMA, Draft, PlannerPlan, count_words, section_of
from browseline.papers.planner_land import animals, balance, land, purpose, trees, water
from browseline.papers.season import BeadLine, season_sheet
from browseline.papers.section_form import Section
from browseline.words import day_words, joined, linked, list_words, say

DAY = timedelta(days=1)


def planner_plan(picture: Picture, season: Season | None, first: date, last: date) -> PlannerPlan:
    """Return the plan.

    Parameters
    ----------
    season : Season or None
        The plan of moves in force.
    first, last : date
        The period whose record is shown, its last day not included.
    """
    made = Draft(picture, season, first, last, months_balance(picture.scene, grown_of(picture)))
    parts = (
        purpose, land, animals, balance, water, trees, _schedule, _contingency, _monitoring, _upkeep,
        _records, _signatures,
    )  # fmt: skip
    found = {one.key: one for one in (part(made) for part in parts)}
    lines = tuple(say("planner.blanks.one", what=what) for what in made.blanks)
    told = (say("planner.blanks.how"), *lines) if lines else (say("planner.blanks.none"),)
    found["blanks"] = section_of("blanks", told)
    at = picture.scene.local(picture.now)
    printed = say("planner.printed", day=f"{day_words(at.date())} {at.year}", time=clock_words(at))
    svg, says = _drawing(made)
    return PlannerPlan(
        SCHEMA, picture.farm.name, picture.farm.units, at, printed,
        say("planner.title", farm=picture.farm.name), say("planner.disclaimer"),
        tuple(found[key] for key in ORDER), svg, says, tuple(made.blanks),
    )  # fmt: skip


def _drawing(made: Draft) -> tuple[str, str]:
    """Return the map with north, scale and acres; empty where no shape is on it."""
    if made.layout is None:
        return "", ""
    from browseline.papers.plan import drawing

    drawn = drawing(made.picture.farm, made.layout, sizes=True)
    return drawn.svg, drawn.says


# ---------------------------------------------------------------- moves, what if, looking after


def _schedule(made: Draft) -> Section:
    sheet = season_sheet(made.picture, made.season)
    rows = tuple(
        (string.mob, bead.place, bead.begins, bead.ends, _days(bead), bead.state_words)
        for string in sheet.strings for bead in string.beads
    )  # fmt: skip
    lines = [] if made.season is not None else [say("planner.schedule.no_plan")]
    lines += [say("planner.schedule.promise", days=one.days, what=one.what) for one in sheet.promises]
    return section_of("schedule", tuple(lines), ("mob", "place", "from", "to", "days", "state"), rows)


def _days(bead: BeadLine) -> str:
    """Return the days of a stay, linked to its two ends."""
    if not any(sign.isdigit() for sign in bead.days):
        return bead.days
    formula = f"{bead.begin:%Y-%m-%d %H:%M} → {bead.end:%Y-%m-%d %H:%M}"
    return linked(bead.days, counted("stay_days", (bead.end - bead.begin) / DAY, "d", formula=formula))


def _contingency(made: Draft) -> Section:
    farm = made.picture.farm
    lines = [made.said(what, getattr(farm.review, what)) for what in ("drought", "flood", "who_decides")]
    kept = [place_words(made.picture.scene, p.id) for p in farm.paddocks if p.sacrifice]
    lines.append(say("planner.sacrifice", paddocks=list_words(kept)) if kept else made.line("sacrifice"))
    store = hay_store(made.picture.scene)
    if store is None:
        lines.append(made.line("hay"))
    else:
        bales = linked(f"{store.bales.value:,.0f}", store.bales)
        lines.append(say("planner.hay", bales=bales, day=dated(made.picture.today)))
    return section_of("contingency", tuple(lines))


def _monitoring(made: Draft) -> Section:
    scene = made.picture.scene
    done = happened(made.picture.events, made.picture.now)
    rows = tuple(_watched(made, paddock) for paddock in made.picture.farm.paddocks)
    areas = [place_words(scene, one) for one in made.picture.farm.review.key_areas]
    lines = [made.said("key_areas", list_words(areas) if areas else "")]
    looks = [event for event in done if isinstance(event.body, Looked)]
    if looks:
        day = dated(scene.local(looks[-1].observed.start).date())
        number = count_words("looks", len(looks))
        lines.append(say("planner.looks", count=len(looks), number=number, day=day))
    photos = sum(isinstance(event.body, Photographed) for event in done)
    shot = say("planner.photos", count=photos, number=count_words("photos", photos)) if photos else ""
    lines.append(shot or made.line("photos"))
    return section_of("monitoring", tuple(lines), ("paddock", "height", "day", "who"), rows)


def _watched(made: Draft, paddock: Paddock) -> tuple[str, ...]:
    """Return the last height that somebody read in a paddock, with the day and who read it."""
    scene = made.picture.scene
    name = place_words(scene, paddock.id)
    read = [one for one in made.picture.state.heights if one.paddock == paddock.id]
    if not read:
        return name, made.blank("height", paddock=name), "", ""
    last = max(read, key=lambda one: one.at.start)
    said, day = last.height, scene.local(last.at.start).date()
    height = typed("height", said.to("cm"), "cm", said.text, about=paddock.name, who=last.who, as_of=day)
    return name, linked(said.text, height), dated(day), last.who or say("planner.opening")


def _upkeep(made: Draft) -> Section:
    fence = made.picture.farm.energiser
    if fence.reading is not None:
        reading = typed("energiser", fence.reading.to("kV"), "kV", fence.reading.text)
        day = dated(fence.read_on) if fence.read_on is not None else made.blank("energiser_day")
        lines = [say("planner.energiser", reading=linked(fence.reading.text, reading), day=day)]
    else:
        lines = [made.line("energiser")]
    review = made.picture.farm.review
    lines += [made.said(what, getattr(review, what)) for what in ("fences", "water_lines", "guards")]
    return section_of("upkeep", tuple(lines))


def _records(made: Draft) -> Section:
    """Return every stay of the period as it was written, gaps as gaps."""
    found = period(made.picture, made.first, made.last)
    unread = say("account.period.not_read")
    rows = tuple(
        (
            row.mob, row.paddock, row.came, row.went or say("account.period.no_out"),
            _beasts(row) or say("account.period.no_head"), row.height_in or unread, row.height_out or unread,
        )
        for row in found.rows
    )  # fmt: skip
    columns = ("mob", "place", "in", "out", "heads", "height_in", "height_out")
    return section_of("records", found.sentences, columns, rows)


def _beasts(row: PeriodRow) -> str:
    """Return who went in, said as a farmer says it."""
    heads = ((one, round(one.value)) for one in row.figures if one.unit == "head" and one.value)
    told = ((linked(f"{head:,}", one), class_words(one.about, head)) for one, head in heads)
    return list_words(joined(pair, " ") for pair in told)


def _signatures(made: Draft) -> Section:
    who = (say(f"planner.who.{one}") for one in ("farmer", "owner", "planner"))
    return section_of("signatures", (say("planner.copies"), *(say("planner.signed", who=one) for one in who)))
