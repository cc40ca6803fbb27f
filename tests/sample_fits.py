"""A fit made by hand for tests of what is shown of one: two plates, a bad reading, three forms.

Readings are what one of the forms says, with chance added; scores are drawn about the truth. Nothing here
says whether a fit is right.
"""

from __future__ import annotations

from dataclasses import replace
from zlib import crc32

import numpy as np

from sample_coupons import WHEN, sample_lines, sample_trial
from sample_studies import TILTING
from trialcut.physics.kerf_forms import KerfForm
from trialcut.trials.coupon_time import with_cycle
from trialcut.trials.coupons import block_coupon
from trialcut.trials.fit_model import FitModel
from trialcut.trials.fit_types import Fit, FitFlag, FormFit
from trialcut.trials.predict import LOGARITHMIC, reading_table
from trialcut.trials.types import Reading, ReadingKind, Trial

WEIGHTS = {KerfForm.CLOSING: 0.62, KerfForm.POWER: 0.31, KerfForm.DOSE: 0.07}
NARROW = 0.3
"""Spread of the scores over that of the prior."""
SPEEDS = (0.8e-3, 2.0e-3, 3.2e-3)
THICK_SPEEDS = (0.5e-3, 1.1e-3)


def sample_trials() -> tuple[Trial, ...]:
    """Three blocks and a ladder in half-inch plate, and two blocks in inch plate."""
    first = sample_trial(blocks=3)
    blocks = [_block(f"T7-{n}", speed, 12.7e-3, 0.52e-3) for n, speed in enumerate(SPEEDS, start=1)]
    thick = [_block(f"T8-{n}", speed, 25.4e-3, 0.50e-3) for n, speed in enumerate(THICK_SPEEDS, start=1)]
    return (
        replace(first, coupons=(*blocks, *first.coupons[3:])),
        replace(first, id="T8", session="2026-03-09a", coupons=tuple(thick)),
    )


def _block(name, speed, thickness, offset):
    block = block_coupon(
        name,
        thickness=thickness,
        speed={"X": speed, "Y": 1.15 * speed, "H": 0.9 * speed},
        offset=offset,
        system="metric",
        kerf_half_width=offset,
    )
    return with_cycle(block, TILTING, kerf_half_width=offset, system="metric")


def sample_readings(trials: tuple[Trial, ...], *, seed: int = 3) -> tuple[Reading, ...]:
    """Readings of every line of the forms; one of them is bad."""
    random = np.random.default_rng(seed)
    blank = []
    for trial in trials:
        for line in sample_lines(trial):
            sd = {"caliper": 0.012e-3, "roughness tester": 0.1e-6}.get(line.gauge, 0.0)
            blank.append(
                Reading(
                    id=f"R{len(blank) + 1}",
                    coupon=line.coupon,
                    cut=line.cut,
                    kind=line.kind,
                    depth=line.depth,
                    value=1.0,
                    text="",
                    gauge=line.gauge,
                    standard_uncertainty=sd,
                    who="MK",
                    when=WHEN,
                )
            )
    model = FitModel(reading_table(trials, blank), KerfForm.CLOSING, position_sd=10e-6)
    truth = _truth(model)
    said = dict(zip([each.id for each in model.table.readings], model.predict(truth)[:, 0], strict=True))
    readings = []
    for each in blank:
        if each.kind is ReadingKind.THROUGH:
            trial = next(t for t in trials if any(c.id == each.coupon for c in t.coupons))
            speed = trial.coupon(each.coupon).cut(each.cut).speed
            readings.append(replace(each, value=float(speed < 6.5e-3)))
            continue
        value = said[each.id]
        if each.kind in LOGARITHMIC:
            value = float(np.exp(value + 0.08 * random.standard_normal()))
        else:
            own = 0.01 * value if each.kind is ReadingKind.LAG else 8e-6
            spread = np.hypot(each.standard_uncertainty, own)
            value = float(value + spread * random.standard_normal())
        if (each.coupon, each.cut, each.kind, each.depth) == ("T7-2", "Y", ReadingKind.SIZE, 1.0):
            value -= 0.25e-3
        readings.append(replace(each, value=value, text=f"{value:.6g}"))
    return tuple(readings)


def sample_fit(trials: tuple[Trial, ...], readings: tuple[Reading, ...], *, good: bool = True) -> Fit:
    """A fit with the three forms."""
    table = reading_table(trials, readings)
    forms = []
    for order, (form, weight) in enumerate(WEIGHTS.items()):
        model = FitModel(table, form, position_sd=10e-6)
        random = np.random.default_rng(10 + order)
        count = len(model.prior.names)
        scores = random.standard_normal((count, 400))
        scores[model.seen] = _truth(model) + NARROW * scores[model.seen]
        centre = scores.mean(axis=1)[model.seen, None]
        fitted = model.predict(centre)[:, 0]
        residual = table.values() - fitted
        spread = np.hypot(model.noise, 0.02e-3)
        standardised = residual / np.where(np.abs(fitted) < 1.0, spread, 0.1 * np.abs(fitted) + 0.1)
        root = np.sqrt(np.diag(model.effects.covariance))[:, None]
        forms.append(
            FormFit(
                form=form,
                weight=weight,
                score=100.0 - 3.0 * order,
                score_error=0.0 if order == 0 else 2.1,
                names=model.prior.names,
                scores=scores,
                labels=model.effects.labels,
                effects=0.3 * root * random.standard_normal((len(root), 400)),
                scatter_scale=1.1,
                discrepancy_scale=0.8,
                fitted=fitted,
                residual=residual,
                standardised=standardised,
                reading_weight=np.minimum(1.0, 5.0 / (4.0 + standardised**2)),
                effective_sample_size=812.0,
                pareto_k=0.31,
            )
        )
    flags = (
        FitFlag(
            code="outlier",
            bad=False,
            message="reading R11 of T7-2 Y counts little: it is 8.1 spreads off what all others say",
            cause=("R11",),
            remedy="measure it again",
        ),
    )
    bad = FitFlag(
        code="residual-pattern",
        bad=True,
        message="what is left of the readings runs with the speed: slow cuts lie above, fast cuts below",
        cause=("R1", "R2"),
        remedy="cut a coupon between 80 and 120 mm/min",
    )
    ids = [each.id for each in (*table.readings, *table.through)]
    return Fit(
        id="F3",
        machine="tilting",
        abrasive="garnet 80",
        version="0.1",
        created="2026-03-10T09:00:00+00:00",
        seed=1,
        draws=400,
        readings=tuple(ids),
        coupons=tuple(dict.fromkeys(row.coupon for row in table.cuts)),
        sessions=tuple(dict.fromkeys(trial.session for trial in trials)),
        tubes=("tube 12",),
        lots=("heat 4711",),
        materials={trials[0].setup.material.name: trials[0].setup.material},
        thicknesses=(12.7e-3, 25.4e-3),
        speed_ratios=(0.15, 0.9),
        position_sd=10e-6,
        forms=tuple(forms),
        flags=flags if good else (*flags, bad),
    )


def _truth(model):
    """The same for a parameter in every form that has it."""
    names = [model.prior.names[place] for place in model.seen]
    return np.array([[0.5 * np.random.default_rng(crc32(name.encode())).standard_normal()] for name in names])
