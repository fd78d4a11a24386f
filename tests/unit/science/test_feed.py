"""Bales as eaten: shares are taken once each, and the way back is the way there."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from browseline.science import feed

SHARE = st.floats(0.0, 0.9)


def test_a_bale_by_hand() -> None:
    """800 lb at 88 % dry, 15 % lost in feeding: 704 lb dry, 598.4 lb eaten."""
    assert feed.dry_kg(800, 0.88) == pytest.approx(704)
    assert feed.eaten_kg(800, 0.88, 0, 0.15) == pytest.approx(598.4)
    assert feed.eaten_kg(800, 0.88, 0.08, 0.15) == pytest.approx(598.4 * 0.92)


@given(st.floats(1, 1e5), st.floats(0.3, 1), SHARE, SHARE)
def test_stored_is_the_inverse_of_eaten(
    stored: float, dry: float, in_store: float, in_feeding: float
) -> None:
    eaten = feed.eaten_kg(stored, dry, in_store, in_feeding)
    assert eaten <= feed.dry_kg(stored, dry) * (1 + 1e-12)
    assert feed.stored_kg(eaten, dry, in_store, in_feeding) == pytest.approx(stored, rel=1e-9)
