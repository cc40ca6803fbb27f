"""Two habits of people who do not forecast: one slow speed for everything, and three speeds, pick by eye."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trialcut.planning.study import Study
from trialcut.twins.correlation import handbook_separation_speed
from trialcut.twins.gauges import GaugeTruth
from trialcut.twins.protocol import Conditions, TwinPhysics, TwinSetup
from trialcut.twins.walls import BOTTOM, DEPTHS, TOP, EdgeCut, inspection_of, wall

SLOW_SHARE = 0.10
"""The one slow speed, over the handbook's separation speed: common practice, no source. [-]"""
THREE_SHARES = (0.35, 0.20, 0.10)
"""The three speeds that are tried: common practice, no source. [-]"""
KERF_OVER_BORE = 1.1
"""Kerf that people reckon with before they measure: common practice, no source. [-]"""
COMFORTABLY = 0.7
"""Share of the tolerance within which a sample passes by eye: common practice, no source. [-]"""
SAMPLE = 50e-3
"""Side of a square sample. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Habit:
    """What a habit leads to.

    Parameters
    ----------
    cuts : tuple of EdgeCut
        Upright, the same speed on every edge.
    samples : int
        Pieces cut to find the speed.
    sample_time : float
        Machine time of cutting and measuring them. [s]
    """

    cuts: tuple[EdgeCut, ...]
    samples: int
    sample_time: float


def one_slow_speed(study: Study, *, believed: TwinSetup) -> Habit:
    """
    Cut everything at a tenth of what the handbook says.

    Parameters
    ----------
    study : Study
        The enquiry.
    believed : TwinSetup
        The set-up.

    Returns
    -------
    Habit
        Its first piece is to be measured.
    """
    speed = SLOW_SHARE * handbook_separation_speed(believed, thickness=study.setup.thickness)
    offset = 0.5 * KERF_OVER_BORE * believed.tube_bore
    return Habit(cuts=_alike(study, speed=speed, offset=offset), samples=0, sample_time=0.0)


def three_speeds(
    twin: TwinPhysics,
    study: Study,
    *,
    believed: TwinSetup,
    gauge: GaugeTruth,
    seed: int,
) -> Habit:
    """
    Cut a square at each of three speeds, and take the fastest that measures well inside the tolerance.

    Parameters
    ----------
    twin : TwinPhysics
        The cell.
    study : Study
        The enquiry.
    believed : TwinSetup
        The set-up.
    gauge : GaugeTruth
        With which the squares are measured, once at the top and once at the bottom.
    seed : int
        Of the day on which they are cut.

    Returns
    -------
    Habit
        At the slowest of the three if none measures inside.
    """
    thickness = study.setup.thickness
    handbook = handbook_separation_speed(believed, thickness=thickness)
    inspection = inspection_of(study)
    room = float((inspection.upper - inspection.lower).min())
    finish = min((limit for _, limit in inspection.finish), default=np.inf)
    day = twin.session(start=0.0, seed=seed)
    random = np.random.default_rng([seed, 5])
    offset = 0.5 * KERF_OVER_BORE * believed.tube_bore
    prices, time = study.prices, study.prices.measuring_time
    picked: EdgeCut | None = None
    for share in THREE_SHARES:
        cut = Conditions(speed=share * handbook, thickness=thickness)
        time += prices.handling_time + study.machine.switch_time
        time += day.pierce_time(thickness=thickness) + 4.0 * SAMPLE / (share * handbook)
        walls = wall(day, conditions=cut, offset=offset, curvature=0.0) + day.wall_scatter(edges=2)[:, None]
        top, bottom = (gauge.read(float(walls[:, face].sum()), random) for face in (TOP, BOTTOM))
        rough = day.roughness(cut, DEPTHS)[-1] * day.roughness_scatter(edges=1)[0]
        inside = abs(top - bottom) <= COMFORTABLY * room and rough <= finish and bool(day.cuts_through(cut))
        centred = offset - 0.25 * (top + bottom)
        if picked is None and (inside or share == THREE_SHARES[-1]):
            picked = _upright(speed=share * handbook, offset=centred, curvature=0.0)
    assert picked is not None
    return Habit(
        cuts=_alike(study, speed=picked.speed, offset=picked.offset),
        samples=len(THREE_SHARES),
        sample_time=time,
    )


def _alike(study: Study, *, speed: float, offset: float) -> tuple[EdgeCut, ...]:
    speed = min(speed, study.machine.cut_speed_max)
    return tuple(_upright(speed=speed, offset=offset, curvature=edge.curvature) for edge in study.part.edges)


def _upright(*, speed: float, offset: float, curvature: float) -> EdgeCut:
    return EdgeCut(speed=speed, tilt=0.0, lead=0.0, tilted=False, offset=offset, curvature=curvature)
