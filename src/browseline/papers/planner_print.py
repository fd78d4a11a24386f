"""The plan for a planner's office as the template sets it, as plain text, and as JSON with numbers opened."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from browseline.chain.keys import figures_of
from browseline.chain.look import Picture
from browseline.chain.why import open_figure
from browseline.figures import Figure
from browseline.moves.form import Season
from browseline.papers.fit import soft
from browseline.papers.planner import planner_plan
from browseline.papers.planner_form import PlannerPlan
from browseline.papers.section_form import SectionRecord
from browseline.papers.sections import sections_data, sections_text
from browseline.words import language

AsRecord = Callable[[str, Any], Any]
TEMPLATE = "planner-1"
WIDTHS = {
    "land": ("1.1fr", "auto", "1.3fr", "1.3fr", "1.2fr", "auto"), "animals": ("1fr", "2fr", "auto", "auto"),
    "water": ("1fr", "1.2fr", "1fr", "1fr", "1fr"),
    "trees": ("1.2fr", "1.2fr", "auto", "auto", "1.4fr", "1.2fr"),
    "schedule": ("1fr", "1fr", "auto", "auto", "auto", "auto"), "monitoring": ("1.2fr", "1fr", "1fr", "1fr"),
    "records": ("1fr", "1fr", "1.3fr", "1.3fr", "1.4fr", "auto", "auto"),
}  # fmt: skip


def planner_context(
    picture: Picture, season: Season | None, span: tuple[date, date] | None, as_record: AsRecord | None = None
) -> dict[str, Any]:
    """Return everything that the plan is printed from, now and again later.

    Parameters
    ----------
    span : (first, last), optional
        The period whose record is shown, its last day not included; by default this year up to today.
    as_record : callable, optional
        Turns the plan with every number opened into lists and texts, for its JSON.
    """
    plan = planner_of(picture, season, span)
    context = {
        "schema": plan.schema, "template": TEMPLATE, "made": plan.made.isoformat(),
        "data": planner_data(plan), "text": planner_text(plan),
    }  # fmt: skip
    if as_record is not None:
        told: set[Figure] = set()
        opened = tuple(open_figure(picture, key, figure, told) for key, figure in figures_of(plan).items())
        context["page"] = as_record(plan.schema, SectionRecord(plan.schema, plan, opened))
    return context


def planner_of(picture: Picture, season: Season | None, span: tuple[date, date] | None = None) -> PlannerPlan:
    """Return the plan, with the record of a period or of this year up to today."""
    first, last = span or (date(picture.today.year, 1, 1), picture.today + timedelta(days=1))
    return planner_plan(picture, season, first, last)


def planner_data(plan: PlannerPlan) -> dict[str, Any]:
    """Return what the template sets: words and tables, ready for JSON."""
    return {
        "lang": language.get(), "paper": "us-letter" if plan.units == "acres" else "a4",
        "title": soft(plan.title), "printed": plan.printed, "disclaimer": plan.disclaimer,
        "sections": sections_data(plan.sections, WIDTHS),
        "drawing": plan.drawing, "drawing_says": plan.drawing_says,
    }  # fmt: skip


def planner_text(plan: PlannerPlan) -> str:
    """Return the plan as plain text, in the order of the paper."""
    return sections_text(plan.title, plan.printed, plan.disclaimer, plan.sections)
