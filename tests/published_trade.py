"""The set-up behind the trade's check values, and what the forecast gives on it.

One inch of aluminium, 60,000 psi, 0.014 in orifice, 0.040 in tube, 80 mesh garnet, 50 hp pump. The abrasive
rate is not part of those facts, and 0.95 lb/min is taken as usual for these bores.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np

from trialcut.physics.cut import CutTable, cut_table, separation_speed
from trialcut.physics.parameters import CutParameters, central_parameters, draw_parameters
from trialcut.physics.setup import Material, Pump, Setup

INCH = 0.0254
PSI = 6894.757293168361
IPM = INCH / 60.0
TOP, BOTTOM = 0, -1
TRAVEL = math.radians(10.0)

ALUMINIUM = Material(name="aluminium 6061-T6", machinability=213.0, machinability_log_sd=0.05, density=2700.0)
FIFTY_HP = Pump(name="50 hp", nameplate_power=50.0 * 745.7, efficiency=0.76, pressure_max=60_000.0 * PSI)


def trade_setup(**changes: object) -> Setup:
    """Return the set-up of the trade's check values."""
    setup = Setup(
        pump=FIFTY_HP,
        pressure=60_000.0 * PSI,
        orifice=0.014 * INCH,
        tube_bore=0.040 * INCH,
        abrasive="garnet 80",
        abrasive_rate=0.95 * 0.45359237 / 60.0,
        abrasive_factor=1.0,
        grain_size=0.18e-3,
        grain_size_max=0.30e-3,
        standoff=2.5e-3,
        material=ALUMINIUM,
        thickness=INCH,
    )
    return dataclasses.replace(setup, **changes)  # type: ignore[arg-type]


def central(moved: dict[str, float] | None = None) -> CutParameters:
    """Return the medians, some of them moved."""
    return dataclasses.replace(central_parameters(trade_setup()), **(moved or {}))  # type: ignore[arg-type]


def draws() -> CutParameters:
    """Return the default draws."""
    return draw_parameters(trade_setup(), count=2048, seed=1)


def table(*, speed_ipm: float, tilted: bool = False, parameters: CutParameters | None = None) -> CutTable:
    """Return the cut at one speed, of the medians unless draws are given."""
    return cut_table(
        setup=trade_setup(),
        parameters=central() if parameters is None else parameters,
        central=central(),
        speeds=[speed_ipm * IPM],
        tilted=tilted,
        tilt_travel=TRAVEL,
    )


def bottom_over_top(
    *, speed_ipm: float, tilted: bool = False, moved: dict[str, float] | None = None
) -> float:
    """By how much an outside size is larger at the bottom. [m]"""
    shift = table(speed_ipm=speed_ipm, tilted=tilted, parameters=central(moved)).kerf_shift[0, :, 0]
    return float(2.0 * (shift[TOP] - shift[BOTTOM]))


def bottom_over_top_quantile(
    *, speed_ipm: float, share: float, moved: dict[str, float] | None = None
) -> float:
    """Quantile of the same over the default draws. [m]"""
    del moved
    shift = table(speed_ipm=speed_ipm, parameters=draws()).kerf_shift[0]
    return float(np.quantile(2.0 * (shift[TOP] - shift[BOTTOM]), share))


def top_size_change(*, slow_ipm: float, fast_ipm: float, moved: dict[str, float] | None = None) -> float:
    """By how much the top of an outside size moves between two speeds. [m]"""
    slow = table(speed_ipm=slow_ipm, parameters=central(moved)).kerf_shift[0, TOP, 0]
    fast = table(speed_ipm=fast_ipm, parameters=central(moved)).kerf_shift[0, TOP, 0]
    return float(2.0 * (slow - fast))


def finish_rms(*, speed_ipm: float, tilted: bool = False, moved: dict[str, float] | None = None) -> float:
    """Rq at the worst depth. [m]"""
    parameters = central(moved)
    ra = table(speed_ipm=speed_ipm, tilted=tilted, parameters=parameters).finish_ra[0, 0]
    return float(ra * parameters.rq_over_ra)


def finish_tilted_over_upright(*, speed_ipm: float, moved: dict[str, float] | None = None) -> float:
    """Worst roughness with the head leaned over that upright. [-]"""
    leaned = finish_rms(speed_ipm=speed_ipm, tilted=True, moved=moved)
    return leaned / finish_rms(speed_ipm=speed_ipm, moved=moved)


def speed_ratio(*, speed_ipm: float, moved: dict[str, float] | None = None) -> float:
    """Speed over separation speed. [-]"""
    return float(table(speed_ipm=speed_ipm, parameters=central(moved)).speed_ratio[0, 0])


def separation_on_the_setup(*, moved: dict[str, float] | None = None) -> float:
    """Separation speed of the set-up. [m/s]"""
    return float(separation_speed(setup=trade_setup(), parameters=central(moved))[0])


def top_kerf_over_bore(*, moved: dict[str, float] | None = None) -> float:
    """Top kerf over tube bore. [-]"""
    width = table(speed_ipm=2.75, parameters=central(moved)).half_width[0, TOP, 0]
    return float(2.0 * width / trade_setup().tube_bore)


def lead(*, speed_ipm: float, moved: dict[str, float] | None = None) -> float:
    """Lead angle of the leaned head. [rad]"""
    del moved
    return float(table(speed_ipm=speed_ipm, tilted=True).lead[0])


QUANTITIES = {
    function.__name__: function
    for function in (
        bottom_over_top,
        bottom_over_top_quantile,
        top_size_change,
        finish_rms,
        finish_tilted_over_upright,
        speed_ratio,
        separation_on_the_setup,
        top_kerf_over_bore,
        lead,
    )
}
