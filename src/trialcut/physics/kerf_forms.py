"""The kerf wall by any of the three rival forms, each draw by its own."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from enum import IntEnum
from typing import Any

import numpy as np

from trialcut.physics.discrepancy import added_width
from trialcut.physics.kerf import (
    KERF_TAPER,
    half_width_dose_law,
    taper_per_side,
    taper_per_side_power_law,
    top_half_width,
)
from trialcut.physics.numeric import Array, floats
from trialcut.physics.parameters import CutParameters
from trialcut.physics.profile import half_width
from trialcut.physics.setup import Setup


class KerfForm(IntEnum):
    """Which form gives the taper; the number is how draws say it."""

    CLOSING = 0
    """The bottom just closes at separation, `taper_per_side`."""
    POWER = 1
    """Power law, `taper_per_side_power_law`."""
    DOSE = 2
    """Dose of a bell-shaped jet, `half_width_dose_law`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KerfWall:
    """Half-widths of the kerf.

    Parameters
    ----------
    top : array, shape (D,)
        At the top face, by the form alone. [m]
    width : array, shape (S, L, D)
        At each depth. [m]
    taper : array, shape (S, D)
        At the top less at the bottom. [m]
    """

    top: Array
    width: Array
    taper: Array


def kerf_wall(
    *, setup: Setup, parameters: CutParameters, speed_ratio: Array, log_ratio: Array, depths: Array
) -> KerfWall:
    """
    Half-widths of the kerf at every speed, depth and draw.

    Parameters
    ----------
    setup : Setup
        What is on the machine.
    parameters : CutParameters
        Medians or draws.
    speed_ratio : array, shape (S, D)
        Speed over separation speed along the leaned path. [-]
    log_ratio : array, shape (S,)
        Logarithms of the speed over the unfitted separation speed, for the discrepancy. [-]
    depths : array, shape (L,)
        Fractions of the thickness. [-]

    Returns
    -------
    KerfWall
        See there for the shapes.
    """
    forms = np.unique(parameters.kerf_form)
    if forms.size == 1:
        found = _FORMS[KerfForm(int(forms[0]))](setup, parameters, speed_ratio, depths)
    else:
        found = _mixed(setup, parameters, speed_ratio, depths)
    if parameters.discrepancy is None:
        return found
    top, taper, barrel = parameters.discrepancy.at(log_ratio)
    layer = depths[:, np.newaxis]
    added = added_width(
        depth_fraction=layer,
        added_top=top[:, np.newaxis, :],
        added_taper=taper[:, np.newaxis, :],
        added_barrel=barrel[:, np.newaxis, :],
    )
    return KerfWall(top=found.top, width=np.maximum(found.width + added, 0.0), taper=found.taper + taper)


def top_of_kerf(*, setup: Setup, parameters: CutParameters) -> Array:
    """
    Half-width at the top face, before any discrepancy.

    Parameters
    ----------
    setup : Setup
        What is on the machine.
    parameters : CutParameters
        Medians or draws.

    Returns
    -------
    array, shape (D,)
        One value for medians. [m]
    """
    by_form = top_half_width(
        tube_bore=setup.tube_bore,
        standoff=setup.standoff,
        kerf_gain=parameters.kerf_gain,
        kerf_standoff=parameters.kerf_standoff,
    )
    return np.atleast_1d(by_form + floats(parameters.top_shift))


def pick_draws(parameters: CutParameters, draws: Array) -> CutParameters:
    """
    Some of the draws of a set of parameters.

    Parameters
    ----------
    parameters : CutParameters
        Draws of shape (D,); what is a single number stays one.
    draws : array of int or bool
        Which.

    Returns
    -------
    CutParameters
        Without its discrepancy.
    """
    picked: dict[str, Any] = {
        each.name: value[draws]
        for each in fields(parameters)
        if np.ndim(value := getattr(parameters, each.name)) == 1 and np.size(value) > 1
    }
    return replace(parameters, discrepancy=None, **picked)


def _mixed(setup: Setup, parameters: CutParameters, speed_ratio: Array, depths: Array) -> KerfWall:
    speeds, draws = speed_ratio.shape
    top = np.empty(draws)
    width, taper = np.empty((speeds, depths.size, draws)), np.empty((speeds, draws))
    for form, wall in _FORMS.items():
        of_form = np.broadcast_to(np.equal(parameters.kerf_form, int(form)), (draws,))
        if of_form.any():
            found = wall(setup, pick_draws(parameters, of_form), speed_ratio[:, of_form], depths)
            top[of_form], width[:, :, of_form], taper[:, of_form] = found.top, found.width, found.taper
    return KerfWall(top=top, width=width, taper=taper)


def _closing(setup: Setup, parameters: CutParameters, speed_ratio: Array, depths: Array) -> KerfWall:
    top = top_of_kerf(setup=setup, parameters=parameters)
    taper = taper_per_side(
        speed_ratio=speed_ratio,
        thickness=setup.thickness,
        top_half_width=top,
        taper_exponent=parameters.taper_exponent,
        taper_thickness_exponent=parameters.taper_thickness_exponent,
        taper_neutral=parameters.taper_neutral,
    )
    return _profiled(parameters, top, floats(taper), depths)


def _power(setup: Setup, parameters: CutParameters, speed_ratio: Array, depths: Array) -> KerfWall:
    top = top_of_kerf(setup=setup, parameters=parameters)
    exponent = floats(parameters.power_thickness_exponent)
    taper = taper_per_side_power_law(
        speed_ratio=speed_ratio,
        thickness=setup.thickness,
        scale=floats(parameters.power_taper) / KERF_TAPER.reference_thickness**exponent,
        thickness_exponent=exponent,
        speed_exponent=parameters.power_speed_exponent,
        neutral=parameters.power_neutral,
    )
    return _profiled(parameters, top, floats(taper), depths)


def _profiled(parameters: CutParameters, top: Array, taper: Array, depths: Array) -> KerfWall:
    width = half_width(
        depth_fraction=depths[:, np.newaxis],
        top_half_width=top,
        taper=taper[:, np.newaxis, :],
        profile_exponent=parameters.profile_exponent,
        barrel=parameters.barrel,
    )
    return KerfWall(top=top, width=floats(width), taper=taper)


def _dose(setup: Setup, parameters: CutParameters, speed_ratio: Array, depths: Array) -> KerfWall:
    top = top_of_kerf(setup=setup, parameters=parameters)
    growth = (setup.thickness / KERF_TAPER.reference_thickness) ** floats(parameters.dose_thickness_exponent)
    layer = depths[:, np.newaxis]
    width = half_width_dose_law(
        speed_ratio=np.minimum(speed_ratio, 1.0)[:, np.newaxis, :],
        depth_fraction=layer,
        beam_spread=floats(parameters.dose_spread) * growth * top,
        top_half_width=top,
        depth_exponent=parameters.dose_depth_exponent,
    )
    bow = 4.0 * floats(parameters.barrel) * layer * (1.0 - layer) * top
    bottom = half_width_dose_law(
        speed_ratio=np.minimum(speed_ratio, 1.0),
        depth_fraction=1.0,
        beam_spread=floats(parameters.dose_spread) * growth * top,
        top_half_width=top,
        depth_exponent=parameters.dose_depth_exponent,
    )
    return KerfWall(top=top, width=np.maximum(width + bow, 0.0), taper=top - floats(bottom))


_FORMS = {KerfForm.CLOSING: _closing, KerfForm.POWER: _power, KerfForm.DOSE: _dose}
