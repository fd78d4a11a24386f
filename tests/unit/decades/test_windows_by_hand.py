"""Windows by hand: a tree is clear by height and stem together, ends are those of eight futures in ten."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from browseline.decades.windows import windows_ahead
from browseline.decades.yields import yields_ahead
from tests.unit.decades.orchard import MEMBERS, YEARS, farm, grown, planting
from tests.unit.decades.test_windows import feed, light

TREES = planting("nuts", "walnut_black", 2024)


def test_a_tall_tree_with_a_thin_stem_is_not_clear_of_sheep() -> None:
    """browsing.csv: 1.8 m and 8 cm for sheep; stems of 2 cm that gain one a year are clear in six years."""
    made = farm(TREES)
    sizes = grown(made)
    slow = np.broadcast_to(2.0 + np.arange(len(YEARS))[:, None, None], sizes.stem_cm.shape)
    tall = replace(sizes, stem_cm=slow, height_m=np.full(sizes.height_m.shape, 15.0))
    guards = [w for w in windows_ahead(made, tall, light(), feed(), ()) if w.kind == "guards"]
    assert [(w.first, w.likely, w.last) for w in guards] == [(2032, 2032, 2032)]


def test_a_window_leaves_the_earliest_and_the_latest_tenth_of_the_futures_out() -> None:
    """Sixty futures that first bear in 2031, 2032 ... 2090: a tenth of 59 steps is six of them."""
    made = farm(TREES)
    sizes = grown(made)
    (crop,) = yields_ahead(made, sizes, YEARS, MEMBERS, None)
    spread = replace(crop, first=2031.0 + np.arange(len(MEMBERS), dtype=np.float64))
    found = [w for w in windows_ahead(made, sizes, light(), feed(), (spread,)) if w.kind == "harvest"]
    assert [(w.first, w.last, w.share) for w in found] == [(2037, 2084, 1.0)]
    assert found[0].likely in (2060, 2061)
