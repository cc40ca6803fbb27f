"""What is not known for sure about the jet, as medians and as draws.

Each parameter is drawn from a stream of its own, named after it, so that adding one moves no other.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trialcut.errors import RangeError
from trialcut.physics.discrepancy import Discrepancy
from trialcut.physics.kerf import DOSE, KERF_TAPER, POWER
from trialcut.physics.numeric import Array, Numeric
from trialcut.physics.separation import ZENG_KIM_1993
from trialcut.physics.setup import Setup
from trialcut.sources import Constant, constant_set

PRIOR_SETS = ("orifice-flow", "kerf-taper", "kerf-profile", "jet-lag", "finish", "piercing")
SCATTER_SET = "process-scatter"


@dataclass(frozen=True, slots=True, kw_only=True)
class CutParameters:
    """Parameters of the cut, as floats or as draws of shape (D,).

    Parameters
    ----------
    discharge_coefficient : float or array, shape (D,)
        Of the orifice. [-]
    separation_factor : float or array, shape (D,)
        Separation speed over what the correlation says with the material's number. [-]
    kerf_gain, kerf_standoff : float or array, shape (D,)
        Top kerf over tube bore less one, and half-width gained per standoff. [-]
    taper_exponent, taper_thickness_exponent, taper_neutral : float or array, shape (D,)
        Taper per side against speed ratio and thickness. [-]
    profile_exponent, barrel : float or array, shape (D,)
        Shape of the wall through the depth. [-]
    lag_limit_angle : float or array, shape (D,)
        Exit angle at separation. [rad]
    lag_exponent : float or array, shape (D,)
        Growth of the exit angle with the speed ratio. [-]
    finish_entry, finish_gain : float or array, shape (D,)
        Ra at the entry with the reference grain, and added at the exit at separation. [m]
    finish_speed_exponent, finish_depth_exponent : float or array, shape (D,)
        Growth of the added Ra. [-]
    rq_over_ra : float or array, shape (D,)
        Root mean square over mean roughness. [-]
    pierce_time : float or array, shape (D,)
        Stationary, through the reference plate. [s]
    pierce_exponent : float or array, shape (D,)
        Growth with thickness. [-]
    kerf_form : int or array of int, shape (D,)
        Which form gives the taper, see `KerfForm`; the parameters of the others then do nothing.
    power_taper : float or array, shape (D,)
        Power law: taper of the reference plate at separation, before `power_neutral` is taken off. [m]
    power_thickness_exponent, power_speed_exponent, power_neutral : float or array, shape (D,)
        Power law: against thickness and speed ratio. [-]
    dose_spread, dose_thickness_exponent, dose_depth_exponent : float or array, shape (D,)
        Dose law: spread of the jet over the top half-width in the reference plate, its growth with thickness,
        and the fall of separation speed with depth. [-]
    top_shift : float or array, shape (D,)
        Added to the half-width at the top face: what this tube and this session differ by. [m]
    discrepancy : Discrepancy or None
        What the form leaves unsaid.
    slow_factor, fixed_factor : float or array, shape (D,)
        What corners and acceleration, and what traverses and switching take, over what motion says. [-]
    piece_scatter : float
        Standard deviation of the kerf half-width between pieces. [m]
    edge_scatter : float
        Standard deviation of a wall's position between edges of one piece. [m]
    finish_scatter : float
        Relative standard deviation of the finish between edges. [-]
    """

    discharge_coefficient: Numeric
    separation_factor: Numeric
    kerf_gain: Numeric
    kerf_standoff: Numeric
    taper_exponent: Numeric
    taper_thickness_exponent: Numeric
    taper_neutral: Numeric
    profile_exponent: Numeric
    barrel: Numeric
    lag_limit_angle: Numeric
    lag_exponent: Numeric
    finish_entry: Numeric
    finish_gain: Numeric
    finish_speed_exponent: Numeric
    finish_depth_exponent: Numeric
    rq_over_ra: Numeric
    pierce_time: Numeric
    pierce_exponent: Numeric
    piece_scatter: float
    edge_scatter: float
    finish_scatter: float
    kerf_form: int | NDArray[np.int8] = 0
    power_taper: Numeric = POWER.power_taper
    power_thickness_exponent: Numeric = POWER.power_thickness_exponent
    power_speed_exponent: Numeric = POWER.power_speed_exponent
    power_neutral: Numeric = POWER.power_neutral
    dose_spread: Numeric = DOSE.dose_spread
    dose_thickness_exponent: Numeric = DOSE.dose_thickness_exponent
    dose_depth_exponent: Numeric = DOSE.dose_depth_exponent
    top_shift: Numeric = 0.0
    discrepancy: Discrepancy | None = None
    slow_factor: Numeric = 1.0
    fixed_factor: Numeric = 1.0


def _priors() -> dict[str, Constant]:
    wanted = {field.name for field in fields(CutParameters)}
    return {
        name: constant
        for set_id in PRIOR_SETS
        for name, constant in constant_set(set_id).items()
        if name in wanted
    }


def _scatter() -> dict[str, float]:
    return {name: constant.value for name, constant in constant_set(SCATTER_SET).items()}


def stream(*, name: str, seed: int) -> np.random.Generator:
    """Random stream of one parameter.

    Parameters
    ----------
    name : str
        Of the parameter.
    seed : int
        Of the whole set of draws.

    Returns
    -------
    numpy.random.Generator
        The same for the same name and seed, whatever else is drawn.
    """
    return np.random.default_rng([seed, zlib.crc32(name.encode())])


def _from_normal(constant: Constant, normal: Array) -> Array:
    """Values of a constant at standard normal scores."""
    if constant.log_sd is not None:
        return np.asarray(constant.value * np.exp(constant.log_sd * normal), dtype=np.float64)
    if constant.sd is not None:
        return constant.value + constant.sd * normal
    raise RangeError(f"{constant.name} has no spread in the sources: give sd or log_sd", name=constant.name)


def _draw(
    constant: Constant, generator: np.random.Generator, count: int, *, pull: Numeric = 0.0, free: float = 1.0
) -> tuple[Array, Array]:
    """Values within the constant's limits and their normal scores, redrawing what falls outside."""
    low = -np.inf if constant.lower is None else constant.lower
    high = np.inf if constant.upper is None else constant.upper
    normal: Array = pull + free * generator.standard_normal(count)
    values = _from_normal(constant, normal)
    outside = (values < low) | (values > high)
    while np.any(outside):
        normal = np.where(outside, pull + free * generator.standard_normal(count), normal)
        values = _from_normal(constant, normal)
        outside = (values < low) | (values > high)
    return values, normal


