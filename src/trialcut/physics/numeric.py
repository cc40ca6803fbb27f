"""What kernels take and give: floats or arrays, broadcast together."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]
Numeric: TypeAlias = float | Array


def plain(values: Array) -> Numeric:
    """Give a float for an array without dimensions, the array otherwise.

    Parameters
    ----------
    values : array
        Result of a kernel.

    Returns
    -------
    float or array
        Scalars in, float out.
    """
    return float(values) if np.ndim(values) == 0 else values


def floats(values: Numeric) -> Array:
    """Give an array of floats.

    Parameters
    ----------
    values : float or array
        Argument of a kernel.

    Returns
    -------
    array
        Of the same shape.
    """
    return np.asarray(values, dtype=np.float64)
