"""Score the sward against measured growth and write docs/science/sward_figures.csv.

    python -m scripts.validate_sward [REFERENCE] [--quick]

REFERENCE is the folder of the reference shelf: the argument, else the environment variable
BROWSELINE_REFERENCE, else ../shared/reference beside the repository. Only figures are written;
nothing measured is copied. --quick leaves out what is fitted (about five minutes on two cores).
"""

from __future__ import annotations

import argparse
import csv
import os
from collections.abc import Callable, Iterator, Sequence
from datetime import timedelta
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from browseline.science import forage
from scripts import sward_forms as forms
from scripts import sward_series as field
from scripts.sward_forms import Driven, Fit
from scripts.sward_series import Array

ROOT = Path(__file__).resolve().parent.parent
OUT = ROOT / "docs" / "science" / "sward_figures.csv"
FIRST_T1_C = 10.0  # jouven2006a, as restated; the tables carry the fitted one
READING_SD = 40.0  # kg/ha/d of one weekly figure, forage.md 1.2.2
Grown = tuple[Array, Array]


class Figure(NamedTuple):
    """One line of the figures."""

    study: str
    form: str
    measure: str
    value: float
    unit: str


class Run(NamedTuple):
    """A form run on series: drivers, potentials and the fit of each site."""

    driven: list[Driven]
    grown: list[Grown]
    fits: dict[str, Fit]
    grazed: bool

    def of(self, site: str) -> tuple[list[Driven], list[Grown]]:
        """Return drivers and potentials of one site."""
        own = [i for i, d in enumerate(self.driven) if d.series.site == site]
        return [self.driven[i] for i in own], [self.grown[i] for i in own]

    def errors(self) -> Iterator[tuple[Driven, Array]]:
        """Yield each series with modelled less measured, by the NI of its site."""
        for site, fit in self.fits.items():
            for d, figures in zip(self.of(site)[0], fit.figures, strict=True):
                yield d, figures - d.series.growth


def run(driven: list[Driven], grow: Callable[[Driven], Grown], grazed: bool = False) -> Run:
    """Run a form and fit one NI a site."""
    made = Run(driven, [grow(d) for d in driven], {}, grazed)
    for site in sorted({d.series.site for d in driven}):
        made.fits[site] = forms.fit_site(*made.of(site), grazed)
    return made


def rms(parts: Sequence[Array]) -> float:
    """Return the root of the mean square over all parts."""
    return float(np.sqrt(np.mean(np.concatenate(parts) ** 2)))


def month_of(driven: Driven) -> Array:
    """Return the month of the middle of each week."""
    first = driven.series.sky.first
    return np.array([(first + timedelta(int(d) - 4)).month for d in driven.series.day])


def total_t(weeks: Array) -> float:
    """Return the yield of weekly figures. [t/ha]"""
    return float(np.sum(weeks)) * 7 / 1000


def mean_curve(driven: list[Driven], at: int, own_site: bool) -> tuple[NDArray[np.bool_], Array]:
    """Return weeks with a mean curve, and its error: the site's other years, or other sites scaled to it."""
    one = driven[at].series
    peers = [
        p.series for p in driven
        if (p.series.site == one.site) == own_site and p.series.irrigated == one.irrigated
        and (not own_site or p.series.year != one.year)
    ]  # fmt: skip
    every = np.array([np.interp(one.day, p.day, p.growth, left=np.nan, right=np.nan) for p in peers])
    known = np.any(~np.isnan(every), axis=0) if peers else np.zeros(len(one.day), bool)
    if not np.any(known):
        return known, np.zeros(0)
    curve = np.nanmean(every[:, known], axis=0)
    scale = 1.0 if own_site else float(curve @ one.growth[known]) / float(curve @ curve)
    return known, scale * curve - one.growth[known]


def plain_scores(study: str, form: str, made: Run) -> Iterator[Figure]:
    """Yield RMSE, bias by month, totals and NI of a run."""
    parts = list(made.errors())
    yield Figure(study, form, "weekly RMSE", rms([e for _, e in parts]), "kg/ha/d")
    errors, months = np.concatenate([e for _, e in parts]), np.concatenate([month_of(d) for d, _ in parts])
    for month in range(3, 12):
        if np.any(months == month):
            yield Figure(
                study, form, f"bias, month {month}", float(np.mean(errors[months == month])), "kg/ha/d"
            )
    totals = np.array([total_t(e) for _, e in parts])
    yield Figure(study, form, "yearly total RMSE", rms([totals]), "t/ha")
    for year in sorted({d.series.year for d, _ in parts}):
        of_year = np.concatenate([e for d, e in parts if d.series.year == year])
        yield Figure(study, form, f"bias, year {year}", float(np.mean(of_year)), "kg/ha/d")
    ni = [fit.ni for fit in made.fits.values()]
    yield Figure(study, form, "NI, lowest site", min(ni), "1")
    yield Figure(study, form, "NI, highest site", max(ni), "1")
    for site, fit in made.fits.items():
        own = [f - d.series.growth for f, d in zip(fit.figures, made.of(site)[0], strict=True)]
        yield Figure(study, form, f"weekly RMSE, {site}", rms(own), "kg/ha/d")


