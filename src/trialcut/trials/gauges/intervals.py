"""Confidence interval of a standard deviation that is a sum of independent mean squares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from trialcut.trials.gauges.types import Interval


@dataclass(frozen=True, slots=True)
class Term:
    """A mean square with its positive factor in it, and its degrees of freedom."""

    variance: float
    freedom: float


def sd_interval(terms: Sequence[Term], *, estimate: float, confidence: float) -> Interval:
    """
    Interval for the square root of a sum of mean squares.

    Parameters
    ----------
    terms : sequence of Term
        Independent; each times its degrees of freedom over its expectation follows chi-square.
    estimate : float
        Standard deviation to go with it. [m]
    confidence : float
        Two-sided. [-]

    Returns
    -------
    Interval
        Exact for a single term.

    Notes
    -----
    Modified large sample: L = s - sqrt(sum (G_i v_i)^2), U = s + sqrt(sum (H_i v_i)^2), with
    G = 1 - nu/chi2(1 - a/2) and H = nu/chi2(a/2) - 1, where chi2(p) leaves p below it.

    References
    ----------
    F. A. Graybill, C. M. Wang, J. Am. Stat. Assoc. 75 (1980) 869-873 (from memory).
    """
    from scipy.special import chdtri  # noqa: PLC0415 - heavy

    tail = 0.5 * (1.0 - confidence)
    total = sum(term.variance for term in terms)
    below = sum(((1.0 - term.freedom / chdtri(term.freedom, tail)) * term.variance) ** 2 for term in terms)
    above = sum(
        ((term.freedom / chdtri(term.freedom, 1.0 - tail) - 1.0) * term.variance) ** 2 for term in terms
    )
    return Interval(
        estimate=estimate,
        low=sqrt(max(total - sqrt(below), 0.0)),
        high=sqrt(total + sqrt(above)),
        confidence=confidence,
    )
