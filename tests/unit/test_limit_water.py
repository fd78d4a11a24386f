"""Water by the day's heat: a trailer for cattle, by the two temperatures that the source prints."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from browseline.farm.records import DailyRecords
from browseline.limits import Bite, bites
from browseline.record.state import HeadLine
from browseline.units import parse
from tests.small_farm import NOW, days_after, ewes, farm, scene, state

COWS = HeadLine("cattle", "beef cow lactating", 20)


def trailer(tmax_c: float | None, gallons: str = "1500 gal", line: HeadLine = COWS) -> Bite:
    """Return the water bite of a trailer on a day of such a highest temperature, weather known or not."""
    daily = None
    if tmax_c is not None:
        days = tuple(NOW.date() - timedelta(days=n) for n in (2, 1, 0))
        daily = DailyRecords(days, (tmax_c,) * 3, (tmax_c - 10,) * 3, (0.0,) * 3)
    small = replace(farm(weather=tmax_c is not None), daily=daily)
    first, *others = small.paddocks
    small = replace(
        small, paddocks=(replace(first, water="trailer", trough=parse(gallons, "volume")), *others)
    )
    seen = scene(small, state(small, mob=replace(ewes(), lines=(line,))))
    return next(b for b in bites(seen, "ewes", "1") if b.limit == "water")


def lasts_d(bite: Bite) -> float:
    assert bite.moment is not None
    return days_after(NOW, bite.moment.likely)


@pytest.mark.parametrize(("tmax_c", "each_l"), [(4.4, 43.2), (26.7, 73.8), (40.0, 73.8), (15.55, 58.5)])
def test_the_days_heat_decides_how_long_it_lasts(tmax_c: float, each_l: float) -> None:
    """ksu_watering: 43.2 L at 40 F; at 80 F the dry cow's 73.8 L (K09); between, a straight line."""
    assert lasts_d(trailer(tmax_c)) == pytest.approx(1500 * 3.785412 / 20 / each_l, rel=1e-3)


def test_hotter_never_lasts_longer() -> None:
    found = [lasts_d(trailer(tmax)) for tmax in (-5.0, 5.0, 15.0, 25.0, 35.0)]
    assert found == sorted(found, reverse=True)


def test_without_weather_the_middle_of_cool_and_hot_is_told() -> None:
    assert lasts_d(trailer(None)) == pytest.approx(1500 * 3.785412 / 20 / ((43.2 + 73.8) / 2), rel=1e-3)


def test_what_lasts_no_two_days_is_filled_every_day() -> None:
    assert "every day" in trailer(None, "500 gal").do
    assert "Fill it every day" not in trailer(None, "5000 gal").do


def test_what_nobody_knows_of_a_duck_is_asked() -> None:
    bite = trailer(None, line=HeadLine("duck", "layers", 20))
    assert bite.hardness == "question"
    assert bite.moment is None
