"""Readings of trial cuts under one kerf form, as a problem for the posterior engine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from trialcut.physics.kerf_forms import KerfForm
from trialcut.physics.numeric import Array, floats
from trialcut.physics.parameters import CutParameters
from trialcut.sources import constant_set
from trialcut.trials.effects import Block, EffectTable, answers, effect_table
from trialcut.trials.posterior.problem import Problem
from trialcut.trials.predict import LOGARITHMIC, Predictor, ReadingTable
from trialcut.trials.priors import Prior, prior_of
from trialcut.trials.types import Reading, ReadingKind

ROBUST_DOF = 4.0
"""Degrees of freedom of a reading's error: a bad reading loses its say."""
SEEN = 0.02
"""Information about a parameter, over that of its prior, below which the readings do not see it. [-]"""
STOPWATCH = 0.5
"""Standard deviation of a time read by hand: common practice, no source. [s]"""
ROUGHNESS_LOG_SD = 0.04
"""Of a roughness by where it is read: our own working value. [-]"""


@dataclass(frozen=True, kw_only=True)
class Scales:
    """Scatter and discrepancy over what they were held to be before. [-]"""

    scatter: float = 1.0
    discrepancy: float = 1.0


class FitModel:
    """Readings under one kerf form.

    Parameters
    ----------
    table : ReadingTable
        Readings beside their cuts.
    form : KerfForm
        Which form gives the taper.
    position_sd : float
        Of the machine. [m]

    Attributes
    ----------
    prior : Prior
        Of all parameters, seen or not.
    seen : ndarray of int
        Places of those that the readings see.
    """

    def __init__(self, table: ReadingTable, form: KerfForm, *, position_sd: float) -> None:
        self.table = table
        self.form = form
        self.prior: Prior = prior_of(form, {row.setup.material for row in table.cuts})
        self.predictor = Predictor(table)
        edge = constant_set("process-scatter")["edge_scatter"].value
        self.effects: EffectTable = effect_table(table, edge_scatter=float(np.hypot(edge, position_sd)))
        self.seen: NDArray[np.int64] = self._seen()
        self._last: tuple[Array, tuple[Array, Array]] | None = None

    def parameters(self, scores: Array) -> list[CutParameters]:
        """Parameters on each batch's set-up at all scores, shape (P, D)."""
        values = self.prior.values(scores)
        return [self.prior.parameters(values, batch.setup) for batch in self.predictor.batches]

    def all_scores(self, seen: Array) -> Array:
        """Scores of all parameters, zero for those not seen, from those seen, shape (P', D)."""
        scores = np.zeros((len(self.prior.names), seen.shape[1]))
        scores[self.seen] = seen
        return scores

    def predict(self, seen: Array) -> Array:
        """Readings at scores of the parameters seen, shape (N, D)."""
        return self._evaluated(seen)[0]

    def _evaluated(self, seen: Array) -> tuple[Array, Array]:
        """Predictions at scores; the last ones are kept, for the engine asks twice."""
        if self._last is None or self._last[0] is not seen:
            self._last = (seen, self.predictor.evaluate(self.parameters(self.all_scores(seen))))
        return self._last[1]

    def loadings(self, seen: Array) -> Array:
        """Move of each reading by each effect at scores of shape (P',), shape (N, Q)."""
        parameters = self.parameters(self.all_scores(floats(seen)[:, np.newaxis]))
        return self.effects.matrix(answers(self.predictor, parameters))

    def through(self, seen: Array) -> Array:
        """Log-likelihood of the through readings, shape (D,)."""
        from scipy.special import log_ndtr  # noqa: PLC0415, slow to import

        margin = self._evaluated(seen)[1]
        size = constant_set("effects")
        sd = np.sqrt(
            size["through_scatter"].value ** 2
            + size["session_separation"].value ** 2
            + size["lot_separation"].value ** 2
        )
        sign = np.array([1.0 if each.value > 0.5 else -1.0 for each in self.table.through])
        return floats(log_ndtr(sign[:, np.newaxis] * margin / sd).sum(axis=0))

    @cached_property
    def noise(self) -> Array:
        """Standard deviation of each reading's error, shape (N,)."""
        return np.array([reading_noise(each) for each in self.table.readings])

    def covariance(self, scales: Scales) -> Array:
        """Covariance of the effects, shape (Q, Q)."""
        return floats(
            self.effects.block(Block.KNOWN)
            + scales.scatter**2 * self.effects.block(Block.SCATTER)
            + scales.discrepancy**2 * self.effects.block(Block.DISCREPANCY)
        )

    def problem(self, scales: Scales) -> Problem:
        """Pose the problem for the engine."""
        table = self.table
        rows = [table.cuts[int(row)] for row in table.row]
        return Problem(
            values=table.values(),
            noise_sd=self.noise,
            predict=self.predict,
            count=self.seen.size,
            effects=self.loadings,
            effect_covariance=self.covariance(scales),
            censored=self.through if table.through else None,
            prior_precision=np.ones(self.seen.size),
            groups=tuple(row.coupon for row in rows),
            names=tuple(self.prior.names[place] for place in self.seen),
            robust_dof=ROBUST_DOF,
            ids=tuple(each.id for each in table.readings),
            covariates={
                "speed": np.array([np.log(row.cut.speed) for row in rows]),
                "depth": np.array([-1.0 if each.depth is None else each.depth for each in table.readings]),
            },
        )

    def _seen(self) -> NDArray[np.int64]:
        """Places of the parameters that the readings tell something about, at the prior's centre."""
        count = len(self.prior.names)
        step = 0.5
        scores = np.zeros((count, 1 + 2 * count))
        scores[:, 1 : 1 + count] = step * np.eye(count)
        scores[:, 1 + count :] = -step * np.eye(count)
        readings, margin = self.predictor.evaluate(self.parameters(scores))
        slope = (readings[:, 1 : 1 + count] - readings[:, 1 + count :]) / (2.0 * step)
        information = ((slope / self.noise[:, np.newaxis]) ** 2).sum(axis=0)
        if margin.size:
            slope = (margin[:, 1 : 1 + count] - margin[:, 1 + count :]) / (2.0 * step)
            information += ((slope / constant_set("effects")["through_scatter"].value) ** 2).sum(axis=0)
        return np.flatnonzero(information > SEEN)


