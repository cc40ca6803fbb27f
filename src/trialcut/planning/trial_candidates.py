"""Coupons that a trial may hold, each with what is read off it, how long it takes and what it costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from trialcut.physics.cut import cut_table, separation_speed
from trialcut.physics.kerf_forms import top_of_kerf
from trialcut.physics.parameters import CutParameters
from trialcut.physics.piercing import piercing_time
from trialcut.physics.setup import Setup
from trialcut.planning.money import running_cost
from trialcut.planning.preview import Preview
from trialcut.planning.results import Stance
from trialcut.planning.study import Study
from trialcut.trials.coupon_shapes import coupon_room
from trialcut.trials.coupon_time import with_cycle
from trialcut.trials.coupons import block_coupon, ladder_coupon
from trialcut.trials.intake.form import USUAL_DEPTHS, FormLine, form_lines
from trialcut.trials.types import Coupon, ReadingKind, Trial

FloatArray = NDArray[np.float64]

BLOCK_SPEEDS = 8
"""Speeds of the grid at which blocks are offered."""
OTHER_SPEEDS = 3
"""The same in plate of another thickness."""
LIKELY_THROUGH = 0.95
"""Odds of cutting through that a block must have. [-]"""
RUNGS = 6
"""Passes of a ladder."""
LADDER_REACH = 2.0
"""Standard deviations of the separation speed that a ladder spans either side of its median. [-]"""
LADDER_LEAST = 0.15
"""Least half-span of a ladder, in the logarithm of the speed. [-]"""
READING_TIME = 30.0
"""Of a person for one reading, writing down included: our own working value. [s]"""
TABLE_READINGS = frozenset((ReadingKind.THROUGH, ReadingKind.PIERCE_TIME, ReadingKind.CYCLE_TIME))
"""Read at the machine while it cuts, in no time of their own."""


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """One coupon on offer.

    Parameters
    ----------
    coupon : Coupon
        Under a working id.
    stance : Stance
        Of the head.
    speed : float
        Along its cuts; the median of a ladder's. [m/s]
    lines : tuple of FormLine
        What is read off it.
    machine_time : float
        Cutting, piercing, moving, loading. [s]
    cost : float
        All of it: machine, consumables, plate, and the time of reading. [currency]
    """

    coupon: Coupon
    stance: Stance
    speed: float
    lines: tuple[FormLine, ...]
    machine_time: float
    cost: float


def candidate_coupons(
    preview: Preview,
    *,
    thicknesses: Sequence[float] = (),
    finish_gauge: str = "",
    depths: Sequence[float] = USUAL_DEPTHS,
    ladder: bool = True,
) -> tuple[Candidate, ...]:
    """List the coupons that a trial for a study may hold.

    Blocks at speeds of the plan's grid that are likely to cut through, upright and, on a head that tilts,
    tilted; blocks in plate of other thicknesses, at speeds that stand in the same ratio to their separation
    speeds; and a ladder across the separation speed.

    Parameters
    ----------
    preview : Preview
        Of the study.
    thicknesses : sequence of float
        Plates of the same material that the shop has besides. [m]
    finish_gauge : str
        What roughness is read with; it is not read without.
    depths : sequence of float
        At which sizes are read, as fractions of the thickness. [-]
    ladder : bool
        Whether a ladder is on offer.

    Returns
    -------
    tuple of Candidate
        Blocks of the study's plate first.
    """
    prepared = preview.prepared
    study, central = prepared.study, prepared.central
    found: list[Candidate] = []
    for stance, table in preview.tables.items():
        usable = np.flatnonzero(table.through.mean(axis=1) >= LIKELY_THROUGH)
        for row in _spread(usable if usable.size else np.array([0]), BLOCK_SPEEDS):
            found.append(
                _block(
                    study,
                    study.setup,
                    central,
                    speed=float(preview.speeds[row]),
                    stance=stance,
                    number=len(found) + 1,
                    finish_gauge=finish_gauge,
                    depths=depths,
                )
            )
    own = float(np.median(prepared.separation_speed))
    for thickness in thicknesses:
        if abs(thickness - study.setup.thickness) < 1e-9:
            continue
        setup = replace(study.setup, thickness=thickness)
        other = study.knowledge.central(setup)
        ratio = float(separation_speed(setup=setup, parameters=other)[0]) / own
        usable = np.flatnonzero(preview.tables[Stance.UPRIGHT].through.mean(axis=1) >= LIKELY_THROUGH)
        for row in _spread(usable if usable.size else np.array([0]), OTHER_SPEEDS):
            speed = min(_typed(float(preview.speeds[row]) * ratio, study), study.machine.cut_speed_max)
            found.append(
                _block(
                    study,
                    setup,
                    other,
                    speed=speed,
                    stance=Stance.UPRIGHT,
                    number=len(found) + 1,
                    finish_gauge=finish_gauge,
                    depths=depths,
                )
            )
    if ladder:
        found += _ladder(preview, number=len(found) + 1)
    return tuple(found)


def trial_of_coupons(study: Study, coupons: Sequence[Coupon]) -> Trial:
    """Return coupons as a trial with nothing booked: for predictions."""
    names = study.setup_names
    return Trial(
        id="",
        machine=names.get("machine", study.machine.name),
        head=names.get("head", ""),
        session="",
        tube="",
        tube_hours=0.0,
        tube_bore_new=study.setup.tube_bore,
        lot="",
        setup=study.setup,
        coupons=tuple(coupons),
        study=study.name,
    )


def session_time(study: Study) -> float:
    """Return the time of setting up for a trial, once a session: that of a lot. [s]"""
    return study.prices.setup_time


def session_cost(study: Study) -> float:
    """Return the cost of setting up for a trial. [currency]"""
    return study.prices.machine * session_time(study)


def _spread(rows: NDArray[np.intp], count: int) -> list[int]:
    picks = np.linspace(0, rows.size - 1, min(count, rows.size)).round().astype(int)
    return [int(rows[pick]) for pick in np.unique(picks)]


def _block(
    study: Study,
    setup: Setup,
    central: CutParameters,
    *,
    speed: float,
    stance: Stance,
    number: int,
    finish_gauge: str,
    depths: Sequence[float],
) -> Candidate:
    tilted = stance is Stance.TILTED
    table = cut_table(
        setup=setup,
        parameters=central,
        central=central,
        speeds=[speed],
        tilted=tilted,
        tilt_travel=study.machine.tilt_travel,
    )
    half_kerf = float(top_of_kerf(setup=setup, parameters=central)[0])
    coupon = with_cycle(
        block_coupon(
            f"C{number}",
            thickness=setup.thickness,
            speed=speed,
            tilt=float(table.tilt[0]),
            lead=float(table.lead[0]),
            offset=half_kerf,
            system=study.system,
            kerf_half_width=half_kerf,
        ),
        study.machine,
        kerf_half_width=half_kerf,
        system=study.system,
    )
    lines = form_lines(
        trial_of_coupons(study, [coupon]),
        gauge=study.setup_names.get("gauge", ""),
        finish_gauge=finish_gauge,
        depths=depths,
    )
    return _priced(study, setup, central, coupon, stance=stance, speed=speed, lines=lines)


def _ladder(preview: Preview, *, number: int) -> list[Candidate]:
    """Offer a ladder across the separation speed, where the machine can go that fast."""
    prepared, study = preview.prepared, preview.prepared.study
    log_speed = np.log(prepared.separation_speed)
    reach = max(LADDER_REACH * float(log_speed.std()), LADDER_LEAST)
    middle = float(np.median(log_speed))
    speeds = np.exp(middle + reach * np.linspace(-1.0, 1.0, RUNGS))
    typed = sorted({_typed(float(speed), study) for speed in speeds if speed <= study.machine.cut_speed_max})
    if len(typed) < RUNGS // 2:
        return []
    coupon = with_cycle(
        ladder_coupon(f"C{number}", thickness=study.setup.thickness, speeds=typed, system=study.system),
        study.machine,
        kerf_half_width=prepared.half_kerf,
        system=study.system,
    )
    return [
        _priced(
            study,
            study.setup,
            prepared.central,
            coupon,
            stance=Stance.UPRIGHT,
            speed=float(np.exp(np.mean(np.log(typed)))),
            lines=form_lines(trial_of_coupons(study, [coupon]), gauge=study.setup_names.get("gauge", "")),
        )
    ]


def _typed(speed: float, study: Study) -> float:
    """Return a speed rounded to two figures in the study's unit. [m/s]"""
    unit = 0.0254 / 60.0 if study.system == "inch" else 1e-3 / 60.0
    return float(f"{speed / unit:.2g}") * unit


def _priced(
    study: Study,
    setup: Setup,
    central: CutParameters,
    coupon: Coupon,
    *,
    stance: Stance,
    speed: float,
    lines: tuple[FormLine, ...],
) -> Candidate:
    assert coupon.cycle is not None
    pierce = float(
        np.mean(
            piercing_time(
                thickness=setup.thickness,
                machinability=setup.material.machinability,
                pierce_time=central.pierce_time,
                pierce_exponent=central.pierce_exponent,
            )
        )
    )
    jet = coupon.cycle.steady + coupon.cycle.slow + coupon.cycle.pierces * pierce
    idle = coupon.cycle.fixed + study.prices.handling_time
    by_hand = READING_TIME * sum(line.kind not in TABLE_READINGS for line in lines)
    width, height = coupon_room(coupon, system=study.system)
    plate = width * height * setup.thickness * setup.material.density * (study.prices.material or 0.0)
    return Candidate(
        coupon=coupon,
        stance=stance,
        speed=speed,
        lines=lines,
        machine_time=jet + idle,
        cost=running_cost(study) * jet + study.prices.machine * (idle + by_hand) + plate,
    )
