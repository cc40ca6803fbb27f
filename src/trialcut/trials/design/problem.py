"""A choice between experiments: what each would read, what it costs, and what is to be learnt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from trialcut.errors import RangeError, UsageError

FloatArray = NDArray[np.float64]

RIDGE = 1e-9
"""Precision given to directions about which nothing is known, over the mean of what one experiment gives: it
keeps a search that starts from too few experiments finite. [-]"""


class Criterion(StrEnum):
    """What is made large or small."""

    D = "D"
    """The determinant of the information: the volume of the joint region is least."""
    A = "A"
    """The sum of the variances of the parameters is least."""
    I = "I"  # noqa: E741, its name in the literature
    """The weighted sum of the variances of given linear targets is least."""


@dataclass(frozen=True, kw_only=True)
class Experiment:
    """One thing that can be done: several readings at once.

    Parameters
    ----------
    label : str
        What it is, for whoever reads the design.
    rows : ndarray, shape (n, P)
        Derivative of its readings by the parameters.
    covariance : ndarray, shape (n, n), or None
        Of the errors of its readings, shared errors left out; the unit matrix if None.
    cost : float
        In whatever unit costs are counted.
    block : str
        What it shares errors with: a session.
    effects : ndarray, shape (n, Q), or None
        Derivative of its readings by the errors that its block shares.
    """

    label: str
    rows: FloatArray
    covariance: FloatArray | None = None
    cost: float = 1.0
    block: str = ""
    effects: FloatArray | None = None


@dataclass(frozen=True, kw_only=True)
class DesignProblem:
    """Experiments to choose from, what is known beforehand, and what is wanted.

    Parameters
    ----------
    experiments : tuple of Experiment
        Candidates, C of them.
    prior_precision : ndarray, shape (P, P), or None
        Of the parameters before any experiment; None if nothing is known.
    criterion : Criterion
        What is optimised.
    targets : ndarray, shape (T, P), or None
        For criterion I: derivative of what is to be predicted by the parameters.
    weights : ndarray, shape (T,), or None
        Of the targets; all one if None.
    wanted : tuple of int or None
        Parameters that D and A look at; the others are a nuisance. All if None.
    block_covariance : ndarray, shape (Q, Q), or None
        Of the errors that each block shares, the same for every block, independent between blocks.
    block_cost : float
        Of opening a block.

    Raises
    ------
    UsageError
        If there is no experiment, or criterion I has no targets.
    RangeError
        If a cost is not above zero, or shapes disagree.

    Notes
    -----
    The errors that a block shares are appended to the parameters, with the inverse of their covariance as
    prior precision; readings are then independent from experiment to experiment.
    """

    experiments: tuple[Experiment, ...]
    prior_precision: FloatArray | None = None
    criterion: Criterion = Criterion.D
    targets: FloatArray | None = None
    weights: FloatArray | None = None
    wanted: tuple[int, ...] | None = None
    block_covariance: FloatArray | None = None
    block_cost: float = 0.0

    def __post_init__(self) -> None:
        if not self.experiments:
            raise UsageError("a design needs at least one experiment to choose from: give candidates")
        if self.criterion is Criterion.I and self.targets is None:
            raise UsageError("criterion I needs targets: say what is to be predicted")
        for each in self.experiments:
            if not each.cost > 0.0:
                raise RangeError(
                    f"experiment {each.label!r} costs {each.cost:g}, and a cost must be above zero:"
                    " give its cost",
                    cost=each.cost,
                )
            if each.rows.ndim != 2 or each.rows.shape[1] != self.parameter_count:
                raise RangeError(
                    f"experiment {each.label!r} has rows of shape {each.rows.shape}, and the first one has"
                    f" {self.parameter_count} parameters: give every experiment the same",
                    shape=each.rows.shape,
                )

    @property
    def parameter_count(self) -> int:
        """P."""
        return int(self.experiments[0].rows.shape[-1])

    @cached_property
    def blocks(self) -> tuple[str, ...]:
        """Names of the blocks, in the order of the candidates."""
        return tuple(dict.fromkeys(each.block for each in self.experiments))

    @cached_property
    def block_of(self) -> NDArray[np.intp]:
        """Position of each candidate's block, shape (C,)."""
        return np.array([self.blocks.index(each.block) for each in self.experiments])

    @cached_property
    def costs(self) -> FloatArray:
        """Of each candidate, shape (C,)."""
        return np.array([each.cost for each in self.experiments])

    @property
    def effect_count(self) -> int:
        """Q."""
        return 0 if self.block_covariance is None else len(self.block_covariance)

    @property
    def full_count(self) -> int:
        """F: parameters and the effects of every block."""
        return self.parameter_count + self.effect_count * len(self.blocks)

    @cached_property
    def whitened(self) -> FloatArray:
        """Rows over their errors' standard deviation, errors uncorrelated, shape (C, N, F).

        N is the largest number of readings; experiments with fewer have rows of zeros, which tell nothing.
        """
        count, P, Q = (
            max(len(each.rows) for each in self.experiments),
            self.parameter_count,
            self.effect_count,
        )
        stacked = np.zeros((len(self.experiments), count, self.full_count))
        for place, each in enumerate(self.experiments):
            rows = np.zeros((len(each.rows), self.full_count))
            rows[:, :P] = each.rows
            if Q and each.effects is not None:
                first = P + Q * int(self.block_of[place])
                rows[:, first : first + Q] = each.effects
            if each.covariance is not None:
                rows = np.linalg.solve(np.linalg.cholesky(each.covariance), rows)
            stacked[place, : len(rows)] = rows
        return stacked

    @cached_property
    def informations(self) -> FloatArray:
        """Fisher information of each candidate, shape (C, F, F)."""
        return np.asarray(np.swapaxes(self.whitened, 1, 2) @ self.whitened)

    @cached_property
    def start(self) -> FloatArray:
        """Precision before any experiment, positive definite, shape (F, F)."""
        P, Q = self.parameter_count, self.effect_count
        precision = np.zeros((self.full_count, self.full_count))
        if self.prior_precision is not None:
            precision[:P, :P] = self.prior_precision
        for place in range(len(self.blocks) if Q else 0):
            assert self.block_covariance is not None
            first = P + Q * place
            precision[first : first + Q, first : first + Q] = np.linalg.inv(self.block_covariance)
        ridge = RIDGE * np.maximum(np.einsum("cff->cf", self.informations).mean(axis=0), np.finfo(float).tiny)
        scale = np.sqrt(ridge / RIDGE)
        lowest = np.linalg.eigvalsh(precision / np.outer(scale, scale)).min() if np.all(scale > 0.0) else 0.0
        return precision + np.diag(ridge) if lowest < RIDGE else precision

    @cached_property
    def nuisance(self) -> NDArray[np.intp]:
        """Positions that criterion D does not look at, shape (F - wanted,)."""
        wanted = set(range(self.parameter_count) if self.wanted is None else self.wanted)
        return np.array([k for k in range(self.full_count) if k not in wanted], dtype=np.intp)

    @cached_property
    def weighting(self) -> FloatArray:
        """Matrix W such that the trace of W times the covariance is what A and I make small, shape (F, F)."""
        full = np.zeros((self.full_count, self.full_count))
        P = self.parameter_count
        if self.criterion is Criterion.I:
            targets = np.asarray(self.targets, dtype=float)
            weights = np.ones(len(targets)) if self.weights is None else self.weights
            full[:P, :P] = targets.T @ (weights[:, None] * targets)
        else:
            wanted = list(range(P)) if self.wanted is None else list(self.wanted)
            full[wanted, wanted] = 1.0
        return full

    def cost_of(self, design: Sequence[int]) -> float:
        """Return the cost of a design, its blocks opened once each."""
        picks = list(design)
        opened = len(set(self.block_of[picks].tolist())) if picks else 0
        return float(self.costs[picks].sum()) + self.block_cost * opened
