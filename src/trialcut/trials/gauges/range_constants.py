"""Constants of the range of a normal sample, from their integrals.

The range of n values of a standard normal population has mean d2 and standard deviation d3. The root mean
square of the mean of m such ranges is d2*: a mean range over d2* estimates the standard deviation with the
right variance, as one standard deviation from a sample does.
"""

from __future__ import annotations

from functools import cache
from math import sqrt

import numpy as np

from trialcut.errors import RangeError

_WIDEST = 16.0
"""No range beyond this counts. [-]"""
_POINTS = 160
_DECIMALS = 4


@cache
def range_moments(size: int) -> tuple[float, float]:
    """
    Mean and standard deviation of the range of a sample of a standard normal population.

    Parameters
    ----------
    size : int
        Values in a sample, 2 or more.

    Returns
    -------
    tuple of float
        d2 and d3. [-]

    Raises
    ------
    RangeError
        If the size is below 2.

    Notes
    -----
    The density of a range r is n (n - 1) times the integral over x of
    phi(x) phi(x + r) (Phi(x + r) - Phi(x))^(n - 2).

    References
    ----------
    Own evaluation; compared in the tests with printed tables.

    Examples
    --------
    >>> round(range_moments(3)[0], 5)
    1.69257
    """
    from scipy.special import ndtr  # noqa: PLC0415 - heavy

    if size < 2:
        raise RangeError(f"a sample of {size} has no range: it must hold 2 or more values")
    nodes, weights = np.polynomial.legendre.leggauss(_POINTS)
    r = 0.5 * _WIDEST * (nodes + 1.0)
    x = np.linspace(-12.0 - _WIDEST, 12.0, 561)[:, None]
    inside = ndtr(x + r) - ndtr(x)
    bells = np.exp(-0.5 * (x * x + (x + r) ** 2)) / (2.0 * np.pi)
    density = size * (size - 1) * np.sum(bells * inside ** (size - 2), axis=0) * (x[1, 0] - x[0, 0])
    share = density * weights * 0.5 * _WIDEST
    mean = float(np.sum(share * r))
    return mean, sqrt(float(np.sum(share * r * r)) - mean * mean)


def d2_star(*, size: int, samples: int) -> float:
    """
    Divisor that turns the mean of a few ranges into a standard deviation.

    Parameters
    ----------
    size : int
        Values in each sample.
    samples : int
        Ranges that were averaged, one or more.

    Returns
    -------
    float
        d2*, which falls to d2 as the samples grow many. [-]

    Raises
    ------
    RangeError
        If the size is below 2.

    Notes
    -----
    d2*^2 = d2^2 + d3^2 / m.

    References
    ----------
    A. J. Duncan, Quality Control and Industrial Statistics, table D3 (from memory).

    Examples
    --------
    >>> round(1.0 / d2_star(size=10, samples=1), 4)
    0.3146
    """
    d2, d3 = range_moments(size)
    return sqrt(d2 * d2 + d3 * d3 / samples)


def repeat_factor(size: int) -> float:
    """
    Factor from the mean of many ranges to a standard deviation.

    Parameters
    ----------
    size : int
        Repeats of each cell.

    Returns
    -------
    float
        K1, one over d2. [-]

    Raises
    ------
    RangeError
        If the size is below 2.

    Notes
    -----
    To four decimals, as the published sheet prints it, so that studies agree with those worked elsewhere.

    References
    ----------
    AIAG, Measurement Systems Analysis, 4th edition (by way of a public copy).

    Examples
    --------
    >>> repeat_factor(3)
    0.5908
    """
    return round(1.0 / range_moments(size)[0], _DECIMALS)


def spread_factor(size: int) -> float:
    """
    Factor from the range of a single set of means to a standard deviation.

    Parameters
    ----------
    size : int
        Appraisers, or parts.

    Returns
    -------
    float
        K2 for appraisers, K3 for parts: one over d2* of a single sample. [-]

    Raises
    ------
    RangeError
        If the size is below 2.

    Notes
    -----
    To four decimals, as the published sheet prints it, so that studies agree with those worked elsewhere.

    References
    ----------
    AIAG, Measurement Systems Analysis, 4th edition (by way of a public copy).

    Examples
    --------
    >>> spread_factor(3), spread_factor(10)
    (0.5231, 0.3146)
    """
    return round(1.0 / d2_star(size=size, samples=1), _DECIMALS)


def range_freedom(*, size: int, samples: int) -> float:
    """
    Degrees of freedom that a standard deviation from a mean range is worth.

    Parameters
    ----------
    size : int
        Values in each sample.
    samples : int
        Ranges that were averaged.

    Returns
    -------
    float
        nu of the chi distribution with the same coefficient of variation, to second order. [-]

    Raises
    ------
    RangeError
        If the size is below 2.

    References
    ----------
    P. B. Patnaik, Biometrika 37 (1950) 78-87 (from memory).

    Examples
    --------
    >>> round(range_freedom(size=10, samples=1), 1)
    7.7
    """
    d2, d3 = range_moments(size)
    return 1.0 / (2.0 * sqrt(1.0 + 2.0 * (d3 / d2) ** 2 / samples) - 2.0)


def range_limit_factor(size: int) -> float:
    """
    Factor from the mean range to the limit beyond which a single range is out of control.

    Parameters
    ----------
    size : int
        Values in each sample.

    Returns
    -------
    float
        D4, three standard deviations above the mean. [-]

    Raises
    ------
    RangeError
        If the size is below 2.

    Examples
    --------
    >>> round(range_limit_factor(3), 4)
    2.5746
    """
    d2, d3 = range_moments(size)
    return 1.0 + 3.0 * d3 / d2
