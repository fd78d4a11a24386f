"""The study of the sward: how a trial is read, how months become days, and that its page says its figures."""

import csv
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from browseline.science import forage
from browseline.sward.constants import COOL, group
from scripts import sward_forms as forms
from scripts import sward_series as field
from scripts import validate_sward

DOCS = Path(validate_sward.OUT).parent


def trial(days: int = 200) -> forms.Driven:
    """Return an even year that a trial of eight weeks was read from."""
    even = np.full(days, 10.0)
    sky = field.Sky(50.0, date(2001, 1, 1), even, even, even * 0, even * 0)
    day = np.arange(100, 156, 7)
    series = field.Series("here", 2001, "a", True, day, np.full(len(day), 50.0), sky)
    return forms.drive([series], field.Water(100.0, 0.4, 0.95, 0.6))[0]


def test_on_even_days_a_weekly_figure_is_a_twenty_eighth_of_a_cut() -> None:
    one = trial()
    grown = (np.full((200, 1), 120.0), np.zeros(200))
    figures = forms.cut_figures(one, 0.5, grown)
    # four weeks from 1500 kg/ha, day by day: NI x potential x shape
    mass = 1500.0
    for _ in range(28):
        mass += 0.5 * 120 * float(forage.shape(mass, group(COOL), 250.0))
    assert figures == pytest.approx(np.full(8, (mass - 1500) / 28), rel=1e-9)


def test_the_one_fertility_of_a_site_is_found_again() -> None:
    one = trial()
    grown = (np.full((200, 1), 120.0), np.zeros(200))
    seen = forms.cut_figures(one, 0.63, grown)
    again = replace(one, series=replace(one.series, growth=seen))
    assert forms.fit_site([again], [grown]).ni == pytest.approx(0.63, abs=1e-3)


def test_days_drawn_through_months_keep_each_month() -> None:
    means = np.array([2.0, 3, 6, 9, 13, 16, 18, 17, 14, 10, 5, 3])
    starts = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    days = field._through_months(means, starts)
    kept = np.add.reduceat(days, starts[:-1]) / np.diff(starts)
    assert kept == pytest.approx(means, abs=0.05)


@pytest.mark.parametrize(
    ("study", "form", "measure"),
    [
        ("trials", "as written", "weekly RMSE"), ("trials", "book", "weekly RMSE"),
        ("counties", "as written", "weekly RMSE"), ("counties", "book", "weekly RMSE"),
        ("trials", "refitted", "weekly RMSE left out"),
        ("trials", "refitted, late and winter", "weekly RMSE left out"),
    ],
)  # fmt: skip
def test_the_page_says_what_was_computed(study: str, form: str, measure: str) -> None:
    lines = csv.DictReader((DOCS / "sward_figures.csv").read_text("utf-8").splitlines())
    figure = {(x["study"], x["form"], x["measure"]): float(x["value"]) for x in lines}[study, form, measure]
    page = (DOCS / "sward_against_the_field.md").read_text("utf-8")
    assert f" {figure + 1e-9:.1f} " in page
