"""Parameters of the cut as standard normal scores: one kerf form, and the materials that were cut."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from trialcut.physics.kerf import KERF_TAPER, POWER
from trialcut.physics.kerf_forms import KerfForm
from trialcut.physics.numeric import Array, floats
from trialcut.physics.parameters import CutParameters
from trialcut.physics.separation import ZENG_KIM_1993
from trialcut.physics.setup import Material, Setup
from trialcut.sources import Constant, constant_set

FORM_SETS = {KerfForm.CLOSING: "kerf-taper", KerfForm.POWER: "kerf-power", KerfForm.DOSE: "kerf-dose"}
COMMON_SETS = ("jet-lag", "finish", "piercing", "motion-time")
MODEL_FACTOR, THICKNESS_EXPONENT = "model_factor", "separation_thickness_exponent"
PULLED = {
    "taper_neutral": ("taper_exponent", KERF_TAPER.exponent_neutral_correlation),
    "power_neutral": ("power_speed_exponent", POWER.power_exponent_neutral_correlation),
}
"""Parameters drawn against another, and their correlation."""


def material_score(material: str) -> str:
    """Name of the score that says how a material differs from its machinability number."""
    return f"machinability of {material}"


@dataclass(frozen=True, kw_only=True)
class Prior:
    """What is known of the parameters before any reading.

    Parameters
    ----------
    form : KerfForm
        Whose taper parameters are in it.
    names : tuple of str
        Of the scores, in their order.
    constants : mapping
        Name to `Constant`, for all but the materials.
    material_log_sd : mapping
        Score name to the spread of its separation speed.
    """

    form: KerfForm
    names: tuple[str, ...]
    constants: Mapping[str, Constant]
    material_log_sd: Mapping[str, float]

    def values(self, scores: Array) -> dict[str, Array]:
        """
        Values of the parameters at standard normal scores.

        Parameters
        ----------
        scores : array, shape (P, D)
            In the order of `names`.

        Returns
        -------
        dict
            Name to array, shape (D,); a material's is the factor on its separation speed.
        """
        rows = dict(zip(self.names, scores, strict=True))
        found = {}
        for name, score in rows.items():
            if name in self.material_log_sd:
                found[name] = np.exp(self.material_log_sd[name] * score)
                continue
            own = score
            if name in PULLED and PULLED[name][0] in rows:
                other, correlation = PULLED[name]
                own = correlation * rows[other] + np.sqrt(1.0 - correlation**2) * score
            found[name] = value_at_score(self.constants[name], own)
        return found

    def parameters(self, values: Mapping[str, Array], setup: Setup) -> CutParameters:
        """
        Parameters of the cut on one set-up.

        Parameters
        ----------
        values : mapping
            From `values`; a material that is not in it counts as its number says.
        setup : Setup
            Its thickness and material decide the factor on separation speed.

        Returns
        -------
        CutParameters
            Of arrays, shape (D,), without effects.
        """
        wanted = {each.name for each in fields(CutParameters)}
        given: dict[str, Any] = {name: value for name, value in values.items() if name in wanted}
        stretch = setup.thickness / KERF_TAPER.reference_thickness
        factor = values[MODEL_FACTOR] * stretch ** values[THICKNESS_EXPONENT]
        factor = factor * values.get(material_score(setup.material.name), 1.0)
        scatter = {name: constant.value for name, constant in constant_set("process-scatter").items()}
        given = _medians() | scatter | given
        return CutParameters(separation_factor=factor, kerf_form=int(self.form), **given)


def prior_of(form: KerfForm, materials: Iterable[Material]) -> Prior:
    """
    Prior of one kerf form for the materials that are cut.

    Parameters
    ----------
    form : KerfForm
        Whose taper parameters are wanted.
    materials : iterable of Material
        Each gets a score of its own; its number says how wide.

    Returns
    -------
    Prior
        With its names.
    """
    constants = {name: constant_set("separation-prior")[name] for name in (MODEL_FACTOR, THICKNESS_EXPONENT)}
    kerf = constant_set("kerf-taper")
    constants |= {name: kerf[name] for name in ("kerf_gain", "kerf_standoff")}
    constants |= {
        name: constant for name, constant in constant_set(FORM_SETS[form]).items() if _is_uncertain(constant)
    }
    profile = constant_set("kerf-profile")
    constants["barrel"] = profile["barrel"]
    if form is not KerfForm.DOSE:
        constants["profile_exponent"] = profile["profile_exponent"]
    for name in COMMON_SETS:
        constants |= {key: each for key, each in constant_set(name).items() if key in _PARAMETERS}
    spreads = {
        material_score(each.name): ZENG_KIM_1993.speed_exponent * each.machinability_log_sd
        for each in sorted(materials, key=lambda each: each.name)
    }
    return Prior(form=form, names=(*constants, *spreads), constants=constants, material_log_sd=spreads)


def value_at_score(constant: Constant, score: Array) -> Array:
    """
    Value of a constant at standard normal scores, squeezed between its limits.

    Parameters
    ----------
    constant : Constant
        With a spread.
    score : array, shape S
        [-]

    Returns
    -------
    array, shape S
        In the unit of the constant: its normal or log-normal distribution, cut off at the limits.
    """
    from scipy.special import ndtr, ndtri  # noqa: PLC0415, slow to import

    spread = constant.log_sd if constant.log_sd is not None else constant.sd
    if spread is None:
        raise AssertionError(f"{constant.name} has no spread in the sources")

    def as_score(limit: float) -> float:
        if constant.log_sd is not None:
            return float(np.log(limit / constant.value) / spread)
        return (limit - constant.value) / spread

    own = floats(score)
    if constant.lower is not None or constant.upper is not None:
        low = 0.0 if constant.lower is None else float(ndtr(as_score(constant.lower)))
        high = 1.0 if constant.upper is None else float(ndtr(as_score(constant.upper)))
        own = ndtri(np.clip(low + ndtr(own) * (high - low), 1e-15, 1.0 - 1e-15))
    if constant.log_sd is not None:
        return np.asarray(constant.value * np.exp(spread * own), dtype=np.float64)
    return np.asarray(constant.value + spread * own, dtype=np.float64)


_PARAMETERS = {each.name for each in fields(CutParameters)}


def _is_uncertain(constant: Constant) -> bool:
    return constant.sd is not None or constant.log_sd is not None


def _medians() -> dict[str, float]:
    """Medians of every parameter of the cut that a form may not use."""
    sets = ("orifice-flow", "kerf-taper", "kerf-profile", *COMMON_SETS)
    return {
        name: constant.value
        for each in sets
        for name, constant in constant_set(each).items()
        if name in _PARAMETERS
    }
