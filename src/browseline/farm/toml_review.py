"""Answers for a planner's office: ``[review]`` of ``farm.toml``."""

from __future__ import annotations

from browseline.farm.draft import Draft
from browseline.farm.review import WORDS, Review
from browseline.farm.toml_table import Table


def read_review(draft: Draft, table: Table | None) -> Review:
    """Return what the farm answers; every word of it may be left out."""
    if table is None:
        return Review()
    said = {name: table.text(name) or "" for name in WORDS}
    made = Review(
        **said, programme_rules=table.day("programme_rules"), key_areas=table.names("key_areas"),
        thinning=_thinning(draft, table.table("thinning")),
    )  # fmt: skip
    table.close()
    return made


def _thinning(draft: Draft, table: Table | None) -> tuple[tuple[str, str], ...]:
    """Return what triggers the thinning of each planting that is named."""
    if table is None:
        return ()
    found = [(planting.id, table.text(planting.id)) for planting in draft.plantings]
    table.close()
    return tuple((planting, trigger) for planting, trigger in found if trigger is not None)
