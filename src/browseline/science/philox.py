"""The counter-based generator of ``draws``, compiled, for many counters at once.

Philox 4x64 with ten rounds: four words of 64 bits for each counter under a key, the same words as numpy's
own generator of that name gives.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from browseline.science.compiled import compiled

U = np.uint64
Words = npt.NDArray[np.uint64]
ROUNDS = 10
HALF = U(32)
LOW = U(0xFFFFFFFF)
ONE = U(1)
BY_0, BY_1 = U(0xD2E7470EE14C6C93), U(0xCA5A826395121157)
STEP_0, STEP_1 = U(0x9E3779B97F4A7C15), U(0xBB67AE8584CAA73B)


@compiled
def _high(a: Any, b: Any) -> Any:
    """Return the upper 64 bits of a product of two words."""
    a_low, a_high, b_low, b_high = a & LOW, a >> HALF, b & LOW, b >> HALF
    middle = a_high * b_low + ((a_low * b_low) >> HALF)
    other = a_low * b_high + (middle & LOW)
    return a_high * b_high + (middle >> HALF) + (other >> HALF)


@compiled
def _block(key_0: Any, key_1: Any, count: Any, member: Any, year: Any) -> Any:
    """Return the four words of one counter."""
    a, b, c, d = count, U(0), member, year
    for _ in range(ROUNDS):
        high_0, low_0 = _high(BY_0, a), BY_0 * a
        high_1, low_1 = _high(BY_1, c), BY_1 * c
        a, b, c, d = high_1 ^ b ^ key_0, low_1, high_0 ^ d ^ key_1, low_0
        key_0, key_1 = key_0 + STEP_0, key_1 + STEP_1
    return a, b, c, d


@compiled
def words(key: Words, members: Words, year: Any, out: Words) -> None:
    """Fill in the words of several members of one year.

    Parameters
    ----------
    key : array of uint64, shape (2,)
        [1]
    members : array of uint64, shape (member,)
        The third word of the counter. [1]
    year : uint64
        The fourth word of the counter. [1]
    out : array of uint64, shape (member, n)
        Filled with the first words of each stream. [1]

    Returns
    -------
    None

    References
    ----------
    ours: Philox 4x64-10 as ``draws`` uses it, counted from 1 as numpy counts; held to numpy's own words
    """
    for row in range(members.size):
        for first in range(0, out.shape[1], 4):
            count = U(first // 4) + ONE
            made = _block(key[0], key[1], count, members[row], year)
            for n in range(min(4, out.shape[1] - first)):
                out[row, first + n] = made[n]