def reading_noise(reading: Reading) -> float:
    """
    Standard deviation of a reading's error, of its logarithm where that is fitted.

    Parameters
    ----------
    reading : Reading
        With its gauge's standard uncertainty.

    Returns
    -------
    float
        Gauge, and where on a rough face it happens to touch.
    """
    gauge = reading.standard_uncertainty
    if reading.kind in LOGARITHMIC:
        own = (
            constant_set("effects")["pierce_scatter"].value
            if reading.kind is ReadingKind.PIERCE_TIME
            else ROUGHNESS_LOG_SD
        )
        return float(np.hypot(gauge / reading.value, own))
    if reading.kind is ReadingKind.CYCLE_TIME:
        return float(np.hypot(gauge, STOPWATCH))
    return float(np.hypot(gauge, constant_set("effects")["reading_scatter"].value))


def without_readings(table: ReadingTable, coupons: Sequence[str]) -> ReadingTable:
    """Return a table without the readings of some coupons."""
    keep = [table.cuts[int(row)].coupon not in coupons for row in table.row]
    keep_through = [table.cuts[int(row)].coupon not in coupons for row in table.through_row]
    return replace(
        table,
        readings=tuple(each for each, kept in zip(table.readings, keep, strict=True) if kept),
        row=table.row[np.array(keep, dtype=bool)],
        through=tuple(each for each, kept in zip(table.through, keep_through, strict=True) if kept),
        through_row=table.through_row[np.array(keep_through, dtype=bool)],
    )
