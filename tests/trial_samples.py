"""Trials and readings for tests: a trial on the trade's set-up, and readings drawn from a form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from published_trade import trade_setup
from trialcut.physics.kerf_forms import KerfForm
from trialcut.trials.coupons import block_coupon, ladder_coupon
from trialcut.trials.effects import answers
from trialcut.trials.fit_model import FitModel, Scales
from trialcut.trials.predict import LOGARITHMIC, reading_table
from trialcut.trials.types import Coupon, FeatureKind, Reading, ReadingKind, Trial

POSITION_SD = 15e-6
NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


def sample_trial(
    *,
    speeds: Sequence[float] = (1.5e-3, 2.5e-3, 4e-3),
    thickness: float = 0.0254,
    id: str = "T1",  # noqa: A002
    session: str = "2026-03-02a",
    ladder: Sequence[float] = (),
) -> Trial:
    """Return blocks at some speeds, and a ladder if wanted."""
    setup = trade_setup(thickness=thickness)
    coupons: list[Coupon] = [
        block_coupon(
            f"{id}-{place + 1}",
            thickness=thickness,
            speed=speed,
            offset=0.57e-3,
            system="inch",
            kerf_half_width=0.57e-3,
        )
        for place, speed in enumerate(speeds)
    ]
    if ladder:
        coupons.append(
            ladder_coupon(f"{id}-{len(coupons) + 1}", thickness=thickness, speeds=ladder, system="inch")
        )
    return Trial(
        id=id,
        machine="north",
        head="medium",
        session=session,
        tube="medium",
        tube_hours=0.0,
        tube_bore_new=setup.tube_bore,
        lot="L1",
        setup=setup,
        coupons=tuple(coupons),
    )


def reading(coupon: str, cut: str, kind: ReadingKind, depth: float | None, value: float, **rest) -> Reading:
    """Return one reading of a micrometer, of a roughness meter or of an eye."""
    usual = {ReadingKind.RA: 0.1e-6, ReadingKind.LAG: 0.1e-3}
    plain = {
        "id": f"{coupon}/{cut}/{kind}/{depth}",
        "text": f"{value:g}",
        "gauge": "micrometer",
        "standard_uncertainty": usual.get(kind, 2.3e-6),
        "who": "test",
        "when": NOW,
    }
    return Reading(coupon=coupon, cut=cut, kind=kind, depth=depth, value=value, **{**plain, **rest})


def usual_readings(trial: Trial) -> list[Reading]:
    """Return what is usually read off blocks, each of a value that means nothing yet."""
    found = []
    for coupon in trial.coupons:
        for cut in coupon.cuts:
            if cut.feature is FeatureKind.STEP:
                continue
            depths = (0.0, 0.5, 1.0) if cut.feature is FeatureKind.WIDTH else (0.0, 1.0)
            found += [reading(coupon.id, cut.id, ReadingKind.SIZE, depth, 0.01) for depth in depths]
        if coupon.cuts[0].feature is FeatureKind.WIDTH:
            found.append(reading(coupon.id, "X", ReadingKind.RA, 1.0, 3e-6))
            found.append(reading(coupon.id, "X", ReadingKind.LAG, 1.0, 3e-3))
    return found


def simulated(
    trials: Sequence[Trial], *, seed: int, form: KerfForm = KerfForm.CLOSING, scores: np.ndarray | None = None
) -> tuple[list[Reading], np.ndarray]:
    """Draw parameters, effects and gauge errors from the prior of a form; return readings and scores."""
    chance = np.random.default_rng(seed)
    blank = [each for trial in trials for each in usual_readings(trial)]
    table = reading_table(trials, blank)
    model = FitModel(table, form, position_sd=POSITION_SD)
    truth = chance.standard_normal((len(model.prior.names), 1)) if scores is None else scores
    parameters = model.parameters(truth)
    plain = model.predictor.evaluate(parameters)[0][:, 0]
    matrix = model.effects.matrix(answers(model.predictor, parameters))
    covariance = model.covariance(Scales())
    effects = chance.multivariate_normal(np.zeros(len(covariance)), covariance, method="eigh")
    noisy = plain + matrix @ effects + model.noise * chance.standard_normal(plain.size)
    values = [
        float(np.exp(value)) if each.kind in LOGARITHMIC else float(value)
        for value, each in zip(noisy, table.readings, strict=True)
    ]
    return [replace(each, value=value) for each, value in zip(table.readings, values, strict=True)], truth
