"""How long a fit of 40 readings by all three kerf forms takes, and emcee on the same posterior."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from statistics import median
from time import perf_counter

import emcee
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from trial_samples import POSITION_SD, sample_trial, simulated
from trialcut.physics.kerf_forms import KerfForm
from trialcut.trials.fit import fit_trials
from trialcut.trials.fit_model import FitModel, Scales
from trialcut.trials.posterior import Problem, fit_posterior
from trialcut.trials.posterior.effects import scatter_at
from trialcut.trials.predict import reading_table

Row = tuple[str, float, float | None, float | None, str, bool]
LIMIT = 2.0
WORTH = 2000.0
"""Effective draws that either sampler is asked for."""


def run(repeats: int = 5) -> list[Row]:
    """Return name, seconds, rival's seconds, ratio, target, met."""
    trial = sample_trial(speeds=(1.5e-3, 2.5e-3, 4e-3, 6e-3))
    readings, _ = simulated([trial], seed=1)
    whole = _median(lambda: fit_trials([trial], readings, position_sd=POSITION_SD, version="bench"), repeats)
    model = FitModel(reading_table([trial], readings), KerfForm.CLOSING, position_sd=POSITION_SD)
    problem = replace(model.problem(Scales()), robust_dof=None)
    one = _median(lambda: fit_posterior(problem, draws=2048, seed=1), repeats)
    rival = _emcee(problem)
    return [
        (f"fit, {len(readings)} readings, 3 forms", whole, None, None, "<= 2 s", whole <= LIMIT),
        (f"one form, {problem.count} parameters, against emcee", one, rival, rival / one, "none", True),
    ]


def _emcee(problem: Problem) -> float:
    """Seconds until emcee has as many effective draws of the same posterior."""
    fit = fit_posterior(problem, draws=2048, seed=1)
    scatter = scatter_at(problem, fit.mode, noise_variance=problem.noise_sd**2)

    def log_density(scores: np.ndarray) -> np.ndarray:
        residuals = scatter.whitener @ (problem.values[:, None] - problem.predict(scores.T))
        return -0.5 * (residuals**2).sum(axis=0) - 0.5 * (scores**2).sum(axis=1)

    walkers, steps = 4 * problem.count, 1000
    chance = np.random.default_rng(1)
    start = fit.mode + chance.multivariate_normal(np.zeros(problem.count), fit.covariance, size=walkers)
    sampler = emcee.EnsembleSampler(walkers, problem.count, log_density, vectorize=True)
    begun = perf_counter()
    sampler.run_mcmc(start, steps, progress=False)
    took = perf_counter() - begun
    worth = walkers * steps / sampler.get_autocorr_time(tol=0).max()
    return took * WORTH / worth


def _median(call, repeats: int) -> float:
    call()
    times = []
    for _ in range(repeats):
        start = perf_counter()
        call()
        times.append(perf_counter() - start)
    return median(times)


if __name__ == "__main__":
    for row in run():
        print(row)
