"""What must hold of any projection: fewer years, more members or a split paddock change nothing else."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from benchmarks.decades_farm import start_of
from browseline.decades.form import Projection
from browseline.decades.light_asked import Asked, ask
from browseline.decades.project import project
from browseline.decades.start import Start
from browseline.farm.future import Future, LeafCut, PlannedInput, PlannedWork, StockRule
from browseline.units import parse

Array = NDArray[np.float64]
YEARS, MEMBERS = 14, 9
THIN = PlannedWork("thin", "t2", "thin", 2034)
UREA = PlannedInput("urea", "urea", parse("200 kg", "mass"), 2027, 3)
LEAF = LeafCut("leaf", "t0", parse("2 kg", "mass"), 5, 2, 7)


@pytest.fixture(scope="module")
def start() -> Start:
    """Return a farm of four paddocks, two with rows, one of which is to be thinned, that follows its feed."""
    made = start_of(4)
    typed = Future(stock="follow", works=(THIN,), inputs=(UREA,), fodder=(LEAF,))
    shorn = tuple(replace(line, wool=parse("2 kg", "mass")) for line in made.farm.mobs[0].lines)
    mobs = (replace(made.farm.mobs[0], lines=shorn),)
    return replace(made, farm=replace(made.farm, future=typed, mobs=mobs))


@pytest.fixture(scope="module")
def asked(start: Start) -> Asked:
    """Return what the light engine gives, once: it is the slow part."""
    found = ask(start, range(2026, 2028))
    assert found is not None
    return found


def made(start: Start, asked: Asked, years: int = YEARS, members: int = MEMBERS) -> Projection:
    return project(start, years=years, members=members, engine=lambda own, wanted: asked)


def columns(ahead: Projection) -> Iterator[tuple[str, Array]]:
    """Yield every array of a projection whose first axes are year and member, by name."""
    feed = ahead.feed
    for name in ("light_frac", "month_frac", "cover_frac"):
        yield name, getattr(ahead.light, name)
    for name in ("grown_kg", "need_kg", "hay_kg", "spare_kg", "head", "sold", "bought", "born", "died"):
        yield name, getattr(feed, name)
    yield "wool", ahead.wool_kg
    for one in (*ahead.yields, *ahead.wood, *ahead.fodder):
        yield f"{one.planting} {one.product}", one.amount
    for key, stock in ahead.carbon.stock_t.items():
        yield f"{key}", stock
    for gas, flow in ahead.carbon.flow_kg.items():
        yield f"{gas}", flow
    yield "work", ahead.work_h


def same(long: Projection, short: Projection, cut: tuple[slice, ...]) -> None:
    """Check that a part of one projection is the other."""
    found = dict(columns(short))
    for name, values in columns(long):
        if name not in found:
            assert not values[cut].any(), name
            continue
        wanted, own = found[name], values[cut]
        np.testing.assert_allclose(own, wanted, rtol=1e-12, atol=1e-9, err_msg=name)


@pytest.fixture(scope="module")
def forty(start: Start, asked: Asked) -> Projection:
    """Return forty years."""
    return made(start, asked, years=40)


@pytest.mark.parametrize("years", [1, 7, 23])
def test_a_long_run_begins_as_a_short_one(start: Start, asked: Asked, forty: Projection, years: int) -> None:
    short = made(start, asked, years=years)
    assert forty.years[: years + 1] == short.years
    same(forty, short, (slice(0, years + 1),))


def test_more_members_change_no_other(start: Start, asked: Asked) -> None:
    many, few = made(start, asked), made(start, asked, members=4)
    same(many, few, (slice(None), slice(0, 4)))


def test_which_ages_the_engine_is_asked_for_hangs_on_neither(start: Start, asked: Asked) -> None:
    again = ask(start, range(2026, 2057))
    assert again is not None
    np.testing.assert_array_equal(again.light, asked.light)


@pytest.mark.parametrize(
    ("rule", "at", "share"),
    [
        ("fixed", 0, 0.5),
        ("follow", 2, 0.2),
        ("sell_down", 1, 0.85),
        ("follow", 0, 0.5),
        ("sell_down", 2, 0.5),
    ],
)
def test_a_split_paddock_changes_no_total(
    start: Start, asked: Asked, rule: StockRule, at: int, share: float
) -> None:
    """With rows or without, thinned or not, in halves or not: the parts keep the draws of the whole."""
    farm = replace(start.farm, future=replace(start.farm.future, stock=rule))
    whole = replace(start, farm=farm)
    own = farm.paddocks[at]
    halves = tuple(
        replace(own, id=f"{own.id}{part}", area_ha=own.area_ha * of, parents=(own.id,))
        for part, of in (("a", share), ("b", 1 - share))
    )
    paddocks = (*farm.paddocks[:at], *halves, *farm.paddocks[at + 1 :])
    split = replace(whole, farm=replace(farm, paddocks=paddocks))
    times = [2 if n == at else 1 for n in range(len(farm.paddocks))]
    parts = {name: np.repeat(getattr(asked, name), times, axis=1) for name in ("ground", "leaf", "tall")}
    one, two = made(whole, asked), made(split, replace(asked, **parts))
    np.testing.assert_allclose(
        two.feed.grown_paddock_kg[:, :, at : at + 2].sum(axis=2),
        one.feed.grown_paddock_kg[:, :, at],
        rtol=1e-9,
    )
    for name, values in columns(one):
        if name not in ("light_frac", "month_frac", "cover_frac"):
            np.testing.assert_allclose(dict(columns(two))[name], values, rtol=1e-9, atol=1e-6, err_msg=name)


def test_shared_weather_is_wider_than_each_paddock_with_its_own(start: Start, asked: Asked) -> None:
    grown = made(start, asked, years=3, members=60).feed.grown_paddock_kg
    shared = grown.sum(axis=2).std(axis=1)
    apart = np.sqrt((grown.std(axis=1) ** 2).sum(axis=1))
    assert (shared > 1.1 * apart).all()


def test_a_rate_that_is_not_known_is_drawn_once_for_all_years(start: Start, asked: Asked) -> None:
    fixed = replace(start, farm=replace(start.farm, future=Future()))
    died = made(fixed, asked, members=60).feed.died[:, :, 0]
    whole, apart = died.sum(axis=0).std(), np.sqrt((died.std(axis=1) ** 2).sum())
    assert whole > 3 * apart


def test_feed_is_eaten_bought_or_spare(start: Start, asked: Asked) -> None:
    feed = made(start, asked).feed
    eaten = feed.need_kg - feed.hay_kg
    assert (feed.hay_kg >= -1e-9).all()
    assert (eaten >= -1e-9).all()
    # What stands over the end of a year is eaten or spare in the next one.
    left = np.cumsum(feed.grown_kg.sum(axis=2) - eaten.sum(axis=2) - feed.spare_kg, axis=0)
    assert (left >= -1e-6).all()
    assert (left <= feed.grown_kg[:, :, -1] + 1e-6).all()


def test_a_thinning_gives_light_back(start: Start, asked: Asked) -> None:
    ahead = made(start, asked)
    at = ahead.years.index(THIN.year)
    thinned = ahead.light.light_frac[:, :, 2]
    assert (thinned[at] > thinned[at - 1]).all()


def test_only_paddocks_with_trees_fall(start: Start, asked: Asked) -> None:
    """s5: set against the same weather without trees; crowns take twice what they do, for a clear fall."""
    dense = replace(asked, light=np.clip(1 - 2 * (1 - asked.light), 0.05, 1.0))
    fixed = replace(start, farm=replace(start.farm, future=Future()))
    with_trees = project(fixed, years=30, members=4, engine=lambda own, wanted: dense)
    without = project(fixed, years=30, members=4, engine=lambda own, wanted: None)
    kept = with_trees.feed.grown_paddock_kg[-1].sum(axis=0) / without.feed.grown_paddock_kg[-1].sum(axis=0)
    treed = [0, 2]
    bare = [1, 3]
    assert (kept[treed] < 0.92).all()
    assert kept[bare] == pytest.approx(1, abs=0.03)
    assert (kept[treed].max() < kept[bare]).all()


def test_what_is_felled_without_a_number_is_each_members_own(start: Start) -> None:
    """A stand felled whole and set again: more members or years change neither room, wood nor carbon."""
    works = (PlannedWork("out", "t2", "fell", 2031), PlannedWork("again", "t2", "plant", 2032, 60))
    felled = replace(start, farm=replace(start.farm, future=replace(start.farm.future, works=works)))
    found = ask(felled, range(2026, 2028))
    assert found is not None
    many, few = made(felled, found), made(felled, found, members=4)
    same(many, few, (slice(None), slice(0, 4)))
    same(many, made(felled, found, years=8), (slice(0, 9),))
    np.testing.assert_array_equal(many.sizes.crown_m[:, :4], few.sizes.crown_m)
    own = many.sizes.fates["t2"]
    assert len(set(own.thinned[2031].tolist())) > 1
