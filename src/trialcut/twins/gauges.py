"""What gauges of a twin shop really show, and what its people sometimes write down instead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

INCH = 25.4e-3
SLIP_RATE = (0.01, 0.02)
"""Share of readings that are slips."""
DECIMAL, SWAPPED, INCH_AS_MM, WRONG_FEATURE = "decimal", "swapped faces", "inch as mm", "wrong feature"


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeTruth:
    """One gauge as it really is.

    Parameters
    ----------
    bias : float
        Always added. [m]
    noise_sd : float
        From reading to reading, the roughness of a jet-cut wall included. [m]
    resolution : float
        Of its display. [m]
    """

    bias: float
    noise_sd: float
    resolution: float

    def read(self, value: float, random: np.random.Generator) -> float:
        """What the display shows for a true value. [m]"""
        seen = value + self.bias + self.noise_sd * random.standard_normal()
        return float(np.round(seen / self.resolution) * self.resolution)


GAUGE_RANGES: dict[str, dict[str, tuple[float, float]]] = {
    "caliper": {"bias": (-12e-6, 12e-6), "noise_sd": (5e-6, 12e-6), "resolution": (10e-6, 10e-6)},
    "micrometer": {"bias": (-2e-6, 2e-6), "noise_sd": (2e-6, 5e-6), "resolution": (1e-6, 1e-6)},
}
"""Per kind of gauge, the ends that each number is drawn between: our own working values; resolution as sold.
[m]"""


def draw_gauge(kind: str, random: np.random.Generator) -> GaugeTruth:
    """
    Draw how good a gauge really is.

    Parameters
    ----------
    kind : str
        A key of `GAUGE_RANGES`.
    random : Generator
        Source of chance.

    Returns
    -------
    GaugeTruth
        The gauge.
    """
    return GaugeTruth(**{name: float(random.uniform(*ends)) for name, ends in GAUGE_RANGES[kind].items()})


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
