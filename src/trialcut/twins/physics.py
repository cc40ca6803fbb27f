"""A twin's jet: an energy balance that owes nothing to the forms that forecasts use.

The jet has a rim: across it the power falls as (1 - (x/s)^2)^k and is nothing beyond the radius s. What is
left of it decays exponentially with depth while the radius grows. A wall stands where the power just pays for
the speed. Slurry washes out the bottom of slow cuts, and slow cuts barrel.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from trialcut.twins.correlation import REFERENCE_THICKNESS, handbook_separation_speed
from trialcut.twins.laws import INCH_PLATE, TwinLaws, draw_laws
from trialcut.twins.protocol import BoolArray, Conditions, FloatArray, TwinSession, TwinSetup

CORRELATION_THICKNESS_EXPONENT = 1.15
BORE_EXPONENT = -0.618 * 1.15
"""Of the bore in the separation speed, as the correlation has it. [-]"""
REFERENCE_RATIO = 0.1
"""Speed ratio at which top kerf and taper of a twin are stated. [-]"""
CRAWL = 0.015
"""Speed ratio at which every twin opens at the bottom. [-]"""
TAPER_RANGE = (0.05e-3, 0.25e-3)
"""Taper per side that a twin has at a tenth of separation speed in 1 in plate. [m]"""
GRAIN = 0.18e-3
ALUMINIUM = 213.0
TRIES = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Twin:
    """A cell with these laws and this set-up; see `TwinPhysics`.

    Parameters
    ----------
    setup : TwinSetup
        As the shop believes.
    laws : TwinLaws
        What nobody in the shop knows.
    """

    setup: TwinSetup
    laws: TwinLaws

    def session(self, *, start: float, seed: int) -> TwinSession:
        """Start a day, see `TwinPhysics`."""
        random = np.random.default_rng(seed)
        return Day(
            twin=self,
            bore=self.setup.tube_bore + self.laws.bore_error + self.laws.bore_growth * start,
            width_shift=float(self.laws.session_width_sd * random.standard_normal()),
            speed_shift=float(self.laws.session_speed_sd * random.standard_normal()),
            random=random,
        )

    def separation_speed(self, *, thickness: FloatArray, bore: float) -> FloatArray:
        """Fastest speed that cuts through on an average day, shape S. [m/s]"""
        laws, length = self.laws, self.laws.absorption
        share = 1.0 + np.copysign(laws.thickness_exponent, laws.thickness_sign)
        x_ref = REFERENCE_THICKNESS / length
        exponent = share * CORRELATION_THICKNESS_EXPONENT * -np.expm1(-x_ref) / x_ref
        at_reference = handbook_separation_speed(self.setup, thickness=REFERENCE_THICKNESS)
        fall = (np.expm1(x_ref) / np.expm1(thickness / length)) ** exponent
        worn = (bore / self.setup.tube_bore) ** BORE_EXPONENT
        return np.asarray(at_reference * np.exp(laws.speed_log + laws.lot_log) * fall * worn)

    def half_width(self, *, ratio: FloatArray, zeta: FloatArray, size: FloatArray, bore: float) -> FloatArray:
        """Half-width of the kerf; speed ratio and thickness over 1 in with shape (*S, 1), depth (L,). [m]"""
        laws = self.laws
        pay = ratio * np.exp(-laws.loss * size**laws.loss_thickness * (1.0 - zeta**laws.loss_shape))
        radius = self._radius(bore) * (1.0 + laws.spreading * size * zeta)
        reach = radius * np.sqrt(np.maximum(1.0 - pay ** (1.0 / laws.edge_power), 0.0))
        washed = laws.washout * size * zeta**1.5 * (REFERENCE_RATIO / ratio) ** laws.washout_power
        slow = np.maximum(1.0 - ratio, 0.0) ** laws.barrel_power
        bulge = 4.0 * laws.barrel * np.sqrt(size) * slow * zeta * (1.0 - zeta)
        return np.asarray(np.where(reach > 0.0, np.maximum(reach + washed + bulge, 0.0), 0.0))

    def taper(self, *, ratio: float) -> float:
        """Taper per side in 1 in plate, tube as at the trial. [m]"""
        top, bottom = self.half_width(
            ratio=np.array([ratio]),
            zeta=np.array([0.0, 1.0]),
            size=np.ones(1),
            bore=self.setup.tube_bore + self.laws.bore_error,
        )
        return float(top - bottom)

    def _radius(self, bore: float) -> float:
        """Jet's radius at the top, such that the top kerf is what the laws say. [m]"""
        laws = self.laws
        pay = (REFERENCE_RATIO * np.exp(-laws.loss)) ** (1.0 / laws.edge_power)
        return float(0.5 * bore * (1.0 + laws.top_gain) / np.sqrt(1.0 - pay))


