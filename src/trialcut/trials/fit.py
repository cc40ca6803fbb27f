"""From trials and readings to a fit: three kerf forms side by side, weighed by what they forecast."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np

from trialcut.errors import DataError
from trialcut.physics.cut import unfitted_separation_speed
from trialcut.physics.kerf_forms import KerfForm
from trialcut.trials.fit_flags import fit_flags
from trialcut.trials.fit_model import FitModel, Scales
from trialcut.trials.fit_scales import likeliest_scales
from trialcut.trials.fit_types import Fit, FormFit
from trialcut.trials.posterior import Posterior, fit_posterior, form_weights, score_difference
from trialcut.trials.predict import ReadingTable, reading_table
from trialcut.trials.types import Reading, Trial

DRAWS = 2048
LEAST_READINGS = 2
"""Readings below which nothing is fitted."""
FORM_WEIGHT_LEAST = 0.01
"""A form below this weight gets no draws. [-]"""

Progress = Callable[[str, float], None]


@dataclass(frozen=True, kw_only=True)
class _Fitted:
    """One form with its model and posterior."""

    model: FitModel
    scales: Scales
    posterior: Posterior


def fit_trials(
    trials: Sequence[Trial],
    readings: Sequence[Reading],
    *,
    position_sd: float,
    version: str,
    seed: int = 1,
    draws: int = DRAWS,
    created: datetime | None = None,
    progress: Progress | None = None,
) -> Fit:
    """
    Fit the readings of one machine.

    Parameters
    ----------
    trials : sequence of Trial
        All that the readings belong to, of one machine and one abrasive.
    readings : sequence of Reading
        Current values.
    position_sd : float
        Of the machine's path, an edge at a time. [m]
    version : str
        Of Trialcut.
    seed, draws : int
        Of the sampling.
    created : datetime, optional
        Now, unless given.
    progress : callable, optional
        Called with what is being done and the fraction done; it may raise to cancel.

    Returns
    -------
    Fit
        Forms best first, with flags; `Fit.good` says whether its intervals may be used.

    Raises
    ------
    DataError
        If there are too few readings, or trials of several machines or abrasives.
    """
    _refuse_a_mixture(trials)
    if len(readings) < LEAST_READINGS:
        raise DataError(
            f"{len(readings)} readings are too few, a fit needs {LEAST_READINGS}: record a trial first",
            code="too-few-readings",
        )
    say = progress or _silent
    table = reading_table(trials, readings)
    fitted = []
    for place, form in enumerate(KerfForm):
        say(f"fitting the {form.name.lower()} form", place / len(KerfForm))
        fitted.append(_fit_form(table, form, position_sd=position_sd, draws=draws, seed=seed))
    scores = [each.posterior.loo for each in fitted]
    weights = _weights(fitted, seed=seed)
    order = np.argsort(-weights, kind="stable")
    best = int(order[0])
    forms = []
    for place in order:
        difference, error = (0.0, 0.0) if place == best else score_difference(scores[best], scores[place])
        forms.append(
            replace(
                _form_fit(fitted[place], weight=float(weights[place])),
                score=-difference + float(np.nansum(scores[best].elpd)),
                score_error=error,
            )
        )
    say("done", 1.0)
    ratios = [row.cut.speed / unfitted_separation_speed(row.setup) for row in table.cuts]
    return Fit(
        machine=trials[0].machine,
        abrasive=trials[0].setup.abrasive,
        version=version,
        created=(created or datetime.now(UTC)).isoformat(timespec="seconds"),
        seed=seed,
        draws=draws,
        readings=tuple(each.id for each in (*table.readings, *table.through)),
        coupons=tuple(dict.fromkeys(row.coupon for row in table.cuts)),
        sessions=tuple(dict.fromkeys(trial.session for trial in trials)),
        tubes=tuple(dict.fromkeys(trial.tube for trial in trials)),
        lots=tuple(dict.fromkeys(trial.lot for trial in trials)),
        materials={row.setup.material.name: row.setup.material for row in table.cuts},
        thicknesses=tuple(sorted({row.setup.thickness for row in table.cuts})),
        speed_ratios=(min(ratios), max(ratios)),
        position_sd=position_sd,
        forms=tuple(forms),
        flags=fit_flags(fitted[best].posterior, fitted[best].model),
    )


def _fit_form(table: ReadingTable, form: KerfForm, *, position_sd: float, draws: int, seed: int) -> _Fitted:
    model = FitModel(table, form, position_sd=position_sd)
    scales = likeliest_scales(model)
    return _Fitted(
        model=model,
        scales=scales,
        posterior=fit_posterior(model.problem(scales), draws=draws, seed=seed),
    )


def _weights(fitted: Sequence[_Fitted], *, seed: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Weigh the forms by what they forecast of left-out coupons; by evidence where only one was cut."""
    if len(fitted[0].posterior.loo.names) > 1:
        weights = form_weights([each.posterior.loo for each in fitted], seed=seed)
    else:
        evidence = np.array([each.posterior.evidence for each in fitted])
        weights = np.exp(evidence - evidence.max())
    weights = np.where(weights < FORM_WEIGHT_LEAST, 0.0, weights)
    return np.asarray(weights / weights.sum())


def _form_fit(fitted: _Fitted, *, weight: float) -> FormFit:
    model, posterior = fitted.model, fitted.posterior
    unseen = np.random.default_rng([fitted.model.form, 11]).standard_normal(
        (len(model.prior.names), posterior.draws.shape[1])
    )
    unseen[model.seen] = posterior.draws
    return FormFit(
        form=model.form,
        weight=weight,
        score=0.0,
        score_error=0.0,
        names=model.prior.names,
        scores=unseen,
        labels=model.effects.labels,
        effects=posterior.effect_draws,
        scatter_scale=fitted.scales.scatter,
        discrepancy_scale=fitted.scales.discrepancy,
        fitted=model.table.values() - posterior.residuals,
        residual=posterior.residuals,
        standardised=posterior.standardised,
        reading_weight=posterior.weights,
        effective_sample_size=posterior.effective_sample_size,
        pareto_k=posterior.pareto_k,
    )


def _refuse_a_mixture(trials: Sequence[Trial]) -> None:
    for what, names in (
        ("machine", {trial.machine for trial in trials}),
        ("abrasive", {trial.setup.abrasive for trial in trials}),
    ):
        if len(names) > 1:
            raise DataError(
                f"the trials are of several {what}s, {', '.join(sorted(names))}: fit one at a time",
                code="mixed-trials",
            )
    if not trials:
        raise DataError("there is no trial to fit: cut and record one first", code="no-trials")


def _silent(_what: str, _fraction: float) -> None:
    """Take no notice."""
