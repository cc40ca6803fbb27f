"""Mixtures of Student densities: draw, evaluate, adapt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trialcut.trials.posterior.pareto import effective_sample_size, log_sum_exp
from trialcut.trials.posterior.problem import FloatArray

LEAST_SHARE = 0.05
ADAPTED_DOF = 8.0


@dataclass(frozen=True, kw_only=True)
class Student:
    """One member of a mixture.

    Parameters
    ----------
    log_share : float
        Logarithm of its share of the mixture.
    dof : float
        Degrees of freedom.
    mean : array, shape (d,)
        Centre.
    root : array, shape (d, d)
        Lower triangular root of its scale matrix.
    """

    log_share: float
    dof: float
    mean: FloatArray
    root: FloatArray

    def distances(self, u: FloatArray) -> FloatArray:
        """Squared distance of each column of `u` (d, D) from the centre, in scales, shape (D,)."""
        whitened = np.linalg.inv(self.root) @ (u - self.mean[:, None])
        return np.asarray(np.einsum("dn,dn->n", whitened, whitened))

    def log_density(self, distances: FloatArray) -> FloatArray:
        """Logarithm of its share times its density at squared distances (D,), shape (D,)."""
        d, nu = len(self.mean), self.dof
        constant = math.lgamma(0.5 * (nu + d)) - math.lgamma(0.5 * nu) - 0.5 * d * math.log(math.pi * nu)
        constant -= float(np.sum(np.log(np.diag(self.root))))
        return np.asarray(self.log_share + constant - 0.5 * (nu + d) * np.log1p(distances / nu))


def mixture_log_density(parts: Sequence[Student], u: FloatArray) -> FloatArray:
    """Logarithm of the density of a mixture.

    Parameters
    ----------
    parts : sequence of Student
        The mixture.
    u : array, shape (d, D)
        Where.

    Returns
    -------
    array, shape (D,)
        Zero in no dimensions.
    """
    return log_sum_exp(np.stack([part.log_density(part.distances(u)) for part in parts]))


def mixture_draws(parts: Sequence[Student], draws: int, *, rng: np.random.Generator) -> FloatArray:
    """Draw from a mixture, each member in its exact share.

    Parameters
    ----------
    parts : sequence of Student
        The mixture.
    draws : int
        How many.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    array, shape (d, draws)
        Grouped by member.
    """
    edges = np.rint(draws * np.cumsum([math.exp(part.log_share) for part in parts])).astype(int)
    edges[-1] = draws
    blocks = []
    for part, size in zip(parts, np.diff(edges, prepend=0), strict=True):
        normal = rng.standard_normal((len(part.mean), size))
        stretch = np.sqrt(part.dof / rng.chisquare(part.dof, size))
        blocks.append(part.mean[:, None] + part.root @ normal * stretch)
    return np.concatenate(blocks, axis=1)


def adapted(parts: Sequence[Student], u: FloatArray, log_weights: FloatArray) -> tuple[Student, ...]:
    """Move a mixture towards a weighted sample.

    Parameters
    ----------
    parts : sequence of Student
        The mixture so far.
    u : array, shape (d, S)
        The sample.
    log_weights : array, shape (S,)
        Normalised; flattened first where they are worth too few draws to learn a shape from.

    Returns
    -------
    tuple of Student
        After one step of expectation and maximisation, each scale matrix drawn towards the sample's own
        covariance as far as its member holds few draws.

    References
    ----------
    Cappe, O. et al. 2008, Stat. Comput. 18:447; Peel, D. & McLachlan, G. J. 2000, Stat. Comput. 10:339 (from
    memory)
    """
    dimension = len(u)
    log_weights = _flattened(log_weights, least=10.0 * dimension)
    weights = np.exp(log_weights)
    size = effective_sample_size(log_weights)
    middle = u @ weights
    whole = ((u - middle[:, None]) * weights) @ (u - middle[:, None]).T + 1e-10 * np.eye(dimension)
    distances = np.stack([part.distances(u) for part in parts])
    joint = np.stack([part.log_density(near) for part, near in zip(parts, distances, strict=True)])
    responsibility = np.exp(joint - log_sum_exp(joint)) * weights
    shares = np.maximum(np.sum(responsibility, axis=1), LEAST_SHARE)
    shares /= np.sum(shares)
    result = []
    for part, near, held, share in zip(parts, distances, responsibility, shares, strict=True):
        pulls = held * (part.dof + dimension) / (part.dof + near)
        worth = size * float(np.sum(held))
        trust = worth / (worth + 4.0 * dimension)
        own = u @ pulls / max(float(np.sum(pulls)), 1e-300)
        mean = trust * own + (1.0 - trust) * middle
        away = u - mean[:, None]
        spread = (away * pulls) @ away.T / max(float(np.sum(held)), 1e-300)
        scale = trust * spread + (1.0 - trust) * whole
        root = np.linalg.cholesky(scale + 1e-10 * np.trace(scale) / dimension * np.eye(dimension))
        dof = min(part.dof, ADAPTED_DOF)
        result.append(Student(log_share=math.log(share), dof=dof, mean=mean, root=root))
    return tuple(result)


def _flattened(log_weights: FloatArray, *, least: float) -> FloatArray:
    power = 1.0
    result = log_weights
    while effective_sample_size(result) < min(least, 0.5 * len(log_weights)) and power > 1e-3:
        power *= 0.7
        result = power * log_weights
        result = result - log_sum_exp(result)
    return result
