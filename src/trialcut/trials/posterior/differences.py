"""Derivatives by differences, all columns in one call."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from trialcut.trials.posterior.problem import FloatArray

STEP = 1e-4
FINE_STEP = 1e-3
CURVATURE_STEP = 5e-3


def jacobian(
    predict: Callable[[FloatArray], FloatArray], z: FloatArray, *, scale: FloatArray, fine: bool = False
) -> FloatArray:
    """Derivatives of predictions by parameters.

    Parameters
    ----------
    predict : callable
        Parameters (P, D) to predictions (N, D).
    z : array, shape (P,)
        Where.
    scale : array, shape (P,)
        Size of each parameter over which predictions change appreciably.
    fine : bool
        Take fourth-order differences, at twice the calls.

    Returns
    -------
    array, shape (N, P)
        Central differences: second order with a step of 1e-4 of `scale`, or fourth order with 1e-3.
        Where a prediction is not finite its derivative is zero.
    """
    count = len(z)
    step = (FINE_STEP if fine else STEP) * scale
    shifts = (1.0, -1.0, 2.0, -2.0) if fine else (1.0, -1.0)
    columns = np.concatenate([z[:, None] + np.diag(shift * step) for shift in shifts], axis=1)
    blocks = np.split(predict(columns), len(shifts), axis=1)
    # the steps as they came out in floating point
    taken = [np.diagonal(columns[:, k * count : (k + 1) * count]) - z for k in range(len(shifts))]
    near = (blocks[0] - blocks[1]) / (taken[0] - taken[1])
    slope = near
    if fine:
        far = (blocks[2] - blocks[3]) / (taken[2] - taken[3])
        slope = (4.0 * near - far) / 3.0
    return np.asarray(np.where(np.isfinite(slope), slope, 0.0))


def gradient(value: Callable[[FloatArray], FloatArray], z: FloatArray, *, scale: FloatArray) -> FloatArray:
    """Derivatives of one value by parameters.

    Parameters
    ----------
    value : callable
        Parameters (P, D) to values (D,).
    z : array, shape (P,)
        Where.
    scale : array, shape (P,)
        Size of each parameter over which the value changes appreciably.

    Returns
    -------
    array, shape (P,)
        Central differences.
    """
    return np.asarray(jacobian(lambda columns: value(columns)[None, :], z, scale=scale)[0])


def curvature(value: Callable[[FloatArray], FloatArray], z: FloatArray, *, scale: FloatArray) -> FloatArray:
    """Second derivatives of one value by parameters.

    Parameters
    ----------
    value : callable
        Parameters (P, D) to values (D,).
    z : array, shape (P,)
        Where.
    scale : array, shape (P,)
        Size of each parameter over which the value changes appreciably.

    Returns
    -------
    array, shape (P, P)
        Symmetric; from 1 + 2P + P(P - 1)/2 evaluations in one call.
    """
    count = len(z)
    step = np.diag(CURVATURE_STEP * scale)
    first, second = np.triu_indices(count, k=1)
    columns = z[:, None] + np.concatenate(
        [np.zeros((count, 1)), step, -step, step[:, first] + step[:, second]], axis=1
    )
    values = value(columns)
    centre, ahead, behind = values[0], values[1 : count + 1], values[count + 1 : 2 * count + 1]
    both = values[2 * count + 1 :]
    size = np.diag(step)
    second_along = (ahead - 2.0 * centre + behind) / size**2
    result = np.diag(second_along)
    mixed = (both - ahead[first] - ahead[second] + centre) / (size[first] * size[second])
    result[first, second] = mixed
    result[second, first] = mixed
    return np.asarray(np.where(np.isfinite(result), result, 0.0))
