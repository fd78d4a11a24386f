"""What grows in the years ahead, held to the season's own sward and to the table of yields under shade."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from browseline.canopy import grow_trees
from browseline.chain.season_growth import grown_of
from browseline.chain.years_ahead import start_of
from browseline.decades.form import LightAhead
from browseline.decades.grown import GrownAhead, grown_ahead
from browseline.decades.light import light_ahead
from browseline.decades.start import Start
from browseline.farm.records import Farm, Paddock, Sward
from browseline.science import forage
from browseline.science.growth_years import wet_share
from browseline.sward.numbers import GROUPS, sward_numbers
from browseline.sward.shade import cover_factor
from browseline.units import parse
from tests import small_farm

Array = NDArray[np.float64]
MEMBERS = 31
YEARS = tuple(range(2026, 2030))


def start(**more: object) -> Start:
    farm = small_farm.farm(weather=True, **more)  # type: ignore[arg-type]
    return start_of(small_farm.look(farm, small_farm.state(farm), members=MEMBERS))


def lit(own: Start, light: float = 1.0, members: int = MEMBERS) -> LightAhead:
    """Return the same light on every paddock in all months."""
    sizes = grow_trees(own.farm, own.state, YEARS, range(members))
    made = light_ahead(own, sizes, None)
    return replace(
        made, light_frac=np.full_like(made.light_frac, light), month_frac=np.full_like(made.month_frac, light)
    )


def ahead(own: Start, light: float = 1.0, members: int = MEMBERS) -> GrownAhead:
    return grown_ahead(own, lit(own, light, members), YEARS, members)


def test_the_first_year_is_that_of_the_balance() -> None:
    """s5's supply of the season, month by month: the same weather, sward and cuts; fertility drawn apart."""
    farm = small_farm.farm(weather=True, own=Sward("home", "tall_fescue", fertility=parse("60 %", "share")))
    picture = small_farm.look(farm, small_farm.state(farm), members=MEMBERS)
    season = grown_of(picture)
    assert season is not None
    own = start_of(picture)
    month = ahead(own).month_kg[0]
    area = np.array([p.grazed_ha for p in own.farm.paddocks])
    balance = (season.kg_ha * area).sum(axis=2) * 0.45
    np.testing.assert_allclose(month.mean(axis=0), balance.mean(axis=0), rtol=0.03, atol=5.0)
    # Rain of the months between says that it is the same weather: member by member they go together.
    assert np.corrcoef(month.sum(axis=1), balance.sum(axis=1))[0, 1] > 0.95


def test_all_that_grows_is_what_stock_may_have_over_their_share() -> None:
    made = ahead(start())
    assert made.full_kg is not None
    np.testing.assert_allclose(made.full_kg * 0.45, made.month_kg)


def test_a_typed_yield_stands_and_the_weather_moves_about_it() -> None:
    typed = Sward("home", "mixed_cool", yearly_yield=parse("4800 lb/ac", "herbage mass"),
                  harvest_share=parse("40 %", "share"))  # fmt: skip
    own = start(own=typed)
    grown = ahead(own).paddock_kg[:, :, 0]
    wanted = parse("4800 lb/ac", "herbage mass").to("kg/ha") * own.farm.paddocks[0].grazed_ha * 0.40
    assert grown.mean() == pytest.approx(wanted, rel=0.06)
    assert 0.03 < grown.std() / grown.mean() < 0.5


@pytest.mark.parametrize(("light", "row"), [(0.7, "30 %"), (0.5, "50 %"), (0.3, "70 %")])
def test_shade_takes_what_the_measured_range_allows(light: float, row: str) -> None:
    """mercier2020 and forage.md 2: a year's growth lies between the ends of the accepted yield."""
    from browseline import tables

    own = start(own=Sward("home", "tall_fescue"))
    kept = ahead(own, light).paddock_kg.mean() / ahead(own).paddock_kg.mean()
    accepted = tables.row("forage", "shade_yield", f"cool-season grass, {row}")
    assert accepted.low is not None
    assert accepted.high is not None
    assert accepted.low - 0.06 <= kept <= accepted.high + 0.06


def test_less_light_grows_less_in_every_step() -> None:
    own = start()
    made = [float(ahead(own, light, 5).paddock_kg.mean()) for light in (1.0, 0.6, 0.4, 0.15, 0.0)]
    assert made == sorted(made, reverse=True)
    assert made[-1] == 0


def test_a_typed_cover_goes_by_the_table() -> None:
    base = small_farm.farm(weather=True, own=Sward("home", "tall_fescue"))
    covered = replace(base.paddocks[0], cover=parse("50 %", "share"))
    farm = replace(base, paddocks=(covered, *base.paddocks[1:]))
    made = []
    for one in (base, farm):
        own = start_of(small_farm.look(one, small_farm.state(one), members=5))
        sizes = grow_trees(one, own.state, YEARS, range(5))
        made.append(grown_ahead(own, light_ahead(own, sizes, None), YEARS, 5).paddock_kg[:, :, 0].mean())
    assert made[1] / made[0] == pytest.approx(cover_factor("cool-season grass", 0.5), rel=0.12)