def skill(study: str, form: str, made: Run) -> Iterator[Figure]:
    """Yield the share of the mean curve's squared error that the model takes away, on the same weeks."""
    model = {id(d): error for d, error in made.errors()}
    for name, own in (("own other years", True), ("other sites, scaled", False))[: 1 if made.grazed else 2]:
        curves = [mean_curve(made.driven, i, own) for i in range(len(made.driven))]
        peer = rms([error for _, error in curves])
        ours = rms([model[id(d)][known] for d, (known, _) in zip(made.driven, curves, strict=True)])
        yield Figure(study, form, f"RMSE of the mean curve, {name}", peer, "kg/ha/d")
        yield Figure(study, form, f"skill against the mean curve, {name}", 1 - (ours / peer) ** 2, "1")


def water_ratio(study: str, form: str, made: Run) -> Iterator[Figure]:
    """Yield rainfed over irrigated yield of the same weeks, measured and modelled."""
    yields: dict[tuple[str, int], dict[bool, tuple[Array, Array, Array]]] = {}  # day, measured, modelled
    for d, error in made.errors():
        if d.series.name.startswith("a"):
            pair = yields.setdefault((d.series.site, d.series.year), {})
            pair[d.series.irrigated] = (d.series.day.astype(float), d.series.growth, d.series.growth + error)
    seen, modelled = [], []
    for pair in (p for p in yields.values() if len(p) == 2):
        common = np.intersect1d(pair[True][0], pair[False][0])
        sums = [[np.sum(pair[w][k][np.isin(pair[w][0], common)]) for w in (False, True)] for k in (1, 2)]
        seen.append(sums[0][0] / sums[0][1])
        modelled.append(sums[1][0] / sums[1][1])
    gap = np.array(modelled) - np.array(seen)
    yield Figure(study, form, "rainfed over irrigated, measured", float(np.mean(seen)), "1")
    yield Figure(study, form, "rainfed over irrigated, modelled", float(np.mean(modelled)), "1")
    yield Figure(study, form, "rainfed over irrigated, RMSE", rms([gap]), "1")


def early_scores(study: str, form: str, made: Run) -> Iterator[Figure]:
    """Yield scores with NI from the other sites, and from six first readings with and without that prior."""
    model = forms.grazed_figures if made.grazed else forms.cut_figures
    ways: dict[str, list[Array]] = {
        "NI of the other sites": [],
        "six readings and prior": [],
        "six readings": [],
    }
    for site in made.fits:
        others = np.array([f.ni for s, f in made.fits.items() if s != site])
        prior = (float(np.mean(others)), float(np.std(others, ddof=1)))
        for d, g in zip(*made.of(site), strict=True):
            seen = d.series.growth
            sd = np.full(6, READING_SD)
            gains = lambda ni, d=d, g=g: model(d, ni, g)[:6]  # noqa: E731
            taught = forage.fit_fertility(gains, seen[:6], sd, prior)[0]
            alone = forage.fit_fertility(gains, seen[:6], sd, (prior[0], 1e3))[0]
            ways["NI of the other sites"].append(model(d, prior[0], g) - seen)
            ways["six readings and prior"].append((model(d, taught, g) - seen)[6:])
            ways["six readings"].append((model(d, alone, g) - seen)[6:])
    for way, parts in ways.items():
        yield Figure(study, form, f"weekly RMSE, {way}", rms(parts), "kg/ha/d")
        yield Figure(study, form, f"total RMSE, {way}", rms([np.array([total_t(p) for p in parts])]), "t/ha")


def left_out(study: str, driven: list[Driven], form: str, free: Sequence[str]) -> Iterator[Figure]:
    """Yield scores of each site, or each grazed year, by a curve fitted on all the others."""
    grazed = study != "trials"
    book = forms.book_curve("grazed closer" if grazed else "rested 28 d or more")
    start = book._replace(late=0.1 if "late" in free else 0.0, winter=0.01 if "winter" in free else 0.0)

    def fold(d: Driven) -> str:
        return str(d.series.year) if grazed else d.series.site

    parts, curves = [], []
    for out in sorted({fold(d) for d in driven}):
        curve = forms.fit_curve([d for d in driven if fold(d) != out], free, start, grazed)
        made = run([d for d in driven if fold(d) == out], by_curve(curve), grazed)
        own = [e for _, e in made.errors()]
        curves.append(curve)
        parts += own
        yield Figure(study, form, f"weekly RMSE left out, {out}", rms(own), "kg/ha/d")
    yield Figure(study, form, "weekly RMSE left out", rms(parts), "kg/ha/d")
    yield Figure(
        study, form, "yearly total RMSE left out", rms([np.array([total_t(p) for p in parts])]), "t/ha"
    )
    for name in free:
        values = [getattr(curve, name) for curve in curves]
        yield Figure(study, form, f"{name}, lowest left out", min(values), "")
        yield Figure(study, form, f"{name}, highest left out", max(values), "")


