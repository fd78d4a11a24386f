"""Wood ahead: logs by size and rule, posts, cords, and that dead trees are none."""

from __future__ import annotations

import numpy as np
import pytest

from browseline.canopy import TreeWork
from browseline.decades.felling import cut_up, stems_cm, taken_out
from browseline.decades.form import Yield
from browseline.decades.wood import posts_of, wood_ahead
from browseline.farm.future import LOG_RULES, Future, LogRule
from browseline.units import parse
from tests.unit.decades.orchard import MEMBERS, YEARS, farm, grown, planting

THIN = TreeWork("w", 2036, "thinned", 40, planned=True)
WALNUTS = planting("w", planted=1986, spacing=None, alley=None)


def wood(rule: LogRule = "international", *works: TreeWork, **more: object) -> dict[str, Yield]:
    made = farm(WALNUTS)
    sizes = grown(made, works or (THIN,))
    return {one.product: one for one in wood_ahead(made, sizes, Future(log_rule=rule, **more), YEARS)}  # type: ignore[arg-type]


def test_only_what_is_cut_on_purpose_is_wood() -> None:
    sizes = grown(farm(WALNUTS), (THIN,))
    cut = taken_out(sizes, "w").sum(axis=2)
    assert (cut[YEARS.index(2036)] == 40).all()
    assert cut.sum() == 40 * len(MEMBERS)
    assert (sizes.alive[-1].sum(axis=1) < 60).any()
    logs = wood()["sawlogs"]
    assert np.flatnonzero(logs.amount.any(axis=1)).tolist() == [YEARS.index(2036)]
    assert (logs.first[np.isfinite(logs.first)] == 2036).all()
    np.testing.assert_allclose(logs.amount[10], logs.per_tree[10] * 40, rtol=1e-9)


def test_the_last_trees_are_as_many_as_stand() -> None:
    sizes = grown(farm(WALNUTS), (TreeWork("w", 2050, "felled", 500, planned=True),))
    before, cut = sizes.alive[23].sum(axis=1), taken_out(sizes, "w")[24].sum(axis=1)
    assert (cut <= before).all()
    assert (cut > 0).all()
    assert not sizes.alive[24].any()


@pytest.mark.parametrize("rule", LOG_RULES)
def test_every_rule_counts_logs(rule: LogRule) -> None:
    logs = wood(rule)["sawlogs"]
    assert logs.unit == ("m3" if rule == "cubic" else "board feet")
    assert logs.form == rule
    assert logs.per_tree[-1].mean() > 0


def test_doyle_under_scales_thin_logs() -> None:
    """trees.md section 4: Doyle under-scales below 28 in."""
    amounts = [wood(rule)["sawlogs"].amount.sum() for rule in ("doyle", "scribner", "international")]
    assert amounts[0] < amounts[1]
    assert amounts[0] < amounts[2]


def test_thin_trees_are_firewood_alone() -> None:
    young = planting("w", planted=2018, spacing=None, alley=None)
    made = farm(young)
    sizes = grown(made, (TreeWork("w", 2028, "thinned", 40, planned=True),))
    found = {one.product: one for one in wood_ahead(made, sizes, Future(), YEARS)}
    at = YEARS.index(2028)
    assert found["firewood"].unit == "cords"
    assert (found["firewood"].amount[at] > 0).all()
    assert found["sawlogs"].amount[at].mean() < 5


def test_logs_and_the_rest_are_the_stem() -> None:
    made = farm(WALNUTS)
    sizes = grown(made, (THIN,))
    stem = cut_up(made, sizes, WALNUTS, 0, Future())
    assert (stem.log_m3 <= stem.stem_m3).all()
    assert (stem.stem_m3[-1] > 0.2).all()
    np.testing.assert_allclose(stems_cm(sizes, 0) @ _weights(), sizes.stem_cm[:, :, 0], rtol=1e-6)


def _weights() -> np.ndarray:
    from browseline.decades.felling import WEIGHTS

    return WEIGHTS


def test_a_longer_clear_stem_gives_two_logs_by_the_printed_table_alone() -> None:
    """Mesavage and Girard, form class 78, Scribner: of 20 in one log has 157 board feet, two have 270."""
    high = (TreeWork("w", 2027, "pruned", to_height_m=12.0, planned=False), THIN)
    made = farm(WALNUTS)
    sizes = grown(made, high)
    one = cut_up(made, sizes, WALNUTS, 0, Future(log_rule="international")).log
    two = cut_up(made, sizes, WALNUTS, 0, Future(log_rule="scribner")).log
    own = cut_up(made, sizes, WALNUTS, 0, Future(log_rule="scribner", form_class=parse("80 %", "share"))).log
    clear = sizes.base_m[-1, :, 0] > 32 * 0.3048
    assert clear.any()
    more = two[-1][clear] / one[-1][clear]
    assert more.max() > 1.2
    assert (own[-1][clear] < 1.2 * one[-1][clear]).all()
    assert (two[-1][~clear] < 1.2 * one[-1][~clear]).all()


def test_posts_as_the_bulletin_cut_them() -> None:
    """USDA farmers' bulletin: a locust of 8 in and 50 ft cuts seven 7-ft posts."""
    assert posts_of(np.array(8 * 2.54), np.array(50 * 0.3048)) == pytest.approx(7.0)
    assert posts_of(np.array(4 * 2.54), np.array(25 * 0.3048)) == pytest.approx(7 / 4)
    locust = planting("l", "locust_black", 2012, spacing=None, alley=None)
    made = farm(locust)
    sizes = grown(made, (TreeWork("l", 2028, "thinned", 50, planned=True),))
    found = {one.product: one for one in wood_ahead(made, sizes, Future(), YEARS)}
    assert found["posts"].unit == "posts"
    assert found["posts"].amount[YEARS.index(2028)].max() > 50


def test_form_class_of_the_farm_goes_before_the_tables() -> None:
    assert (
        wood("international", form_class=parse("85 %", "share"))["sawlogs"].amount.sum()
        > wood()["sawlogs"].amount.sum()
    )
