"""Small problems with known answers for fits."""

import numpy as np

from trialcut.trials.posterior import Problem


def linear_problem(*, seed=3, effects=True, robust_dof=None, change=None):
    """24 readings in six groups, five parameters of which the last is not seen, a shift per group.

    Gives the problem, its slopes, its loadings and the covariance about the prediction.
    """
    rng = np.random.default_rng(seed)
    readings, count = 24, 5
    slopes = rng.standard_normal((readings, count))
    slopes[:, 4] = 0.0
    loadings = np.kron(np.eye(6), np.ones((4, 1))) if effects else np.zeros((readings, 0))
    covariance = 0.3**2 * np.eye(loadings.shape[1])
    noise = rng.uniform(0.1, 0.3, readings)
    truth = rng.standard_normal(count)
    values = slopes @ truth + loadings @ (0.3 * rng.standard_normal(loadings.shape[1]))
    values = values + noise * rng.standard_normal(readings)
    if change is not None:
        values = change(values)
    problem = Problem(
        values=values,
        noise_sd=noise,
        predict=lambda z: slopes @ z,
        count=count,
        effects=(lambda _: loadings) if effects else None,
        effect_covariance=covariance if effects else None,
        prior_precision=np.ones(count),
        groups=tuple(f"C{number // 4 + 1}" for number in range(readings)),
        names=("a", "b", "c", "d", "e"),
        robust_dof=robust_dof,
    )
    return problem, slopes, loadings, loadings @ covariance @ loadings.T + np.diag(noise**2)


def simple_problem(*, values, noise_sd, predict, count, **rest):
    """Every reading its own group, standard normal priors."""
    return Problem(
        values=np.asarray(values, dtype=float),
        noise_sd=np.broadcast_to(np.asarray(noise_sd, dtype=float), np.shape(values)),
        predict=predict,
        count=count,
        **{
            "prior_precision": np.ones(count),
            "groups": tuple(f"C{number}" for number in range(1, len(values) + 1)),
            "names": tuple("abcdefghijkl"[:count]),
        }
        | rest,
    )
