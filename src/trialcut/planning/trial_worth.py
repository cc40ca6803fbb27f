"""What a trial is worth: the price of the lot planned now, less that of one planned after the readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.trial_lot import Lot, Planned, plans

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Outcomes:
    """What a trial might read, draw by draw.

    Parameters
    ----------
    values : ndarray, shape (N, D)
        Readings without their errors.
    read : ndarray, shape (N, D)
        With them.
    error_covariance : ndarray, shape (N, N)
        Of the errors.
    """

    values: FloatArray
    read: FloatArray
    error_covariance: FloatArray


@dataclass(frozen=True, kw_only=True)
class Updated:
    """Draws of what is unknown once the readings are in.

    Parameters
    ----------
    left : ndarray, shape (R, D)
        Draws about the old mean, with the new spread.
    moved : ndarray, shape (R, D)
        By how much the readings of each draw move the mean.
    """

    left: FloatArray
    moved: FloatArray


def update(rows: FloatArray, outcomes: Outcomes | None, *, about: FloatArray | None = None) -> Updated:
    """Condition draws on readings.

    Parameters
    ----------
    rows : ndarray, shape (R, D)
        What is to be known.
    outcomes : Outcomes or None
        What a trial might read; None for no trial.
    about : ndarray, shape (R, D), optional
        The rows less their means, where they are at hand.

    Returns
    -------
    Updated
        The same spread for all outcomes.

    Notes
    -----
    Matheron's rule: a draw of q given the reading y* is q_d + C_qy C_yy^-1 (y* - y_d), where y_d is the
    reading of draw d with its error. It is exact where q and y are jointly normal; the covariances are those
    of the draws, with the errors' own added to C_yy.
    """
    if outcomes is None:
        return Updated(left=rows, moved=np.zeros_like(rows[:, :1]))
    count = rows.shape[1]
    scale = np.sqrt(np.diag(outcomes.error_covariance) + outcomes.values.var(axis=1))
    scale = np.where(scale > 0.0, scale, 1.0)[:, None]
    values = (outcomes.values - outcomes.values.mean(axis=1, keepdims=True)) / scale
    if about is None:
        about = rows - rows.mean(axis=1, keepdims=True)
    total = values @ values.T / count + outcomes.error_covariance / (scale * scale.T)
    total = total + 1e-10 * np.eye(len(total))
    gain = about @ np.linalg.solve(total, values / count).T
    read = (outcomes.read - outcomes.values.mean(axis=1, keepdims=True)) / scale
    moved = gain @ read
    return Updated(left=rows - moved, moved=moved)


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """Of one trial.

    Parameters
    ----------
    saving, saving_error : float
        Expected on the lot, and the standard error of the simulation. [currency]
    cost : float
        Of the trial. [currency]
    price : float
        Of the lot of good pieces, expected after the trial. [currency]
    odds : float
        That a piece of the next plan holds everything, expected. [-]
    """

    saving: float
    saving_error: float
    cost: float
    price: float
    odds: float

    @property
    def worth(self) -> float:
        """Saving less cost. [currency]"""
        return self.saving - self.cost


@dataclass(frozen=True, kw_only=True)
class WorthCurve:
    """Of rival trials, the first being none.

    Parameters
    ----------
    worths : tuple of Worth
        One a trial.
    prices : ndarray, shape (K, M)
        Of the lot under each of M outcomes of each trial, outcomes shared. [currency]
    part : ndarray of int, shape (M,)
        Which part of the draws each outcome was planned on.
    plans : tuple of Planned
        The plans behind them, part by part.
    """

    worths: tuple[Worth, ...]
    prices: FloatArray
    part: NDArray[np.intp]
    plans: tuple[Planned, ...]

    def difference(self, first: int, second: int) -> tuple[float, float]:
        """Return by how much the worth of one exceeds that of another, and the standard error of it."""
        saved, error = mean_and_error(self.prices[second] - self.prices[first], self.part)
        return saved - self.worths[first].cost + self.worths[second].cost, error

    @property
    def best(self) -> int:
        """The fewest coupons that no other number beats by more than the error of the simulation."""
        top = max(range(len(self.worths)), key=lambda k: self.worths[k].worth)
        for k in range(top):
            more, error = self.difference(top, k)
            if more <= error:
                return k
        return top


def mean_and_error(values: FloatArray, part: NDArray[np.intp]) -> tuple[float, float]:
    """Return the mean of values, shape (M,), and its standard error.

    The error is the larger of that by the number of outcomes and that by the difference between parts of the
    draws, which outcomes of one part share.
    """
    error = float(values.std() / np.sqrt(values.size))
    means = np.array([values[part == each].mean() for each in np.unique(part)])
    if means.size > 1:
        error = max(error, float(means.std(ddof=1) / np.sqrt(means.size)))
    return float(values.mean()), error


def worth_curve(
    lot: Lot,
    trials: Sequence[Outcomes | None],
    costs: Sequence[float],
    *,
    outcomes: int = 512,
    parts: int = 1,
) -> WorthCurve:
    """Simulate what trials save.

    Parameters
    ----------
    lot : Lot
        What is to be planned.
    trials : sequence of Outcomes or None
        What each might read, the first one None: no trial.
    costs : sequence of float
        Of each. [currency]
    outcomes : int
        M, how many of the draws are taken as the truth in turn.
    parts : int
        Into how many parts the draws are divided. Odds are counted in each part by itself, so that the parts
        show by how much prices hang on the draws.

    Returns
    -------
    WorthCurve
        Worths with their standard errors; every trial meets the same truths and the same errors.
    """
    rows = lot.rows
    about = rows - rows.mean(axis=1, keepdims=True)
    columns = [np.arange(first, rows.shape[1], parts) for first in range(parts)]
    lots = [lot.part(each) for each in columns] if parts > 1 else [lot]
    taken = [each[: -(-outcomes // parts)] for each in columns]
    found = []
    for each in trials:
        after = update(rows, each, about=about)
        planned = [
            plans(
                portion,
                left=after.left[:, here] if parts > 1 else after.left,
                moved=after.moved if each is None else after.moved[:, some],
            )
            for portion, here, some in zip(lots, columns, taken, strict=True)
        ]
        found.append(Planned.joined(planned, [some.size for some in taken]))
    part = np.repeat(np.arange(parts), [some.size for some in taken])
    prices = np.stack([planned.price for planned in found])
    worths = []
    for price, after_it, cost in zip(prices, found, costs, strict=True):
        saving, error = mean_and_error(prices[0] - price, part)
        worths.append(
            Worth(
                saving=saving,
                saving_error=error,
                cost=float(cost),
                price=float(price.mean()),
                odds=float(after_it.odds.mean()),
            )
        )
    return WorthCurve(worths=tuple(worths), prices=prices, part=part, plans=tuple(found))
