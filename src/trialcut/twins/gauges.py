"""What gauges of a twin shop really show, and what its people sometimes write down instead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from trialcut.planning.study import Gauge

INCH = 25.4e-3
SLIP_RATE = (0.01, 0.02)
"""Share of readings that are slips."""
DECIMAL, SWAPPED, INCH_AS_MM, WRONG_FEATURE = "decimal", "swapped faces", "inch as mm", "wrong feature"


BIAS_SHARE = (-0.5, 0.5)
"""Of a gauge's largest permissible error, that is always there."""
NOISE_SHARE = (0.3, 0.8)
"""Of its standard uncertainty, that comes anew with every reading."""
WALL_NOISE = (1.5e-6, 4.0e-6)
"""What a jet-cut wall adds to the scatter of a length. [m]"""
FINE_STEP = {True: 0.01e-6, False: 1e-6}
"""Step of a display that states none: of roughness, and of lengths. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeTruth:
    """One gauge as it really is.

    Parameters
    ----------
    bias : float
        Always added. [m]
    inside_bias : float
        Added besides where it measures from inside. [m]
    noise_sd : float
        From reading to reading, the roughness of a jet-cut wall included. [m]
    resolution : float
        Of its display. [m]
    """

    bias: float
    noise_sd: float
    resolution: float
    inside_bias: float = 0.0

    def read(self, value: float, random: np.random.Generator, *, inside: bool = False) -> float:
        """What the display shows for a true value. [m]"""
        seen = value + self.bias + self.noise_sd * random.standard_normal()
        seen += self.inside_bias if inside else 0.0
        return float(np.round(seen / self.resolution) * self.resolution)


def draw_gauge(gauge: Gauge, random: np.random.Generator) -> GaugeTruth:
    """
    Draw how good a gauge really is, evenly between ends that are our own working values.

    Parameters
    ----------
    gauge : Gauge
        As the shop states it.
    random : Generator
        Source of chance.

    Returns
    -------
    GaugeTruth
        Within what is stated.
    """
    roughness = "Ra" in gauge.measures
    largest = gauge.largest_error or np.sqrt(3.0) * gauge.standard_uncertainty
    wall = 0.0 if roughness else random.uniform(*WALL_NOISE)
    return GaugeTruth(
        bias=float(random.uniform(*BIAS_SHARE) * largest),
        inside_bias=float(-random.uniform(0.0, 1.0) * gauge.inside_extra),
        noise_sd=float(np.hypot(random.uniform(*NOISE_SHARE) * gauge.standard_uncertainty, wall)),
        resolution=gauge.resolution or FINE_STEP[roughness],
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Noted:
    """One value as it was written on the reading form.

    Parameters
    ----------
    coupon, cut : str
        Where; `cut` is empty for a whole coupon.
    kind : str
        As the form calls it.
    depth : float or None
        Fraction of the thickness from the top. [-]
    value : float
        As written, in SI.
    slip : str
        What went wrong in writing it down, or empty. Nobody in the shop knows.
    """

    coupon: str
    cut: str
    kind: str
    depth: float | None
    value: float
    slip: str = ""


def with_slips(
    noted: Sequence[Noted], *, rate: float, random: np.random.Generator, kinds: frozenset[str]
) -> list[Noted]:
    """
    Spoil a few readings as people do.

    Parameters
    ----------
    noted : sequence of Noted
        Faultless writing.
    rate : float
        Share of readings spoilt. [-]
    random : Generator
        Source of chance.
    kinds : frozenset of str
        Kinds of reading that can be spoilt: the lengths.

    Returns
    -------
    list of Noted
        As many, in the same order.
    """
    out = list(noted)
    for place, each in enumerate(noted):
        if each.kind not in kinds or random.random() >= rate:
            continue
        slip = str(random.choice([DECIMAL, SWAPPED, INCH_AS_MM, WRONG_FEATURE]))
        if slip == DECIMAL:
            out[place] = replace(each, value=each.value * float(random.choice([0.1, 10.0])), slip=slip)
        elif slip == INCH_AS_MM:
            out[place] = replace(each, value=each.value * 1e-3 / INCH, slip=slip)
        else:
            other = _partner(noted, each, swapped=slip == SWAPPED)
            if other is not None:
                out[place] = replace(each, value=noted[other].value, slip=slip)
                if slip == SWAPPED:
                    out[other] = replace(noted[other], value=each.value, slip=slip)
    return out


def _partner(noted: Sequence[Noted], each: Noted, *, swapped: bool) -> int | None:
    """Place of the reading that is taken for another: the far face, or the next feature at that depth."""
    for place, other in enumerate(noted):
        if (other.coupon, other.kind) != (each.coupon, each.kind) or each.depth is None:
            continue
        same_cut = other.cut == each.cut
        if swapped and same_cut and other.depth == 1.0 - each.depth and other.depth != each.depth:
            return place
        if not swapped and not same_cut and other.depth == each.depth:
            return place
    return None
