"""Height of trees by age: site-index curves as printed, their inversion by numbers, a fallback curve."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
HALVINGS = 60
SITES_FT = np.arange(10.0, 251.0, 5.0)
Printed = Sequence[float]


def _carmean_ft(site_ft: Array, age_yr: Array, b: Printed) -> Array:
    rise = 1 - np.exp(b[2] * age_yr)
    return np.asarray(b[0] * site_ft ** b[1] * rise ** (b[3] * site_ft ** b[4]))


def _scott_voorhis_ft(site_ft: Array, age_yr: Array, b: Printed) -> Array:
    rise = 1 - np.exp(-b[2] * age_yr)
    return np.asarray((b[0] + b[1] * site_ft) * rise ** (b[3] * site_ft ** b[4]))


def _harrison_borders_ft(site_ft: Array, age_yr: Array, _: Printed) -> Array:
    rise = (1 - np.exp(-0.014452 * age_yr)) / (1 - np.exp(-0.014452 * 25))
    return np.asarray(site_ft * rise**0.8216)


def _king_ft(site_ft: Array, age_yr: Array, _: Printed) -> Array:
    z = 2500 / (site_ft - 4.5)
    below = -0.954038 + 0.109757 * z + (0.0558178 + 0.00792236 * z) * age_yr
    below = below + (-0.000733819 + 0.000197693 * z) * age_yr**2
    return np.asarray(4.5 + age_yr**2 / below)


def _harrington_curtis_ft(site_ft: Array, age_yr: Array, _: Printed) -> Array:
    rate = 0.00194 - 0.0007403 * site_ft
    rise = (1 - np.exp(rate * age_yr)) ** 0.9198 - (1 - np.exp(rate * 20)) ** 0.9198
    return np.asarray(site_ft + (59.5864 + 0.7953 * site_ft) * rise)


FORMS: dict[str, Callable[[Array, Array, Printed], Array]] = {
    "carmean": _carmean_ft,
    "scott_voorhis": _scott_voorhis_ft,
    "harrison_borders": _harrison_borders_ft,
    "king": _king_ft,
    "harrington_curtis": _harrington_curtis_ft,
}


def height_ft(form: str, site_index_ft: npt.ArrayLike, age_yr: npt.ArrayLike, b: Printed = ()) -> Array:
    """Height of the tallest trees of a stand by its site index, in the unit the curves are printed in.

    Parameters
    ----------
    form : str
        One of ``FORMS``.
    site_index_ft : array
        Height at the base age of the curve. [ft]
    age_yr : array, broadcast with ``site_index_ft``
        Age as the curve counts it: total, from planting, or at breast height (king). Not above 0 is 0.
        [yr]
    b : sequence of float
        b1 to b5 of the row, where the form has them.

    Returns
    -------
    array
        Not below 0. [ft]

    References
    ----------
    carmean1989; scott_voorhis1986, Table 2; harrison_borders1996; king1966; harrington_curtis1986
    """
    site = np.asarray(site_index_ft, dtype=np.float64)
    age = np.maximum(np.asarray(age_yr, dtype=np.float64), 0.0)
    height = np.where(age > 0, FORMS[form](site, np.where(age > 0, age, 1.0), b), 0.0)
    return np.asarray(np.maximum(height, 0.0), dtype=np.float64)


def site_index_ft(form: str, tall_ft: npt.ArrayLike, age_yr: npt.ArrayLike, b: Printed = ()) -> Array:
    """Site index on which a tree of a height and age stands, by halving the height curve's range.

    The printed inverses of the curves drift below about 15 years; this one is the curve itself, between the
    sites of its lowest and highest trees of that age: some curves bend back outside their data.

    Parameters
    ----------
    form : str
        One of ``FORMS``.
    b : sequence of float
        b1 to b5 of the row, where the form has them.
    tall_ft : array
        A height that was measured. [ft]
    age_yr : array, broadcast with ``tall_ft``
        Its age. [yr]

    Returns
    -------
    array, shape of ``tall_ft`` and ``age_yr`` together
        NaN where no site index of that stretch within 10 to 250 ft gives the height. [ft]

    References
    ----------
    ours: bisection of ``height_ft``, as trees.md 1.1 asks
    """
    tall, age = np.broadcast_arrays(
        np.asarray(tall_ft, dtype=np.float64), np.asarray(age_yr, dtype=np.float64)
    )
    grown = height_ft(form, SITES_FT, age[..., None], b)
    low, high = SITES_FT[grown.argmin(axis=-1)], SITES_FT[grown.argmax(axis=-1)]
    inside = (grown.min(axis=-1) <= tall) & (tall <= grown.max(axis=-1)) & (age > 0) & (low < high)
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        short = height_ft(form, middle, age, b) < tall
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return np.asarray(np.where(inside, (low + high) / 2, np.nan), dtype=np.float64)


def chapman_richards_m(age_yr: npt.ArrayLike, a_m: float, k_per_yr: float, p: float) -> Array:
    """Height by the fallback curve.

    Parameters
    ----------
    age_yr : array
        Total age; not above 0 is 0. [yr]
    a_m : float
        Height that is never passed. [m]
    k_per_yr : float
        Rate. [1/yr]
    p : float
        Shape. [1]

    Returns
    -------
    array, shape of ``age_yr``
        0 to ``a_m``. [m]

    References
    ----------
    placeholder: form of trees.md 1.1, 6; its constants are guesses shaped to mature heights
    """
    age = np.maximum(np.asarray(age_yr, dtype=np.float64), 0.0)
    return np.asarray(a_m * (1 - np.exp(-k_per_yr * age)) ** p, dtype=np.float64)
