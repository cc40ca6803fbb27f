"""The cut at several speeds and depths under every draw of the parameters."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trialcut.errors import RangeError
from trialcut.physics.finish import roughness_ra
from trialcut.physics.hydraulics import orifice_flow
from trialcut.physics.kerf_forms import kerf_wall
from trialcut.physics.lag import exit_lag, lag_at_depth
from trialcut.physics.mixing import useful_abrasive_rate
from trialcut.physics.numeric import Array, floats
from trialcut.physics.parameters import CutParameters
from trialcut.physics.registry import notes_beyond
from trialcut.physics.separation import ZENG_KIM_1993, separation_speed_zeng_1993
from trialcut.physics.setup import Setup
from trialcut.physics.tilt import lead_angle, path_depth, tilt_angle
from trialcut.sources import Note

DEPTHS = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Depth layers of a forecast, as fractions of the thickness."""

NO_DEPTHS: Array = np.array([])

SOLVER_ROUNDS = 6
"""Rounds of the tilt's fixed point; each shrinks the error by the square of the lean."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutTable:
    """The cut at S speeds, L depths and D draws.

    Parameters
    ----------
    speeds : array, shape (S,)
        Along the path. [m/s]
    depths : array, shape (L,)
        Fractions of the thickness, from the top face. [-]
    tilt, lead : array, shape (S,)
        Lean towards the scrap and forward; zero upright. [rad]
    separation_speed : array, shape (D,)
        Of the upright head. [m/s]
    speed_ratio : array, shape (S, D)
        Speed over separation speed along the leaned path. [-]
    half_width : array, shape (S, L, D)
        Half-width of the kerf at each depth. [m]
    kerf_shift : array, shape (S, L, D)
        From the path to the kept wall: half-width plus what the tilt adds at that depth. [m]
    taper : array, shape (S, D)
        Half-width at the top less at the bottom, before any tilt. [m]
    exit_lag : array, shape (S, D)
        Exit behind entry, before any lead. [m]
    residual_lag : array, shape (S, L, D)
        Lag at each depth less what the lead makes good. [m]
    finish_ra : array, shape (S, D)
        At the worst depth. [m]
    through : array of bool, shape (S, D)
        Whether the jet cuts through.
    notes : tuple of Note
        Where the table is an extrapolation.
    """

    speeds: Array
    depths: Array
    tilt: Array
    lead: Array
    separation_speed: Array
    speed_ratio: Array
    half_width: Array
    kerf_shift: Array
    taper: Array
    exit_lag: Array
    residual_lag: Array
    finish_ra: Array
    through: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]
    notes: tuple[Note, ...]


def separation_speed(*, setup: Setup, parameters: CutParameters) -> Array:
    """
    Separation speed of the upright head on a set-up.

    Abrasive past the useful loading counts for nothing.

    Parameters
    ----------
    setup : Setup
        What is on the machine.
    parameters : CutParameters
        Medians or draws.

    Returns
    -------
    array, shape (D,)
        One value for medians. [m/s]
    """
    return np.atleast_1d(unfitted_separation_speed(setup) * floats(parameters.separation_factor))


def unfitted_separation_speed(setup: Setup) -> float:
    """
    Separation speed by the correlation alone.

    Parameters
    ----------
    setup : Setup
        What is on the machine.

    Returns
    -------
    float
        Of the upright head. [m/s]
    """
    flow = orifice_flow(pressure=setup.pressure, orifice=setup.orifice)
    return float(
        separation_speed_zeng_1993(
            pressure=setup.pressure,
            orifice=setup.orifice,
            abrasive_rate=np.minimum(setup.abrasive_rate, useful_abrasive_rate(flow=flow)),
            tube_bore=setup.tube_bore,
            thickness=setup.thickness,
            machinability=setup.material.machinability,
            abrasive_factor=setup.abrasive_factor,
        )
    )


def _speed_ratio(*, speeds: Array, upright: Array, tilt: Array, lead: Array) -> Array:
    """Speed ratio along the leaned path, shape (S, D)."""
    stretch = floats(path_depth(thickness=1.0, tilt=tilt, lead=lead)) ** ZENG_KIM_1993.speed_exponent
    return (speeds * stretch)[:, np.newaxis] / upright


def _log_ratio(*, speeds: Array, setup: Setup) -> Array:
    """Logarithm of the speed over the separation speed of the unfitted correlation, shape (S,)."""
    return np.log(speeds / unfitted_separation_speed(setup))


def _exit_lag(*, speed_ratio: Array, setup: Setup, parameters: CutParameters) -> Array:
    return floats(
        exit_lag(
            thickness=setup.thickness,
            speed_ratio=speed_ratio,
            lag_limit_angle=parameters.lag_limit_angle,
            lag_exponent=parameters.lag_exponent,
        )
    )


def _lean(*, speeds: Array, setup: Setup, central: CutParameters, travel: float) -> tuple[Array, Array]:
    """Tilt and lead at each speed, solved from the medians, shape (S,)."""
    upright = separation_speed(setup=setup, parameters=central)
    log_ratio = _log_ratio(speeds=speeds, setup=setup)
    tilt = np.zeros_like(speeds)
    lead = np.zeros_like(speeds)
    for _ in range(SOLVER_ROUNDS):
        ratio = _speed_ratio(speeds=speeds, upright=upright, tilt=tilt, lead=lead)
        taper = kerf_wall(
            setup=setup, parameters=central, speed_ratio=ratio, log_ratio=log_ratio, depths=NO_DEPTHS
        ).taper[:, 0]
        lag = _exit_lag(speed_ratio=ratio, setup=setup, parameters=central)[:, 0]
        tilt = floats(tilt_angle(taper=taper, thickness=setup.thickness, travel=travel))
        lead = floats(lead_angle(exit_lag=lag, thickness=setup.thickness, tilt=tilt, travel=travel))
    return tilt, lead


def cut_table(
    *,
    setup: Setup,
    parameters: CutParameters,
    central: CutParameters,
    speeds: ArrayLike,
    depths: ArrayLike = DEPTHS,
    tilted: bool = False,
    tilt_travel: float = 0.0,
) -> CutTable:
    """
    Kerf, lag and finish at every speed, depth and draw.

    Parameters
    ----------
    setup : Setup
        What is on the machine.
    parameters : CutParameters
        Draws of shape (D,), or medians for a table with D = 1.
    central : CutParameters
        Medians, from which tilt and lead are solved: one lean a speed, whatever the draw.
    speeds : array, shape (S,)
        Along the path. [m/s]
    depths : array, shape (L,)
        Fractions of the thickness, from the top face. [-]
    tilted : bool
        Whether the head is leaned.
    tilt_travel : float
        Largest lean of the head from upright. [rad]

    Returns
    -------
    CutTable
        See there for the shapes.

    Raises
    ------
    RangeError
        If a speed is zero or negative.
    """
    u = np.atleast_1d(np.asarray(speeds, dtype=np.float64))
    slowest = float(u.min())
    if not slowest > 0.0:
        raise RangeError(
            f"speed {slowest:g} m/s must be above zero: give the speed along the edge", speed=slowest
        )
    if tilted:
        tilt, lead = _lean(speeds=u, setup=setup, central=central, travel=tilt_travel)
    else:
        tilt, lead = np.zeros_like(u), np.zeros_like(u)
    return leaned_cut(
        setup=setup, parameters=parameters, speeds=u, tilt=tilt, lead=lead, depths=np.atleast_1d(depths)
    )


def leaned_cut(
    *,
    setup: Setup,
    parameters: CutParameters,
    speeds: Array,
    tilt: Array,
    lead: Array,
    depths: ArrayLike,
) -> CutTable:
    """
    Kerf, lag and finish at speeds that each have a lean of their own.

    Parameters
    ----------
    setup : Setup
        What is on the machine.
    parameters : CutParameters
        Draws of shape (D,), or medians.
    speeds, tilt, lead : array, shape (S,)
        Along the path [m/s], and the head's lean at each. [rad]
    depths : array, shape (L,)
        Fractions of the thickness. [-]

    Returns
    -------
    CutTable
        See there for the shapes.
    """
    u, zeta = speeds, np.asarray(depths, dtype=np.float64)
    upright = separation_speed(setup=setup, parameters=parameters)
    ratio = _speed_ratio(speeds=u, upright=upright, tilt=tilt, lead=lead)
    wall = kerf_wall(
        setup=setup,
        parameters=parameters,
        speed_ratio=ratio,
        log_ratio=_log_ratio(speeds=u, setup=setup),
        depths=zeta,
    )
    lag = _exit_lag(speed_ratio=ratio, setup=setup, parameters=parameters)
    layer = zeta[:, np.newaxis]
    depth = setup.thickness * zeta
    across = np.tan(tilt)[:, np.newaxis] * depth
    along = np.tan(lead)[:, np.newaxis] * depth
    trailing = floats(lag_at_depth(depth_fraction=layer, exit_lag=lag[:, np.newaxis, :]))
    return CutTable(
        speeds=u,
        depths=zeta,
        tilt=tilt,
        lead=lead,
        separation_speed=upright,
        speed_ratio=ratio,
        half_width=wall.width,
        kerf_shift=wall.width + across[:, :, np.newaxis],
        taper=wall.taper,
        exit_lag=lag,
        residual_lag=trailing - along[:, :, np.newaxis],
        finish_ra=floats(
            roughness_ra(
                depth_fraction=1.0,
                speed_ratio=ratio,
                grain_size=setup.grain_size,
                finish_entry=parameters.finish_entry,
                finish_gain=parameters.finish_gain,
                finish_speed_exponent=parameters.finish_speed_exponent,
                finish_depth_exponent=parameters.finish_depth_exponent,
            )
        ),
        through=ratio < 1.0,
        notes=cut_notes(setup),
    )


def cut_notes(setup: Setup) -> tuple[Note, ...]:
    """
    Notes on where a cut on a set-up is an extrapolation.

    Parameters
    ----------
    setup : Setup
        What is on the machine.

    Returns
    -------
    tuple of Note
        Thickness, pressure and bores beyond what the correlations were tested with.
    """
    return notes_beyond(
        "separation_speed_zeng_1993",
        thickness=setup.thickness,
        pressure=setup.pressure,
        orifice=setup.orifice,
        tube_bore=setup.tube_bore,
    ) + notes_beyond("taper_per_side", thickness=setup.thickness)
