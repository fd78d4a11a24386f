"""d1, then and now: what was foretold in 2026 stays as it was, whatever is measured in 2029."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from xml.etree import ElementTree as Tree

import pytest
from typer.testing import CliRunner

from browseline.chain.decades_earlier import Earlier
from browseline.chain.decades_page import DecadesPage, decades_page
from browseline.cli.group import app
from browseline.events import Event, Issued, TreeMeasured
from browseline.papers.decades_chart import THIN, decades_svg
from browseline.papers.decades_panels import panels_of
from browseline.record.store import Record
from browseline.units import parse
from tests.acceptance.cases import EWE, entry, farm_folder, mob, seen

THEN, NOW = "2026-10-01T06:00-04:00", "2029-10-01 06:00"
YEARS, MEMBERS = 12, 11


def thick(inches: float) -> list[Event]:
    """Return the stems of some oaks, thicker than the book has them."""
    return [
        entry(
            "2029-09-01 10:00",
            "oaks",
            TreeMeasured(tree=f"{n}", dbh=parse(f"{inches + n / 10} in", "length")),
        )
        for n in range(12)
    ]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a farm whose years ahead were kept in 2026."""
    made = farm_folder(
        tmp_path_factory.mktemp("d1") / "farm",
        as_of=date(2026, 1, 1),
        mobs=[mob(EWE | {"intake": "2.6 lb/d"})],
    )
    said = CliRunner().invoke(
        app, ["decades", "--keep", "--years", f"{YEARS}", "--members", f"{MEMBERS}", "--farm", str(made),
              "--now", THEN],
    )  # fmt: skip
    assert said.exit_code == 0, said.output
    return made


def kept(folder: Path) -> str:
    with Record.open(folder) as record:
        found = [e.body.context for e in record.events() if isinstance(e.body, Issued)]
    assert len(found) == 1
    return found[0]


def page(folder: Path, when: str, *events: Event) -> DecadesPage:
    return decades_page(seen(folder, when, events), YEARS, MEMBERS)


def likely(one: DecadesPage | Earlier, key: str) -> tuple[float, ...]:
    bands = {band.key: band.likely for band in one.bands}
    return bands[key]


def test_d01_a_forecast_of_2026_is_unaltered_after_the_data_of_2029(folder: Path) -> None:
    before = kept(folder)
    later = page(folder, NOW, *thick(14.0))
    assert kept(folder) == before
    (old,) = later.earlier
    assert (old.made.year, old.first_year, later.first_year) == (2026, 2026, 2029)
    held = json.loads(before)
    assert [list(band.likely) for band in old.bands] == [band["likely"] for band in held["bands"]]
    # The oaks turned out thicker: what is foretold now is above what was foretold then for the same year.
    then, now = likely(old, "carbon.above"), likely(later, "carbon.above")
    assert now[0] > 1.2 * then[2029 - 2026]
    assert later.measured_to == 2029


def test_d01_the_forecast_of_2026_is_drawn_thin_under_the_one_of_2029(folder: Path) -> None:
    later = page(folder, NOW)
    (old,) = later.earlier
    carbon = next(p for p in panels_of(later) if p.band == "carbon")
    strand = next(s for s in carbon.strands if s.name == later.band("carbon.above").name)  # type: ignore[union-attr]
    ((made, years, values),) = strand.before
    assert (made, years[0], strand.years[0]) == (2026, 2026, 2029)
    assert values == pytest.approx(likely(old, "carbon.above"))
    for narrow in (False, True):
        svg = decades_svg(later, narrow)
        words = "".join(Tree.fromstring(svg).itertext())  # noqa: S314 - made by the program itself
        assert "foretold in 2026" in words
        assert "measured to 2029, book after" in words
        thin = [one for one in Tree.fromstring(svg).iter() if one.get("stroke-width") == f"{THIN}"]  # noqa: S314
        strands = [s for p in panels_of(later) for s in p.strands if s.before]
        paths = [one for one in thin if (one.get("d") or "").count("L") == len(old.years) - 1]
        assert len(paths) == sum(len(s.before) for s in strands)


def test_d01_before_it_was_kept_there_is_nothing_to_draw(folder: Path) -> None:
    assert page(folder, "2026-09-30 06:00").earlier == ()
