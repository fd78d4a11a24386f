"""Designs side by side: folders of farms, or edits on this one that a class writes under ``designs/``.

``designs/NAME.toml`` holds ``name``, ``note``, ``edits`` (as in Try it) and ``thin_year``, from whose end
every other tree of the row is out. ``designs/locks.toml`` holds what is the same in all: ``title``,
``edits``, the ``planting`` that the brief draws, and, where its trees' growth is given, ``stem_per_year``,
``stem_from`` and ``crown_like``.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from browseline.errors import BadInput, finding
from browseline.farm.accounts import Loan, MoneyLine, MoneyPlan
from browseline.farm.read import FARM
from browseline.farm.records import Farm
from browseline.trials.copies import copy_farm
from browseline.trials.edits import apply_all
from browseline.units import NotAQuantity, Quantity, parse

FOLDER, LOCKS, HERE = "designs", "locks", "here"
MOST_DESIGNS = 12
NO_PLACE = "farm.no_place_for"
MOST_YEAR = 2500


@dataclass(frozen=True, slots=True)
class Locks:
    """What is the same in every design.

    ``stem_per_year`` is how much thicker the stems of ``planting`` grow, from year ``stem_from`` on;
    their crowns are those of the species ``crown_like``. None: as the canopy grows them.
    """

    title: str = ""
    edits: tuple[str, ...] = ()
    planting: str | None = None
    stem_per_year: Quantity | None = None
    stem_from: int = 0
    crown_like: str | None = None


@dataclass(frozen=True, slots=True)
class Design:
    """One design: where its copy stands, what it is called, and what makes it another than the farm."""

    id: str
    name: str
    folder: Path
    edits: tuple[str, ...] = ()
    note: str = ""
    thin_year: int | None = None


def design_ids(folder: Path) -> tuple[str, ...]:
    """Return the designs that are written for a farm, in order of their names."""
    found = sorted((folder / FOLDER).glob("*.toml"))
    return tuple(path.stem for path in found if path.stem != LOCKS)[:MOST_DESIGNS]


def locks_of(folder: Path) -> Locks:
    """Return what the farm's designs have in common.

    Raises
    ------
    BadInput
        If the file cannot be read, or holds what is not known.
    """
    path = folder / FOLDER / f"{LOCKS}.toml"
    if not path.is_file():
        return Locks()
    data = _data(path, {"title", "edits", "planting", "stem_per_year", "stem_from", "crown_like"})
    return Locks(
        _text(path, data, "title"), _edits(path, data), _text(path, data, "planting") or None,
        _length(path, data, "stem_per_year"), _whole(path, data, "stem_from") or 0,
        _text(path, data, "crown_like") or None,
    )  # fmt: skip


@contextmanager
def laid_out(
    folder: Path, wanted: Sequence[str], now: datetime, locks: Sequence[str] = ()
) -> Iterator[tuple[Design, ...]]:
    """Give a copy of each design, its edits made, then those that are locked for all; gone afterwards.

    Parameters
    ----------
    folder : Path
        The farm whose ``designs/`` are meant.
    wanted : sequence of str
        Each the path of a farm folder, the id of a design, or *here*: the farm as it is.
    locks : sequence of str
        Edits on every copy, after those of ``designs/locks.toml``.

    Raises
    ------
    BadInput
        If there is no such design, or an edit cannot be made.
    """
    common = (*locks_of(folder).edits, *locks)
    with TemporaryDirectory(prefix="browseline-compare-") as beside:
        made = []
        for number, one in enumerate(wanted):
            design = _design(folder, one)
            copy = copy_farm(design.folder, Path(beside) / f"{number}" / design.folder.resolve().name)
            apply_all(copy, design.edits, now)
            made.append(replace(design, folder=copy))
        _lock(made, common, now)
        yield tuple(made)


def _lock(designs: Sequence[Design], edits: Sequence[str], now: datetime) -> None:
    """Make edits in every design that has a place for them.

    Raises
    ------
    BadInput
        If an edit has a place in none, or a design could not be used with it.
    """
    for edit in edits:
        none = [wrong for design in designs if (wrong := _no_place(design, edit, now)) is not None]
        if len(none) == len(designs):
            raise none[0]


def _no_place(design: Design, edit: str, now: datetime) -> BadInput | None:
    """Make an edit in a design; return what is wrong where it has no place for it."""
    try:
        apply_all(design.folder, (edit,), now)
    except BadInput as wrong:
        if any(found.code != NO_PLACE for found in wrong.findings):
            raise
        return wrong
    return None


def _design(folder: Path, wanted: str) -> Design:
    if wanted == HERE:
        return Design(HERE, _called(folder), folder)
    path = folder / FOLDER / f"{wanted}.toml"
    if wanted in design_ids(folder):
        data = _data(path, {"name", "note", "edits", "thin_year"})
        name = _text(path, data, "name") or wanted
        return Design(
            wanted,
            name,
            folder,
            _edits(path, data),
            _text(path, data, "note"),
            _whole(path, data, "thin_year"),
        )
    there = Path(wanted)
    there = there.parent if there.name == FARM else there
    if (there / FARM).is_file():
        return Design(there.resolve().name, there.resolve().name, there)
    known = ", ".join((HERE, *design_ids(folder)))
    raise BadInput([finding("trials.no_design", wanted, known=known)])


def _called(folder: Path) -> str:
    """Return what a farm calls itself; a file that cannot be read is told of where the farm is looked at."""
    try:
        name = tomllib.loads((folder / FARM).read_text(encoding="utf-8-sig")).get("name")
    except (OSError, tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError):
        name = None
    return name if isinstance(name, str) and name.strip() else folder.resolve().name


# ---------------------------------------------------------------- the files


def _data(path: Path, known: set[str]) -> dict[str, Any]:
    where = f"{FOLDER}/{path.name}"
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as wrong:
        raise BadInput([finding("trials.no_toml", where)]) from wrong
    strange = sorted(set(data) - known)
    if strange:
        raise BadInput([finding("trials.strange", where, key=strange[0], known=", ".join(sorted(known)))])
    return data


def _wrong(path: Path, key: str) -> BadInput:
    return BadInput([finding("trials.sort", f"{FOLDER}/{path.name}", key=key)])


def _text(path: Path, data: dict[str, Any], key: str) -> str:
    found = data.get(key, "")
    if not isinstance(found, str):
        raise _wrong(path, key)
    return found.strip()


def _edits(path: Path, data: dict[str, Any]) -> tuple[str, ...]:
    found = data.get("edits", [])
    if not isinstance(found, list) or not all(isinstance(one, str) for one in found):
        raise _wrong(path, "edits")
    return tuple(found)


def _whole(path: Path, data: dict[str, Any], key: str) -> int | None:
    found = data.get(key)
    if found is not None and (
        not isinstance(found, int) or isinstance(found, bool) or not 0 <= found <= MOST_YEAR
    ):
        raise _wrong(path, key)
    return found


def _length(path: Path, data: dict[str, Any], key: str) -> Quantity | None:
    if key not in data:
        return None
    try:
        return parse(data[key], "length")
    except NotAQuantity as wrong:
        raise _wrong(path, key) from wrong


# ---------------------------------------------------------------- locked assumptions


def locked(farm: Farm, to: Farm) -> Farm:
    """Return a farm under another's assumptions: luck, weather, prices, factors, discount, stocking rule.

    What is a design's own stays: land, trees, stock, swards, loans' amounts, and lines the other has not.
    """
    return replace(
        farm, seed=to.seed, place=to.place, normals=to.normals, daily=to.daily, prices=to.prices,
        carbon=replace(to.carbon, groups=farm.carbon.groups, diets=farm.carbon.diets),
        rules=replace(farm.rules, chosen=to.rules.chosen),
        future=replace(farm.future, stock=to.future.stock, build_up=to.future.build_up,
                       log_rule=to.future.log_rule, form_class=to.future.form_class),
        money=_money(farm.money, to.money),
    )  # fmt: skip


def _money(plan: MoneyPlan | None, to: MoneyPlan | None) -> MoneyPlan | None:
    if plan is None or to is None:
        return plan
    lines, loans = {line.id: line for line in to.lines}, {loan.id: loan for loan in to.loans}
    return replace(
        plan, first_year=to.first_year, years=to.years, discount=to.discount,
        price_range=to.price_range, yield_range=to.yield_range,
        lines=tuple(_line(line, lines.get(line.id)) for line in plan.lines),
        loans=tuple(_loan(loan, loans.get(loan.id)) for loan in plan.loans),
    )  # fmt: skip


def _line(line: MoneyLine, to: MoneyLine | None) -> MoneyLine:
    if to is None:
        return line
    return replace(
        line, price=to.price, less=to.less, market=to.market, price_range=to.price_range,
        yield_range=to.yield_range, price_swing=to.price_swing,
    )  # fmt: skip


def _loan(loan: Loan, to: Loan | None) -> Loan:
    return loan if to is None else replace(loan, rate=to.rate)
