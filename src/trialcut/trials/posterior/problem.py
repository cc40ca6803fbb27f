"""What a fit is asked, and what it answers. Nothing here knows what the readings are of."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from trialcut.errors import UsageError

FloatArray: TypeAlias = NDArray[np.float64]
BoolArray: TypeAlias = NDArray[np.bool_]

BAD_FLAGS = frozenset(
    {"no-convergence", "not-identified", "low-ess", "pareto-k", "prior-data-conflict", "residual-pattern"}
)
"""Codes of the flags with which a fit must not be used for intervals."""


@dataclass(frozen=True, kw_only=True)
class Problem:
    """Readings y = f(z) + B e + noise, with z and e unknown.

    Parameters
    ----------
    values : array, shape (N,)
        Readings y, in whatever unit `predict` answers in.
    noise_sd : array, shape (N,)
        Standard deviation of the noise of each reading.
    predict : callable
        f: parameters z (P, D) to readings (N, D), column by column.
    count : int
        Number of parameters P.
    effects : callable or None
        B: parameters z (P,) to the change of the readings per unit of each effect (N, Q).
    effect_covariance : array or None, shape (Q, Q)
        Prior covariance K of the effects e, whose prior mean is zero.
    censored : callable or None
        Parameters z (P, D) to what observations that are not plain readings add to the
        log-likelihood (D,).
    prior_precision : array, shape (P,)
        Of each parameter about zero; zero for a flat prior.
    groups : tuple of str
        The group of each reading; groups are left out in turn to score the model.
    names : tuple of str
        Of the parameters.
    robust_dof : float or None
        Degrees of freedom of the Student distribution of the noise; None for Gaussian noise.
    ids : tuple of str
        Of the readings, for messages; numbered from 1 where empty.
    covariates : mapping of str to array, shape (N,)
        What residuals are compared with in search of a pattern.
    start : array or None, shape (P,)
        Where the search for the mode starts; the prior mean unless given.
    """

    values: FloatArray
    noise_sd: FloatArray
    predict: Callable[[FloatArray], FloatArray]
    count: int
    effects: Callable[[FloatArray], FloatArray] | None = None
    effect_covariance: FloatArray | None = None
    censored: Callable[[FloatArray], FloatArray] | None = None
    prior_precision: FloatArray
    groups: tuple[str, ...]
    names: tuple[str, ...]
    robust_dof: float | None = None
    ids: tuple[str, ...] = ()
    covariates: Mapping[str, FloatArray] = field(default_factory=dict)
    start: FloatArray | None = None

    def __post_init__(self) -> None:
        """Refuse shapes that do not belong together."""
        readings = len(self.values)
        expected = {
            "noise_sd": (len(self.noise_sd), readings),
            "groups": (len(self.groups), readings),
            "prior_precision": (len(self.prior_precision), self.count),
            "names": (len(self.names), self.count),
        }
        if self.ids:
            expected["ids"] = (len(self.ids), readings)
        for name, (given, wanted) in expected.items():
            if given != wanted:
                raise UsageError(f"{name} has {given} entries where {wanted} are needed; give one for each.")
        if (self.effects is None) != (self.effect_covariance is None):
            raise UsageError("effects and effect_covariance go together; give both or neither.")

    @property
    def reading_ids(self) -> tuple[str, ...]:
        """Ids of the readings, numbers from 1 where none were given."""
        return self.ids or tuple(str(number) for number in range(1, len(self.values) + 1))

    @property
    def group_names(self) -> tuple[str, ...]:
        """Each group once, in the order of its first reading."""
        return tuple(dict.fromkeys(self.groups))

    @property
    def is_flat(self) -> BoolArray:
        """Which parameters have no prior, shape (P,)."""
        return np.asarray(self.prior_precision <= 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Flag:
    """One thing noticed about a fit.

    Parameters
    ----------
    code : str
        Stable identifier, ``"low-ess"``.
    message : str
        For a reader.
    cause : tuple of str
        Ids of readings, names of parameters or names of groups that it is about.
    """

    code: str
    message: str
    cause: tuple[str, ...] = ()

    @property
    def is_bad(self) -> bool:
        """Whether a fit with this flag must not be used for intervals."""
        return self.code in BAD_FLAGS


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupScores:
    """How well each group was predicted by a fit to all the others.

    Parameters
    ----------
    names : tuple of str
        Of the G groups.
    elpd : array, shape (G,)
        Logarithm of the predictive density of the group; not a number where the others do not
        determine the parameters.
    pareto_k : array, shape (G,)
        Tail index of the importance weights that leave the group out.
    exact : array of bool, shape (G,)
        Whether the model was fitted again without the group.
    shift : array, shape (G, P)
        Change of the mean of each parameter by leaving the group out, in standard deviations of
        the whole fit.
    """

    names: tuple[str, ...]
    elpd: FloatArray
    pareto_k: FloatArray
    exact: BoolArray
    shift: FloatArray


@dataclass(frozen=True, kw_only=True)
class Posterior:
    """A fit.

    Parameters
    ----------
    mode : array, shape (P,)
        Most probable parameters.
    covariance : array, shape (P, P)
        Of the Gaussian approximation at the mode.
    draws : array, shape (P, D)
        Equally likely parameters.
    effect_draws : array, shape (Q, D)
        Effects, each column drawn with that column of `draws`.
    weights : array, shape (N,)
        Of each reading: 1 counts in full, near 0 hardly.
    residuals : array, shape (N,)
        Reading minus prediction at the mode with the effects at their means.
    standardised : array, shape (N,)
        Difference of each reading from what all the others predict, over its standard deviation.
    effective_sample_size : float
        Of the importance sample that `draws` come from.
    pareto_k : float
        Tail index of its weights; above 0.7 its averages cannot be trusted.
    evidence : float
        Logarithm of the marginal likelihood in the Gaussian approximation; not a number under a
        flat prior.
    loo : GroupScores
        Predictive scores of the groups.
    flags : tuple of Flag
        What was noticed.
    """

    mode: FloatArray
    covariance: FloatArray
    draws: FloatArray
    effect_draws: FloatArray
    weights: FloatArray
    residuals: FloatArray
    standardised: FloatArray
    effective_sample_size: float
    pareto_k: float
    evidence: float
    loo: GroupScores
    flags: tuple[Flag, ...]

    @property
    def good(self) -> bool:
        """Whether intervals from this fit may be used."""
        return not any(flag.is_bad for flag in self.flags)

    def flagged(self, code: str) -> tuple[Flag, ...]:
        """All flags of one code."""
        return tuple(flag for flag in self.flags if flag.code == code)
