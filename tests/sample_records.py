"""Trials and readings to put into a book: made up, of plausible size, compared with nothing outside."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import numpy as np

from trialcut.physics.setup import Material, Pump, Setup
from trialcut.records import FitRecord
from trialcut.trials.types import (
    Coupon,
    CycleParts,
    FeatureKind,
    Reading,
    ReadingKind,
    Trial,
    TrialCut,
)

INCH = 0.0254
WHEN = datetime(2026, 3, 2, 9, 30, 15, 123456, tzinfo=timezone(timedelta(hours=2)))

SETUP = Setup(
    pump=Pump(name="50 hp", nameplate_power=37285.0, efficiency=0.72, pressure_max=414e6),
    pressure=380e6,
    orifice=0.33e-3,
    tube_bore=1.016e-3,
    abrasive="garnet 80",
    abrasive_rate=0.0055,
    abrasive_factor=1.0,
    grain_size=0.18e-3,
    grain_size_max=0.3e-3,
    standoff=2.5e-3,
    material=Material(name="6061", machinability=213.0, machinability_log_sd=0.1, density=2700.0),
    thickness=0.5 * INCH,
)


def sample_trial(trial_id: str = "T1", *, machine: str = "north", coupons: int = 2, tube: str = "A") -> Trial:
    cut = TrialCut(
        id="X",
        feature=FeatureKind.WIDTH,
        nominal=1.5 * INCH,
        speed=0.1 / 3.0,
        tilt=0.0,
        lead=0.0,
        offset=0.5e-3,
        curvature=0.0,
        length=0.08,
    )
    opening = replace(cut, id="H", feature=FeatureKind.OPENING, nominal=0.02, curvature=-1 / 0.0095)
    return Trial(
        id=trial_id,
        machine=machine,
        head="main",
        session="2026-03-02a",
        tube=tube,
        tube_hours=3600.0 * 12.5,
        tube_bore_new=1.016e-3,
        lot="heat 4711 – β",
        setup=SETUP,
        coupons=tuple(
            Coupon(
                id=f"{trial_id}-{at + 1}",
                kind="block",
                thickness=0.5 * INCH,
                cuts=(cut, opening),
                cycle=None if at else CycleParts(steady=10.0, slow=1.5, fixed=3.0, pierces=2),
            )
            for at in range(coupons)
        ),
        study="plate",
    )


def sample_reading(coupon: str = "T1-1", *, cut: str = "X", value: float = 1.4986 * INCH) -> Reading:
    return Reading(
        id="",
        coupon=coupon,
        cut=cut,
        kind=ReadingKind.SIZE,
        depth=0.5,
        value=value,
        text=f"{value / INCH:.4f} in",
        gauge="caliper",
        standard_uncertainty=12e-6,
        who="MK",
        when=WHEN,
        remark='burr, "filed"\nsecond line',
        place="left, 5 mm from the end",
    )


def sample_fit(*, machine: str = "north", good: bool = True, readings: tuple[str, ...] = ()) -> FitRecord:
    return FitRecord(
        machine=machine,
        created=datetime(2026, 3, 3, 7, 0, tzinfo=UTC),
        version="0.3.0",
        good=good,
        readings=readings,
        header={"form": "power", "seed": 1, "flags": [], "share": 0.1 + 0.2},
        arrays={"scores": np.linspace(-1, 1, 12).reshape(3, 4), "order": np.arange(5)},
    )
