"""The carbon pack as the template sets it, as plain text, and as JSON with every number opened."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from browseline.chain.keys import figures_of
from browseline.chain.look import Picture
from browseline.chain.why import Opened, open_figure
from browseline.figures import Figure
from browseline.papers.evidence import evidence
from browseline.papers.evidence_form import Evidence
from browseline.papers.fit import soft
from browseline.papers.section_form import SectionRecord
from browseline.papers.sections import sections_data, sections_text
from browseline.words import language

AsRecord = Callable[[str, Any], Any]
TEMPLATE = "evidence-1"
WIDTHS = {
    "stems": ("auto", "1fr", "auto", "auto", "auto", "auto", "auto", "auto", "auto"),
    "method": ("1.5fr", "2.4fr", "auto", "auto", "1.6fr", "1.8fr", "1.2fr"),
    "sources": ("auto", "1fr"), "wrong": ("1.4fr", "2.2fr", "auto", "auto", "auto"),
    "management": ("auto", "1fr", "auto"),
    "animals": ("auto", "1.6fr", "1.2fr", "auto", "auto", "auto"),
    "photos": ("auto", "auto", "1fr", "1.6fr"),
}  # fmt: skip


def evidence_context(
    picture: Picture, edition: str, as_record: AsRecord | None = None, *, coordinates: bool = False
) -> dict[str, Any]:
    """Return everything that the pack is printed from, now and again later.

    Parameters
    ----------
    edition : str
        Of the tables: the hash over them.
    as_record : callable, optional
        Turns the pack into lists and texts, for its JSON.
    coordinates : bool
        Whether longitudes and latitudes are in it.

    Raises
    ------
    BadInput
        If no stem was measured.
    """
    pack = evidence(picture, edition, coordinates=coordinates)
    context = {
        "schema": pack.schema, "template": TEMPLATE, "made": pack.made.isoformat(),
        "data": evidence_data(pack), "text": evidence_text(pack),
    }  # fmt: skip
    if as_record is not None:
        record = SectionRecord(pack.schema, pack, _opened(picture, pack))
        context["page"] = as_record(pack.schema, record)
    return context


def _opened(picture: Picture, pack: Evidence) -> tuple[Opened, ...]:
    """Return every number of the pack opened; what stands opened already stays closed."""
    told: set[Figure] = set()
    return tuple(open_figure(picture, key, figure, told) for key, figure in figures_of(pack).items())


def evidence_data(pack: Evidence) -> dict[str, Any]:
    """Return what the template sets: words and tables, ready for JSON."""
    return {
        "lang": language.get(), "paper": "us-letter" if pack.units == "acres" else "a4",
        "title": soft(pack.title), "farm": soft(pack.farm), "printed": pack.printed,
        "disclaimer": pack.disclaimer,
        "sections": sections_data(pack.sections, WIDTHS),
        "drawing": pack.drawing, "drawing_says": pack.drawing_says,
    }  # fmt: skip


def evidence_text(pack: Evidence) -> str:
    """Return the pack as plain text, in the order of the paper."""
    return sections_text(pack.title, pack.printed, pack.disclaimer, pack.sections)