def by_curve(curve: forms.Curve) -> Callable[[Driven], Grown]:
    """Return how a yearly curve grows a series."""
    return lambda d: forms.potential(d, forms.year_factor(d, curve), curve.t1_c)


def as_written(driven: Driven) -> Grown:
    """Grow a series by the season factor as first written."""
    return forms.potential(driven, forms.first_factor(driven), FIRST_T1_C)


def trial_figures(folder: Path, quick: bool) -> Iterator[Figure]:
    """Yield all figures of the cut trials."""
    series, study, store = field.trials(folder), "trials", forms.stores()
    old, new = forms.drive(series, store["as written"]), forms.drive(series, store["recommended"])
    book = forms.book_curve("rested 28 d or more")
    runs = {
        "as written": run(old, as_written),
        "as written, deeper store": run(new, as_written),
        "book": run(new, by_curve(book)),
        "book, grazed flush": run(new, by_curve(forms.book_curve("grazed closer"))),
        "tried: late 0.11, winter 0.017": run(new, by_curve(book._replace(late=0.11, winter=0.017))),
    }
    for form, made in runs.items():
        yield from plain_scores(study, form, made)
        for more in (skill, water_ratio, early_scores):
            yield from more(study, form, made)
    if quick:
        return
    knots = ("begins_c_d", "full_c_d", "ends_c_d", "t1_c")
    for form, free in {
        "refitted": knots,
        "refitted, flush free": (*knots, "flush"),
        "refitted, late": (*knots, "late"),
        "refitted, winter": (*knots, "winter"),
        "refitted, late and winter": (*knots, "late", "winter"),
        "only late and winter fitted": ("late", "winter"),
    }.items():
        yield from left_out(study, new, form, free)


def grazed_figures(folder: Path, quick: bool) -> Iterator[Figure]:
    """Yield all figures of the grazed counties and of Ireland."""
    store = forms.stores()
    grazed = forms.book_curve("grazed closer")
    tried = {
        "book": grazed,
        "book, no flush": grazed._replace(flush=1.0),
        "book, flush 3": grazed._replace(flush=3.0),
        "tried: T1 11 and no flush": grazed._replace(flush=1.0, t1_c=11.0),
        "tried: late 0.11": grazed._replace(late=0.11),
    }
    for study, series in (("counties", field.counties(folder)), ("ireland", field.ireland(folder))):
        old, new = forms.drive(series, store["as written"]), forms.drive(series, store["recommended"])
        runs = {"as written": run(old, as_written, grazed=True)}
        runs |= {form: run(new, by_curve(curve), grazed=True) for form, curve in tried.items()}
        for form, made in runs.items():
            yield from plain_scores(study, form, made)
            if study == "counties":
                yield from early_scores(study, form, made)
                yield from skill(study, form, made)
        if study == "counties" and not quick:
            yield from left_out(study, new, "refitted, flush", ("flush",))
            yield from left_out(study, new, "refitted, flush and T1", ("flush", "t1_c"))


def replicates(folder: Path) -> Iterator[Figure]:
    """Yield how far two series of one site, year and water lie apart: the floor under any model."""
    twins: dict[tuple[str, int], list[field.Series]] = {}
    for one in field.trials(folder):
        if not one.irrigated:
            twins.setdefault((one.site, one.year), []).append(one)
    pairs = [pair for pair in twins.values() if len(pair) == 2]
    gaps = [(a.growth - b.growth) / np.sqrt(2) for a, b in pairs]
    yield Figure("trials", "measured twice", "weekly RMSE of one series", rms(gaps), "kg/ha/d")
    totals = np.array([total_t(gap) for gap in gaps])
    yield Figure("trials", "measured twice", "yearly total RMSE of one series", rms([totals]), "t/ha")
    yield Figure("trials", "measured twice", "pairs", float(len(pairs)), "1")


def main() -> None:
    """Read where the series are, score, write the figures."""
    parser = argparse.ArgumentParser(description="Score the sward against measured growth.")
    beside = os.environ.get("BROWSELINE_REFERENCE") or ROOT.parent / "shared" / "reference"
    parser.add_argument("reference", nargs="?", type=Path, default=Path(beside))
    parser.add_argument("--quick", action="store_true", help="leave out what is fitted")
    given = parser.parse_args()
    folder = given.reference / "forage" / "series"
    OUT.parent.mkdir(parents=True, exist_ok=True)
    with OUT.open("w", encoding="utf-8", newline="") as file:
        lines = csv.writer(file, lineterminator="\n")
        lines.writerow(Figure._fields)
        for source in (
            trial_figures(folder, given.quick),
            replicates(folder),
            grazed_figures(folder, given.quick),
        ):
            for figure in source:
                lines.writerow((*figure[:3], f"{figure.value:.4g}", figure.unit))
                file.flush()


if __name__ == "__main__":
    main()
