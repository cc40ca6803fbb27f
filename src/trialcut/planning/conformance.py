"""Does a measured value conform, and how often would a rule of acceptance be wrong (JCGM 106).

`standard_uncertainty` is that of the measurement. Limits that are left out do not bound.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf, isfinite
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from trialcut.errors import RangeError


@dataclass(frozen=True, slots=True)
class Risks:
    """Chances of a wrong decision on a piece taken at random. [-]

    Parameters
    ----------
    consumer : float
        That it is accepted and does not conform.
    producer : float
        That it is rejected and does conform.
    """

    consumer: float
    producer: float


def conformance_probability(
    *,
    estimate: ArrayLike,
    standard_uncertainty: ArrayLike,
    lower: float | None = None,
    upper: float | None = None,
) -> Any:
    """Probability that the true value lies within the limits, for a normal spread of knowledge.

    Parameters
    ----------
    estimate : float or array, shape S
        Best estimate, as measured or forecast.
    standard_uncertainty : float or array, shape S
        Of the estimate, zero or more.
    lower, upper : float, optional
        Limits, in the unit of the estimate.

    Returns
    -------
    float or array, shape S
        Probability. [-]

    Raises
    ------
    RangeError
        If an uncertainty is negative.

    Notes
    -----
    p = Phi((upper - y)/u) - Phi((lower - y)/u). With no uncertainty it is 1 within the limits and 0 outside.

    References
    ----------
    JCGM 106:2012, 7 (by way of lecture notes and a public notebook).

    Examples
    --------
    >>> round(conformance_probability(estimate=52.0, standard_uncertainty=1.0, upper=50.0), 5)
    0.02275
    """
    from scipy.special import ndtr  # noqa: PLC0415 - heavy

    y, u = np.broadcast_arrays(
        np.asarray(estimate, dtype=float), np.asarray(standard_uncertainty, dtype=float)
    )
    if np.any(u < 0.0):
        raise RangeError("standard uncertainty is negative: it must be zero or more")
    low, high = -inf if lower is None else lower, inf if upper is None else upper
    with np.errstate(divide="ignore", invalid="ignore"):
        smooth = ndtr((high - y) / u) - ndtr((low - y) / u)
    probability = np.where(u > 0.0, smooth, (y >= low) & (y <= high))
    return float(probability) if probability.ndim == 0 else probability


def guard_band(*, standard_uncertainty: float, probability: float = 0.95) -> float:
    """Distance to stay within a single limit so that what is accepted conforms with a probability.

    Parameters
    ----------
    standard_uncertainty : float
        Of the measurement.
    probability : float
        Asked conformance probability at the acceptance limit, over 0 and under 1. [-]

    Returns
    -------
    float
        In the unit of the uncertainty; negative below one half.

    Raises
    ------
    RangeError
        If the probability is not between 0 and 1.

    Notes
    -----
    One limit at a time: where the uncertainty is not small against the tolerance, both limits count and
    `conformance_probability` itself is the measure.

    References
    ----------
    ISO 14253-1:2017, second-hand: 1.645 u at 95 %.
    """
    from scipy.special import ndtri  # noqa: PLC0415 - heavy

    if not 0.0 < probability < 1.0:
        raise RangeError(f"probability is {probability:g}: it must lie between 0 and 1")
    return float(ndtri(probability)) * standard_uncertainty


def global_risks(
    density: Callable[[float], float],
    *,
    standard_uncertainty: float,
    lower: float | None = None,
    upper: float | None = None,
    accept_lower: float | None = None,
    accept_upper: float | None = None,
    support: tuple[float, float] = (-inf, inf),
) -> Risks:
    """Risks of accepting and rejecting wrongly over a whole production.

    Parameters
    ----------
    density : callable
        Probability density of the true values.
    standard_uncertainty : float
        Of the measurement, normal and positive.
    lower, upper : float, optional
        Limits of what conforms.
    accept_lower, accept_upper : float, optional
        Limits of what is accepted.
    support : tuple of float
        Where the density is not zero.

    Returns
    -------
    Risks
        Of consumer and producer.

    Raises
    ------
    RangeError
        If the uncertainty is not positive.

    References
    ----------
    JCGM 106:2012, 9.5 (by way of a public notebook).
    """
    from scipy.integrate import quad  # noqa: PLC0415 - heavy
    from scipy.special import ndtr  # noqa: PLC0415 - heavy

    if not standard_uncertainty > 0.0:
        raise RangeError(f"standard uncertainty is {standard_uncertainty:g}: it must be greater than zero")
    low, high = -inf if lower is None else lower, inf if upper is None else upper
    accept_low = -inf if accept_lower is None else accept_lower
    accept_high = inf if accept_upper is None else accept_upper

    def accepted(value: float) -> float:
        u = standard_uncertainty
        return float(ndtr((accept_high - value) / u) - ndtr((accept_low - value) / u))

    def integral(function: Callable[[float], float], start: float, stop: float) -> float:
        if not start < stop:
            return 0.0
        return float(quad(function, start, stop, limit=400, epsabs=1e-12)[0])

    def consumer(value: float) -> float:
        return density(value) * accepted(value)

    def producer(value: float) -> float:
        return density(value) * (1.0 - accepted(value))

    first, last = support
    below = integral(consumer, first, min(low, last)) if isfinite(low) else 0.0
    above = integral(consumer, max(high, first), last) if isfinite(high) else 0.0
    return Risks(below + above, integral(producer, max(low, first), min(high, last)))
