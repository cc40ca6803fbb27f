"""What makes one twin unlike another: the numbers of its laws, and the ranges they are drawn from."""

from __future__ import annotations

from dataclasses import dataclass, field, fields

import numpy as np

INCH_PLATE = 25.4e-3
"""Thickness at which the numbers of the laws hold. [m]"""


def _between(low: float, high: float) -> float:
    """Declare a number that is drawn evenly between two ends."""
    value: float = field(metadata={"range": (low, high)})
    return value


@dataclass(frozen=True, slots=True, kw_only=True)
class TwinLaws:
    """Hidden numbers of one twin. Ranges are our own working values unless a source is named.

    Parameters
    ----------
    speed_log : float
        Logarithm of its separation speed over the correlation's at 20 mm: machinability, grain and head. [-]
    thickness_exponent : float
        Size by which the fall of separation speed with thickness differs from the correlation's 1.15, as a
        share of it. [-]
    thickness_sign : float
        Which way it differs: below zero falls more slowly. [-]
    absorption : float
        Length over which the jet's energy falls by e. [m]
    top_gain : float
        Top kerf over bore, less one, at a tenth of separation speed (1.02 to 1.3: common practice). [-]
    edge_power : float
        How softly the jet's power ends at its rim: the power falls as (1 - (x/s)^2)^edge_power. [-]
    loss : float
        Logarithm by which the local separation speed at the top exceeds that at the bottom. [-]
    loss_shape : float
        Power of the depth in that loss. [-]
    loss_thickness : float
        Power of the thickness in it. [-]
    spreading : float
        Growth of the jet's radius from top to bottom. [-]
    washout : float
        Half-width that slurry adds at the bottom at a tenth of separation speed. [m]
    washout_power : float
        How it grows as the speed falls. [-]
    barrel : float
        Half-width added at mid depth of a slow cut. [m]
    barrel_power : float
        How it fades as the speed nears separation. [-]
    lag_scale : float
        Exit lag over thickness at separation, before it runs away. [-]
    lag_power : float
        Its growth with the speed ratio. [-]
    lag_runaway : float
        Share of the speed ratio taken off the denominator. [-]
    front_power : float
        Shape of the front: 2 is a parabola, 3 a cubic. [-]
    entry_roughness : float
        Ra at the top with 0.18 mm grain. [m]
    roughness_gain : float
        Ra that the exponential law adds. [m]
    roughness_growth : float
        Its exponent per speed ratio and depth. [-]
    grain_power : float
        Of the grain size in the entry roughness. [-]
    pierce_inch : float
        Stationary piercing of 1 in at machinability 213. [s]
    pierce_power : float
        Of the thickness. [-]
    motion_share : float
        Time that corners and acceleration really take, over what the program says. [-]
    bore_error : float
        Real bore less believed bore at the trial. [m]
    bore_growth : float
        Wear of the bore with jet-on time, 0.01 to 0.03 mm in 8 h (from memory). [m/s]
    session_width_sd : float
        Of the kerf half-width from day to day. [m]
    session_speed_sd : float
        Of the logarithm of the separation speed from day to day. [-]
    lot_log : float
        Logarithm of the separation speed of this lot of plate over the material's. [-]
    piece_sd : float
        Of the walls of a piece, shared by its edges. [m]
    edge_sd : float
        Of each edge for itself, without the machine's position. [m]
    position_share : float
        The machine's real position scatter over what the shop states. [-]
    roughness_sd : float
        Relative, from edge to edge. [-]
    """

    speed_log: float = _between(-0.15, 0.15)
    thickness_exponent: float = _between(0.10, 0.15)
    thickness_sign: float = _between(-1.0, 1.0)
    absorption: float = _between(0.06, 0.15)
    top_gain: float = _between(0.02, 0.30)
    edge_power: float = _between(1.8, 4.5)
    loss: float = _between(3.0, 5.0)
    loss_shape: float = _between(0.55, 0.95)
    loss_thickness: float = _between(0.2, 0.6)
    spreading: float = _between(0.0, 0.15)
    washout: float = _between(0.0, 90e-6)
    washout_power: float = _between(0.4, 0.9)
    barrel: float = _between(-15e-6, 25e-6)
    barrel_power: float = _between(0.5, 2.5)
    lag_scale: float = _between(0.30, 0.60)
    lag_power: float = _between(0.95, 1.55)
    lag_runaway: float = _between(0.1, 0.5)
    front_power: float = _between(2.2, 3.2)
    entry_roughness: float = _between(1.8e-6, 2.9e-6)
    roughness_gain: float = _between(0.7e-6, 1.3e-6)
    roughness_growth: float = _between(2.3, 3.6)
    grain_power: float = _between(0.5, 0.9)
    pierce_inch: float = _between(8.0, 18.0)
    pierce_power: float = _between(1.2, 1.8)
    motion_share: float = _between(0.9, 1.3)
    bore_error: float = _between(-20e-6, 30e-6)
    bore_growth: float = _between(0.01e-3 / 28800.0, 0.03e-3 / 28800.0)
    session_width_sd: float = _between(3e-6, 10e-6)
    session_speed_sd: float = _between(0.01, 0.04)
    lot_log: float = _between(-0.06, 0.06)
    piece_sd: float = _between(4e-6, 12e-6)
    edge_sd: float = _between(5e-6, 14e-6)
    position_share: float = _between(0.7, 1.2)
    roughness_sd: float = _between(0.04, 0.10)


RANGES: dict[str, tuple[float, float]] = {each.name: each.metadata["range"] for each in fields(TwinLaws)}
"""Name of each number to the two ends it is drawn between."""


def draw_laws(random: np.random.Generator) -> TwinLaws:
    """
    Draw the numbers of a twin, evenly and independently over their ranges.

    Parameters
    ----------
    random : Generator
        Source of chance.

    Returns
    -------
    TwinLaws
        Whether they make a believable jet is for `trialcut.twins.physics.draw_twin` to say.
    """
    return TwinLaws(**{name: float(random.uniform(*ends)) for name, ends in RANGES.items()})