@dataclass(slots=True, kw_only=True)
class Day:
    """One session at a `Twin`; see `TwinSession`."""

    twin: Twin
    bore: float
    width_shift: float
    speed_shift: float
    random: np.random.Generator = field(repr=False)

    def run(self, *, jet_time: float) -> None:
        """Wear the tube."""
        self.bore += self.twin.laws.bore_growth * jet_time

    def ratio(self, cut: Conditions) -> FloatArray:
        """Speed over separation speed along the leaned way through the plate, shape S. [-]"""
        way = np.sqrt(1.0 + np.tan(cut.tilt) ** 2 + np.tan(cut.lead) ** 2)
        longer = np.asarray(cut.thickness * way, dtype=float)
        fastest = self.twin.separation_speed(thickness=longer, bore=self.bore) * np.exp(self.speed_shift)
        return np.asarray(cut.speed / fastest, dtype=float)

    def kerf_half_width(self, cut: Conditions, depths: FloatArray) -> FloatArray:
        """Half-width, shape (*S, L). [m]"""
        width = self.twin.half_width(
            ratio=self.ratio(cut)[..., None], zeta=depths, size=_size(cut)[..., None], bore=self.bore
        )
        return np.where(width > 0.0, np.maximum(width + self.width_shift, 0.0), 0.0)

    def lag(self, cut: Conditions, depths: FloatArray) -> FloatArray:
        """Front behind entry, shape (*S, L). [m]"""
        laws, ratio = self.twin.laws, np.minimum(self.ratio(cut), 1.0)
        exit_lag = cut.thickness * laws.lag_scale * ratio**laws.lag_power / (1.0 - laws.lag_runaway * ratio)
        return np.asarray(exit_lag)[..., None] * depths**laws.front_power

    def roughness(self, cut: Conditions, depths: FloatArray) -> FloatArray:
        """Ra, shape (*S, L). [m]"""
        laws = self.twin.laws
        entry = laws.entry_roughness * (self.twin.setup.grain_size / GRAIN) ** laws.grain_power
        growth = laws.roughness_growth * np.minimum(self.ratio(cut), 1.0)[..., None] * depths
        return np.asarray(entry + laws.roughness_gain * np.expm1(growth))

    def cuts_through(self, cut: Conditions) -> BoolArray:
        """Whether the jet comes out, shape S."""
        return np.asarray(self.ratio(cut) < 1.0)

    def pierce_time(self, *, thickness: float) -> float:
        """Time of the next pierce. [s]"""
        laws = self.twin.laws
        usual = laws.pierce_inch * (thickness / INCH_PLATE) ** laws.pierce_power
        usual *= ALUMINIUM / self.twin.setup.machinability
        return float(usual * np.exp(0.1 * self.random.standard_normal()))

    def cycle_time(self, *, steady: float, slow: float, fixed: float, pierces: float) -> float:
        """Time of a program. [s]"""
        real = steady + self.twin.laws.motion_share * slow + fixed + pierces
        return float(real * (1.0 + 0.005 * self.random.standard_normal()))

    def wall_scatter(self, *, edges: int) -> FloatArray:
        """Chance of the next piece, shape (E,). [m]"""
        laws = self.twin.laws
        own = np.hypot(laws.edge_sd, laws.position_share * self.twin.setup.position_sd)
        shared = laws.piece_sd * self.random.standard_normal()
        return np.asarray(shared + own * self.random.standard_normal(edges))

    def roughness_scatter(self, *, edges: int) -> FloatArray:
        """Chance factors, shape (E,). [-]"""
        return np.asarray(np.exp(self.twin.laws.roughness_sd * self.random.standard_normal(edges)))


def draw_twin(setup: TwinSetup, seed: int) -> Twin:
    """
    Draw a believable cell.

    Parameters
    ----------
    setup : TwinSetup
        As the shop believes.
    seed : int
        The same seed gives the same twin.

    Returns
    -------
    Twin
        Its taper at a tenth of separation speed in 1 in plate is 0.05 to 0.25 mm per side, and at a crawl
        its kerf opens downwards.

    Raises
    ------
    RuntimeError
        If the ranges hold no such twin.
    """
    random = np.random.default_rng(seed)
    for _ in range(TRIES):
        twin = Twin(setup=setup, laws=draw_laws(random))
        low, high = TAPER_RANGE
        if low <= twin.taper(ratio=REFERENCE_RATIO) <= high and twin.taper(ratio=CRAWL) < 0.0:
            return twin
    raise RuntimeError(f"no believable twin in {TRIES} tries: the ranges of its laws do not fit together")


def _size(cut: Conditions) -> FloatArray:
    """Thickness over 1 in, in the shape of the whole conditions. [-]"""
    shape = np.broadcast_shapes(*(np.shape(each) for each in (cut.speed, cut.thickness, cut.tilt, cut.lead)))
    return np.broadcast_to(np.asarray(cut.thickness, dtype=float) / INCH_PLATE, shape)