def central_parameters(setup: Setup) -> CutParameters:
    """Give the medians.

    Parameters
    ----------
    setup : Setup
        What is on the machine; the medians of the priors do not depend on it yet.

    Returns
    -------
    CutParameters
        Of floats.
    """
    del setup
    medians: dict[str, Any] = {name: constant.value for name, constant in _priors().items()} | _scatter()
    factor = constant_set("separation-prior")["model_factor"].value
    return CutParameters(separation_factor=factor, **medians)


def draw_parameters(setup: Setup, *, count: int, seed: int) -> CutParameters:
    """Draw one shared set of parameters.

    Parameters
    ----------
    setup : Setup
        Its material says how sure the machinability number is.
    count : int
        Number of draws D.
    seed : int
        Of the whole set.

    Returns
    -------
    CutParameters
        Of arrays, shape (D,).
    """
    priors = _priors()
    drawn: dict[str, Any] = {}
    scores: dict[str, Array] = {}
    for name, constant in priors.items():
        if name != "taper_neutral":
            drawn[name], scores[name] = _draw(constant, stream(name=name, seed=seed), count)
    correlation = KERF_TAPER.exponent_neutral_correlation
    drawn["taper_neutral"], _ = _draw(
        priors["taper_neutral"],
        stream(name="taper_neutral", seed=seed),
        count,
        pull=correlation * scores["taper_exponent"],
        free=float(np.sqrt(1.0 - correlation**2)),
    )
    model_error, _ = _draw(
        constant_set("separation-prior")["model_factor"], stream(name="model_factor", seed=seed), count
    )
    material = stream(name="machinability", seed=seed).standard_normal(count)
    material_error = np.exp(ZENG_KIM_1993.speed_exponent * setup.material.machinability_log_sd * material)
    return CutParameters(separation_factor=model_error * material_error, **(drawn | _scatter()))