def test_a_paddock_counts_while_it_is_the_farms() -> None:
    own = start()
    first = replace(own.farm.paddocks[0], to_day=own.today.replace(year=2027))
    own = replace(own, farm=replace(own.farm, paddocks=(first, *own.farm.paddocks[1:])))
    grown = ahead(own, members=3).paddock_kg[:, :, 0]
    assert (grown[:2] > 0).all()
    assert (grown[2:] == 0).all()


def test_without_weather_typed_yields_stand_alone() -> None:
    farm = small_farm.farm(own=Sward("home", "tall_fescue", yearly_yield=parse("4800 lb/ac", "herbage mass")))
    own = Start(farm, small_farm.state(farm), small_farm.NOW.date())
    made = grown_ahead(own, lit(own, members=2), YEARS, 2)
    wanted = parse("4800 lb/ac", "herbage mass").to("kg/ha") * 9 * small_farm.ACRE_HA * 0.45
    assert made.weather is None
    assert made.month_kg.sum(axis=2) == pytest.approx(wanted)


def test_without_weather_or_yield_nothing_is_guessed() -> None:
    farm: Farm = replace(
        small_farm.farm(own=Sward("home", "mixed_cool")), paddocks=(Paddock("1", "1", 1.0, sward="home"),)
    )
    own = Start(farm, small_farm.state(farm), small_farm.NOW.date())
    made = grown_ahead(own, lit(own, members=2), YEARS, 2)
    assert made.unknown == ("1",)
    assert not made.month_kg.any()


def test_soil_water_acts_as_in_the_daily_sward() -> None:
    """The compiled response is the array one, everywhere."""
    water, et0 = np.meshgrid(np.linspace(-0.1, 1.1, 61), np.linspace(0.5, 9.0, 35))
    wanted = forage.water_response(water, et0)
    own = [wet_share(w, e) for w, e in zip(water.ravel(), et0.ravel(), strict=True)]
    np.testing.assert_allclose(np.reshape(own, wanted.shape), wanted, atol=1e-12)


# ---------------------------------------------------------------- typed yields alone, by hand


def typed_alone() -> tuple[Start, LightAhead]:
    """Return 3 ac with a typed yield and no weather, in light of 0.8, then of 0.5."""
    sward = Sward("home", "mixed_cool", yearly_yield=parse("4000 kg/ha", "herbage mass"),
                  harvest_share=parse("50 %", "share"))  # fmt: skip
    farm = small_farm.farm((3.0,), own=sward)
    own = Start(farm, small_farm.state(farm), small_farm.NOW.date())
    light = np.array([0.8, 0.5])[:, None, None]
    month = np.repeat(light[:, :, None, :], 12, axis=2)
    return own, LightAhead(("1",), light, month, 1 - light, np.zeros((2, 1)))


def test_a_typed_yield_is_that_under_today_s_trees() -> None:
    """4,000 kg/ha x 50 % x 3 ac in today's light; then as much less as the table says of 0.5 over 0.8."""
    own, light = typed_alone()
    made = grown_ahead(own, light, (2026, 2027), 1)
    today = 4000 * 0.5 * 3 * small_farm.ACRE_HA
    assert made.weather is None
    assert made.paddock_kg[0, 0, 0] == pytest.approx(today)
    shares = forage_shares(own)
    kept = [sum(part * cover_factor(g, 1 - x) for g, part in shares.items()) for x in (0.8, 0.5)]
    assert kept[1] < kept[0]
    assert made.paddock_kg[1, 0, 0] == pytest.approx(today * kept[1] / kept[0], rel=1e-3)
    np.testing.assert_allclose(made.month_kg.sum(axis=2)[:, 0], made.paddock_kg[:, 0, 0])


def forage_shares(own: Start) -> dict[str, float]:
    """Return the groups of the sward by their share of its mass."""
    numbers = sward_numbers(own.farm, own.farm.paddocks[0])
    whole = sum(numbers.shares)
    return {group: share / whole for group, share in zip(GROUPS, numbers.shares, strict=True)}


def test_cover_stands_for_shade_where_rows_are_on_no_map() -> None:
    """The same numbers by cover: 0.2, then 0.5, with an open sky in the light."""
    own, light = typed_alone()
    by_light = grown_ahead(own, light, (2026, 2027), 1).paddock_kg
    open_sky = replace(light, light_frac=np.ones((2, 1, 1)), stand_in=("1",))
    np.testing.assert_allclose(grown_ahead(own, open_sky, (2026, 2027), 1).paddock_kg, by_light)
    plain = grown_ahead(own, replace(open_sky, stand_in=()), (2026, 2027), 1).paddock_kg
    assert plain[1, 0, 0] == pytest.approx(plain[0, 0, 0])
