"""Wilson's interval of a counted share: printed examples (recalled), and scipy over a whole grid."""

import csv
from pathlib import Path

import pytest
from scipy import stats

from browseline.science.shares import score_interval

CASES = list(csv.DictReader(Path(__file__).with_name("shares.csv").read_text("utf-8").splitlines()))


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['hits']} of {c['seen']}")
def test_against_newcombe(case: dict[str, str]) -> None:
    low, high = score_interval(int(case["hits"]), int(case["seen"]), float(case["z"]))
    assert low == pytest.approx(float(case["low"]), abs=0.00005)
    assert high == pytest.approx(float(case["high"]), abs=0.00005)


@pytest.mark.parametrize("confidence", [0.8, 0.9, 0.95])
@pytest.mark.parametrize("seen", [1, 7, 30, 40, 294])
def test_against_scipy(seen: int, confidence: float) -> None:
    z = float(stats.norm.ppf((1 + confidence) / 2))
    for hits in range(seen + 1):
        wanted = stats.binomtest(hits, seen).proportion_ci(confidence, method="wilson")
        assert score_interval(hits, seen, z) == pytest.approx((wanted.low, wanted.high), abs=1e-12)


@pytest.mark.parametrize(("hits", "seen"), [(1, 0), (5, 4), (-1, 4)])
def test_more_found_than_looked_at_is_refused(hits: int, seen: int) -> None:
    with pytest.raises(ValueError):
        score_interval(hits, seen, 1.645)
