"""Free-standing trees: stem by age, the rest by stem, what lies outside the data, what a measure teaches."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
TINY = 1e-9


class Relation(NamedTuple):
    """A fitted relation of two sizes of a tree and where it may be used.

    ``form`` is *loglog*, *power* or *quad*; ``log_mse`` the mean square of the log residuals [1]; ``rmse``
    the scatter of *quad* in the unit of the result; ``x_min`` and ``x_max`` bound the data.
    """

    form: str
    a: float
    b: float
    c: float
    log_mse: float
    rmse: float
    x_min: float
    x_max: float


def median_size(relation: Relation, x: npt.ArrayLike) -> Array:
    """Size that half of the trees exceed; x is used as given, inside the data or not.

    Parameters
    ----------
    relation : Relation
        The fit.
    x : array
        Age [yr] or stem [cm] as the fit has it, above 0.

    Returns
    -------
    array, shape of ``x``
        Stem [cm], height [m], crown [m] or leaf area [m2]; above 0.

    References
    ----------
    utd2016_raw, fits of trees.md 1.4 without the half of the log variance that makes a mean of them
    """
    at = np.maximum(np.asarray(x, dtype=np.float64), TINY)
    if relation.form == "loglog":
        size = np.exp(relation.a + relation.b * np.log(np.log(at + 1)))
    elif relation.form == "power":
        size = np.exp(relation.a + relation.b * np.log(at))
    else:
        size = relation.a + relation.b * at + relation.c * at**2
    return np.asarray(np.maximum(size, TINY), dtype=np.float64)


def mean_size(relation: Relation, x: npt.ArrayLike) -> Array:
    """Mean size of trees.

    Parameters
    ----------
    relation, x
        As in ``median_size``.

    Returns
    -------
    array, shape of ``x``
        Stem [cm], height [m], crown [m] or leaf area [m2]; above 0.

    References
    ----------
    utd2016_raw, fits of trees.md 1.4: exp(... + log_mse / 2)
    """
    lift = np.exp(relation.log_mse / 2) if relation.form != "quad" else 1.0
    return median_size(relation, x) * lift


def log_variance(relation: Relation, x: npt.ArrayLike) -> Array:
    """Variance of the log of one tree's size at x; of *quad* the scatter over the size, squared.

    Parameters
    ----------
    relation, x
        As in ``median_size``.

    Returns
    -------
    array, shape of ``x``
        [1]

    References
    ----------
    utd2016_raw, log_mse and rmse of the fits of trees.md 1.4
    """
    size = median_size(relation, x)
    if relation.form != "quad":
        return np.full(size.shape, relation.log_mse)
    least = median_size(relation, relation.x_min)
    return np.asarray((relation.rmse / np.maximum(size, np.maximum(least, relation.rmse))) ** 2)


def steepness(relation: Relation, x: npt.ArrayLike) -> Array:
    """Share by which the size grows as x grows by one share: d ln y / d ln x.

    Parameters
    ----------
    relation, x
        As in ``median_size``.

    Returns
    -------
    array, shape of ``x``
        [1]

    References
    ----------
    derived_here: derivative of the forms of trees.md 1.4
    """
    at = np.maximum(np.asarray(x, dtype=np.float64), TINY)
    if relation.form == "loglog":
        slope = relation.b * at / ((at + 1) * np.log(at + 1))
    elif relation.form == "power":
        slope = np.full(at.shape, relation.b)
    else:
        slope = at * (relation.b + 2 * relation.c * at) / median_size(relation, at)
    return np.asarray(slope, dtype=np.float64)


def carried_on(x: npt.ArrayLike, near: Relation, pooled: Relation, start: float, power: float) -> Array:
    """Median size inside the data of a city, then along the pooled fit, then held; a rise from x = 0.

    Neither fit is used outside its own data. Where the city's data end, the pooled fit carries on from the
    size that the city's gave; where both end the size is held. Below both the size rises from ``start``.

    Parameters
    ----------
    x : array
        Age [yr] or stem [cm]; not above 0 gives ``start``.
    near, pooled : Relation
        The city's fit and that of all cities; the same twice where there is only one.
    start : float
        Size at x = 0, in the unit of the result; not above that at which the data begin.
    power : float
        Of the rise from ``start``: 1 straight, 2 for an area. [1]

    Returns
    -------
    array, shape of ``x``
        In the unit of the fits.

    References
    ----------
    ours: trees.md 1.4 forbids a fit outside x_min to x_max; a hold and a joint are the least claims
    """
    at = np.maximum(np.asarray(x, dtype=np.float64), 0.0)
    inside = np.clip(at, near.x_min, near.x_max)
    farther = np.clip(at, min(pooled.x_min, near.x_min), max(pooled.x_max, near.x_max))
    reach = np.clip(farther, pooled.x_min, pooled.x_max)
    joint = np.clip(inside, pooled.x_min, pooled.x_max)
    size = median_size(near, inside) * median_size(pooled, reach) / median_size(pooled, joint)
    first = min(near.x_min, pooled.x_min)
    below = np.minimum(at / first, 1.0) ** power
    begin = np.minimum(start, np.where(at < first, size, np.inf))
    return np.asarray(begin + (size - begin) * below, dtype=np.float64)


def factor_stem_cm(age_yr: npt.ArrayLike, stem_cm_per_yr: float, open_times: float, open_yr: float) -> Array:
    """Stem by the forest growth factor, thicker by some times in the years that a tree stands open.

    Parameters
    ----------
    age_yr : array
        Years since planting. [yr]
    stem_cm_per_yr : float
        Forest growth: one over the growth factor. [cm/yr]
    open_times : float
        Times the forest growth. [1]
    open_yr : float
        Years that it lasts. [yr]

    Returns
    -------
    array, shape of ``age_yr``
        [cm]

    References
    ----------
    mdc_growth_factor; open growth is a guess of conflict K27
    """
    age = np.maximum(np.asarray(age_yr, dtype=np.float64), 0.0)
    return np.asarray(
        stem_cm_per_yr * (open_times * np.minimum(age, open_yr) + np.maximum(age - open_yr, 0.0))
    )


def factor_learnt(
    log_ratio: float, trees: int, book_variance: float, tree_variance: float, shared_variance: float
) -> tuple[float, float]:
    """Log of the growth factor of a planting once trees of it were measured, and its variance.

    Parameters
    ----------
    log_ratio : float
        Mean over the measured trees of ln(measured over expected). [1]
    trees : int
        How many trees; 0 leaves the book.
    book_variance : float
        Variance of ln growth between sites before anything was measured. [1]
    tree_variance : float
        Variance of the log size of one tree about its site. [1]
    shared_variance : float
        Variance of what all of them share, such as the year in which they began. [1]

    Returns
    -------
    tuple of float
        Mean and variance of the log factor. [1]

    References
    ----------
    derived_here: normal mean with known variances
    """
    if trees <= 0:
        return 0.0, book_variance
    noise = tree_variance / trees + shared_variance
    weight = book_variance / (book_variance + noise)
    return weight * log_ratio, (1 - weight) * book_variance
