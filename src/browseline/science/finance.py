"""Money over years: worth today, rate of return, level payments, coverage, payback, break-even.

The first axis is the year, its money counted at the end of it; further axes (members, designs) pass
through. Draws are float64; recorded and printed money is ``Decimal`` elsewhere.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
NEARLY = 1e-9
NOTHING = 1e-12
"""Cash of a year below this share of the largest year is none. [1]"""


def present_value(cash: Array, rate: float) -> Array:
    """Worth today of yearly cash, the first year's a year away.

    Parameters
    ----------
    cash : array, shape (year, ...)
        What comes in less what goes out. [money]
    rate : float
        Above -1. [1/yr]

    Returns
    -------
    array, shape (...)
        [money]

    References
    ----------
    ours: sum of cash / (1 + rate)^year, year 1 first; compared with numpy-financial
    """
    flows = np.asarray(cash, dtype=float)
    years = np.arange(1, len(flows) + 1)
    return np.asarray(np.tensordot((1.0 + rate) ** -years, flows, axes=1))


def rates_of_return(cash: Array) -> Array:
    """Every rate above -100 % at which yearly cash is worth nothing, in rising order.

    None where the cash never changes sign; more than one where it changes more than once.

    Parameters
    ----------
    cash : array, shape (year,)
        The first is today's. [money]

    Returns
    -------
    array, shape (rate,)
        [1/yr]

    References
    ----------
    ours: real positive roots of the polynomial in 1 / (1 + rate)
    """
    flows = np.asarray(cash, dtype=float)
    flows = np.trim_zeros(np.where(np.abs(flows) > NOTHING * np.abs(flows).max(initial=0.0), flows, 0.0))
    if flows.size < 2 or (flows > 0).all() or (flows < 0).all():
        return np.empty(0)
    roots = np.roots(flows)
    real = roots.real[(np.abs(roots.imag) < NEARLY) & (roots.real > 0)]
    return np.sort(real) - 1.0


def internal_rate(cash: Array) -> Array:
    """Rate of return: the one nearest to nothing where there are several, NaN where there is none.

    Parameters
    ----------
    cash : array, shape (year, ...)
        The first is today's. [money]

    Returns
    -------
    array, shape (...)
        [1/yr]

    References
    ----------
    ours: as ``rates_of_return``; compared with numpy-financial
    """
    flows = np.asarray(cash, dtype=float)
    columns = flows.reshape(len(flows), -1)
    found = np.full(columns.shape[1], np.nan)
    for n in range(columns.shape[1]):
        rates = rates_of_return(columns[:, n])
        if rates.size:
            found[n] = rates[np.argmin(np.abs(rates))]
    return found.reshape(flows.shape[1:])


def level_payment(amount: float, rate: float, years: int) -> float:
    """Yearly payment that repays a loan with its interest in so many equal parts.

    Parameters
    ----------
    amount : float
        [money]
    rate : float
        0 gives equal parts without interest. [1/yr]
    years : int
        At least 1. [yr]

    Returns
    -------
    float
        [money/yr]

    References
    ----------
    ours: amount rate / (1 - (1 + rate)^-years); compared with numpy-financial
    """
    if abs(rate) < NEARLY:
        return amount / years
    return float(amount * rate / -np.expm1(-years * np.log1p(rate)))


def loan_years(amount: float, rate: float, years: int, interest_only: int = 0) -> Array:
    """Interest, principal and what is still owed at the end of each year of a loan.

    Parameters
    ----------
    amount : float
        [money]
    rate : float
        [1/yr]
    years : int
        All years of the loan, those of interest only among them. [yr]
    interest_only : int
        First years in which nothing is repaid; less than ``years``. [yr]

    Returns
    -------
    array, shape (year, 3)
        Interest, principal, still owed. [money]

    References
    ----------
    ours: as ``level_payment`` over the years left
    """
    payment = level_payment(amount, rate, years - interest_only)
    made, owed = np.zeros((years, 3)), amount
    for year in range(years):
        interest = owed * rate
        principal = payment - interest if year >= interest_only else 0.0
        owed = owed - principal if year < years - 1 else 0.0
        made[year] = interest, principal, owed
    return made


def coverage(available: Array, payment: Array) -> Array:
    """Cash available over what is due; NaN where nothing is due.

    Parameters
    ----------
    available : array, shape (year, ...)
        Before interest and principal. [money]
    payment : array, shape (year, ...)
        Interest and principal. [money]

    Returns
    -------
    array, shape (year, ...)
        [1]

    References
    ----------
    ours: available / payment
    """
    have, due = np.broadcast_arrays(np.asarray(available, dtype=float), np.asarray(payment, dtype=float))
    return np.asarray(np.divide(have, due, out=np.full(have.shape, np.nan), where=due > 0))


def running_total(cash: Array) -> Array:
    """Cash of all years up to each.

    Parameters
    ----------
    cash : array, shape (year, ...)
        [money]

    Returns
    -------
    array, shape (year, ...)
        [money]

    References
    ----------
    ours: a sum
    """
    return np.asarray(np.cumsum(np.asarray(cash, dtype=float), axis=0))


def payback_year(cash: Array) -> Array:
    """Number of the year from whose end on the running total is never again below nothing.

    Parameters
    ----------
    cash : array, shape (year, ...)
        [money]

    Returns
    -------
    array, shape (...)
        1 is the first year; NaN where the total ends below nothing. [yr]

    References
    ----------
    ours: the year after the last with a total below nothing
    """
    below = running_total(cash) < -NEARLY
    years = len(below)
    last_below = np.where(below.any(axis=0), years - np.argmax(below[::-1], axis=0), 0)
    return np.where(last_below == years, np.nan, last_below + 1.0)


def break_even_factor(rest: Array, item: Array, rate: float) -> Array:
    """Factor on one item (its price, or its yield) at which all cash is worth nothing today.

    Parameters
    ----------
    rest : array, shape (year, ...)
        All cash but the item's. [money]
    item : array, shape (year, ...)
        The item's cash, which is in proportion to the factor. [money]
    rate : float
        [1/yr]

    Returns
    -------
    array, shape (...)
        1 is as planned; NaN where the item is worth nothing. [1]

    References
    ----------
    ours: worth of the rest over worth of the item, with the sign turned
    """
    of_rest, of_item = present_value(rest, rate), present_value(item, rate)
    some = np.abs(of_item) > NEARLY
    return np.asarray(np.divide(-of_rest, of_item, out=np.full(of_item.shape, np.nan), where=some))
