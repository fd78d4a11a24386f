"""Trials: whatever is tried leaves the farm as it was; equations that scale; edits that read back."""

from __future__ import annotations

from contextlib import suppress
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from browseline.errors import BadInput
from browseline.science import crop
from browseline.trials.copies import copy_farm
from browseline.trials.edits import apply_all, setting
from tests.acceptance.cases import EWE, at, farm_folder, mob

NOW = at("2026-05-06 07:00")
AMOUNTS = st.floats(0.0, 500.0)
SHARES = st.floats(0.0, 0.5)
EDITS = st.lists(
    st.one_of(
        st.integers(1, 300).map(lambda n: f"mobs.ewes.lines.0.head={n}"),
        st.floats(0.5, 30).map(lambda a: f"paddocks.3.deeded={a:.2f} ac"),
        st.tuples(st.integers(1, 12), st.floats(2, 12)).map(lambda t: f'walk {t[0]} "{t[1]:.1f} in"'),
        st.integers(1, 12).map(lambda n: f"move ewes {n}"),
        st.sampled_from(
            ["rules.worm_stay=3 d", "mobs.ewes.name=Old ewes", "hay=", "rain 0.3in", "paddocks.2.sward="]
        ),
        st.text(max_size=40),
    ),
    max_size=6,
)


@pytest.fixture(scope="module", name="live")
def _live(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("tried") / "live"
    line = EWE | {"intake": "4.4 lb/d"}
    farm_folder(folder, as_of=date(2026, 4, 20), mobs=[mob(line, place="1", since="2026-05-05 06:00")])
    return folder


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@settings(max_examples=25, deadline=None)
@given(edits=EDITS)
def test_no_edits_touch_the_live_farm(live: Path, edits: list[str]) -> None:
    before = contents(live)
    with TemporaryDirectory() as beside:
        copy = copy_farm(live, Path(beside) / "farm")
        with suppress(BadInput):
            apply_all(copy, edits, NOW)
    assert contents(live) == before


@given(
    way=st.lists(st.from_regex(r"[a-z][a-z0-9_-]{0,8}", fullmatch=True), min_size=1, max_size=4),
    value=st.one_of(st.integers(-999, 999), st.booleans(), st.dates(date(1990, 1, 1), date(2090, 1, 1))),
)
def test_a_setting_reads_back(way: list[str], value: object) -> None:
    text = str(value).lower() if isinstance(value, bool) else str(value)
    assert setting(f"{'.'.join(way)}={text}") == (tuple(way), value)


@given(spread=AMOUNTS, left=AMOUNTS, shares=st.tuples(*[SHARES] * 5), times=st.floats(0.0, 20.0))
def test_gases_of_a_crop_grow_with_its_nitrogen(
    spread: float, left: float, shares: tuple[float, float, float, float, float], times: float
) -> None:
    factors = [np.array(share) for share in shares]
    one = crop.crop_kg_n2o_ha(np.array(spread), np.array(left), *factors)
    more = crop.crop_kg_n2o_ha(np.array(spread * times), np.array(left * times), *factors)
    assert (one >= 0).all()
    assert np.allclose(more, one * times)


@given(
    together=st.lists(st.floats(0.0, 100.0), min_size=1, max_size=4), extra=st.floats(1.0, 5.0),
    unit=st.floats(0.01, 1000.0),
)  # fmt: skip
def test_land_equivalent_knows_no_unit_and_falls_as_the_sole_stand_gives_more(
    together: list[float], extra: float, unit: float
) -> None:
    mixed = np.array(together)[:, None]
    alone = np.full_like(mixed, 50.0)
    ratio = crop.land_equivalent(mixed, alone)
    assert np.allclose(crop.land_equivalent(mixed * unit, alone * unit), ratio)
    assert (crop.land_equivalent(mixed, alone * extra) <= ratio + 1e-12).all()


@given(ppm=st.floats(0.0, 100.0))
def test_the_scale_of_the_air_is_linear(ppm: float) -> None:
    assert crop.air_gt_co2(np.array(ppm), 2.124) == pytest.approx(ppm * 7.782336)
