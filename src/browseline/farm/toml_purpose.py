"""Jobs that animals are kept for, and what the keeper knows of each kind, in ``farm.toml``."""

from __future__ import annotations

from browseline.farm import bounds
from browseline.farm.draft import Draft, identify
from browseline.farm.names import words
from browseline.farm.records import Job, Keeper
from browseline.farm.toml_table import Table
from browseline.units import Quantity

BY_HEIGHT = ("keep_down", "feed_rows")
"""Jobs that a height of the grass ends; a share ends the others."""


def read_jobs(draft: Draft, farm: Table) -> None:
    """Read the jobs: what is to be done where, and the target that ends it."""
    for table in farm.tables("jobs"):
        found = identify(draft, table, "jobs")
        kind, paddock = table.word("kind", "job", needed=True), table.text("paddock", needed=True)
        mob, target = table.text("mob"), _target(table, kind)
        first, last = table.day("from"), table.day("to")
        stay, rest = (table.quantity(key, "time", bounds.INTERVAL) for key in ("stay", "rest"))
        beside = table.names("beside")
        table.close()
        if found is not None and kind is not None and paddock is not None:
            draft.jobs.append(Job(*found, kind, paddock, mob, target, first, last, stay, rest, beside))


def _target(table: Table, kind: str | None) -> Quantity | None:
    if kind in BY_HEIGHT:
        return table.quantity("target", "length", bounds.GRASS_HEIGHT)
    return table.quantity("target", "share", bounds.SHARE)


def read_keepers(draft: Draft, farm: Table) -> None:
    """Read what the keeper knows of each kind, and who buys it."""
    for kind, table in farm.named("keeper"):
        experience, market = table.text("experience"), table.text("market")
        table.close()
        if kind not in words("kind"):
            table.told.finding("farm.keeper_kind", table.path, kind=kind, known=", ".join(words("kind")))
            continue
        draft.keepers.append(Keeper(kind, experience or "", market or ""))
