"""Cutting coupons on a twin, and reading them as the shop's people do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Protocol

import numpy as np

from trialcut.twins.gauges import GaugeTruth, Noted
from trialcut.twins.protocol import Conditions, FloatArray, TwinSession
from trialcut.twins.walls import RQ_OVER_RA, wall

STOPWATCH = 0.1
"""Resolution of a time. [s]"""


class CutLike(Protocol):
    """One feature of a coupon, as a designed trial has it; SI, see the trial's own documents."""

    @property
    def id(self) -> str:
        """Within the coupon."""

    @property
    def feature(self) -> str:
        """``"width"``, ``"opening"``, ``"slot"`` or ``"step"``."""

    @property
    def nominal(self) -> float:
        """Drawn size. [m]"""

    @property
    def speed(self) -> float:
        """[m/s]"""

    @property
    def tilt(self) -> float:
        """[rad]"""

    @property
    def lead(self) -> float:
        """[rad]"""

    @property
    def offset(self) -> float:
        """[m]"""

    @property
    def curvature(self) -> float:
        """Of the path. [1/m]"""

    @property
    def length(self) -> float:
        """Of the path. [m]"""


class CycleLike(Protocol):
    """What a coupon's cycle time is made of."""

    @property
    def steady(self) -> float:
        """[s]"""

    @property
    def slow(self) -> float:
        """[s]"""

    @property
    def fixed(self) -> float:
        """[s]"""

    @property
    def pierces(self) -> int:
        """Stationary pierces."""


class CouponLike(Protocol):
    """One test piece."""

    @property
    def id(self) -> str:
        """As scribed on it."""

    @property
    def thickness(self) -> float:
        """[m]"""

    @property
    def cuts(self) -> Sequence[CutLike]:
        """Its features."""

    @property
    def cycle(self) -> CycleLike | None:
        """For its cycle time."""


class Wanted(Protocol):
    """One line of a reading form."""

    @property
    def coupon(self) -> str:
        """On which coupon."""

    @property
    def cut(self) -> str:
        """On which feature; empty for the whole coupon."""

    @property
    def kind(self) -> str:
        """``"size"``, ``"kerf"``, ``"light gap"``, ``"lag"``, ``"Ra"``, ``"Rq"``, ``"through"``, a time."""

    @property
    def depth(self) -> float | None:
        """Fraction of the thickness."""

    @property
    def gauge(self) -> str:
        """Name of the gauge in the shop; empty for what needs none."""


class CutCoupons:
    """Coupons cut on one day, waiting to be read.

    Parameters
    ----------
    day : TwinSession
        On which they are cut, one after the other; the tube wears.
    coupons : sequence of CouponLike
        In the order they are cut.
    gauges : mapping
        What each gauge really shows, by name.
    random : Generator
        Of the readers' luck.

    Attributes
    ----------
    time : float
        Machine time that cutting them took. [s]
    """

    def __init__(
        self,
        day: TwinSession,
        coupons: Sequence[CouponLike],
        *,
        gauges: Mapping[str, GaugeTruth],
        random: np.random.Generator,
    ) -> None:
        self._gauges, self._random = gauges, random
        self._true: dict[tuple[str, str, str], FloatArray | float] = {}
        self._openings = {
            (coupon.id, cut.id) for coupon in coupons for cut in coupon.cuts if cut.feature == "opening"
        }
        self.time = 0.0
        for coupon in coupons:
            self._cut(day, coupon)

    def read(self, wanted: Wanted) -> Noted:
        """Read one line of the form, faultlessly written down."""
        kind = str(wanted.kind)
        if kind in {"pierce time", "cycle time"}:
            value = np.round(self._scalar(wanted) / STOPWATCH) * STOPWATCH
        elif kind == "through":
            value = self._scalar(wanted)
        else:
            true = self._scalar(wanted) if kind in {"lag", "light gap"} else self._at(wanted)
            inside = kind == "kerf" or (wanted.coupon, wanted.cut) in self._openings
            value = self._gauges[wanted.gauge].read(true, self._random, inside=inside)
        return Noted(coupon=wanted.coupon, cut=wanted.cut, kind=kind, depth=wanted.depth, value=float(value))

    def _scalar(self, wanted: Wanted) -> float:
        return float(self._true[wanted.coupon, wanted.cut, str(wanted.kind)])

    def _at(self, wanted: Wanted) -> float:
        through = self._true[wanted.coupon, wanted.cut, str(wanted.kind)]
        assert wanted.depth is not None
        return float(np.interp(wanted.depth, _LAYERS, through))

    def _cut(self, day: TwinSession, coupon: CouponLike) -> None:
        scatter = day.wall_scatter(edges=2 * len(coupon.cuts))
        rougher = day.roughness_scatter(edges=len(coupon.cuts))
        pierces = []
        for number, cut in enumerate(coupon.cuts):
            way = Conditions(speed=cut.speed, thickness=coupon.thickness, tilt=cut.tilt, lead=cut.lead)
            pierces.append(day.pierce_time(thickness=coupon.thickness))
            walls = wall(day, conditions=way, offset=cut.offset, curvature=cut.curvature, depths=_LAYERS)
            walls = walls + scatter[2 * number : 2 * number + 2, None]
            finish = day.roughness(way, _LAYERS) * rougher[number]
            lag = day.lag(way, _LAYERS)[-1] - coupon.thickness * np.tan(cut.lead)
            own = (coupon.id, cut.id)
            self._true |= {
                (*own, "size"): cut.nominal
                + (walls.sum(axis=0) if cut.feature == "width" else -2.0 * walls[0]),
                (*own, "kerf"): 2.0 * day.kerf_half_width(way, _LAYERS),
                (*own, "light gap"): float(np.ptp(walls[0])),
                (*own, "lag"): float(lag),
                (*own, "Ra"): finish,
                (*own, "Rq"): RQ_OVER_RA * finish,
                (*own, "through"): float(day.cuts_through(way)),
                (*own, "pierce time"): pierces[-1],
            }
        whole = self._whole_time(day, coupon, pierces)
        self._true[coupon.id, "", "cycle time"] = whole
        self.time += whole
        day.run(jet_time=whole)

    @staticmethod
    def _whole_time(day: TwinSession, coupon: CouponLike, pierces: Sequence[float]) -> float:
        """Cycle time of a coupon; where no program is given, of its passes one after the other. [s]"""
        program = coupon.cycle
        if program is None:
            steady = sum(cut.length / cut.speed for cut in coupon.cuts)
            return day.cycle_time(steady=steady, slow=0.0, fixed=0.0, pierces=sum(pierces))
        usual = sum(pierces) / len(pierces) * program.pierces
        return day.cycle_time(steady=program.steady, slow=program.slow, fixed=program.fixed, pierces=usual)


_LAYERS: FloatArray = np.linspace(0.0, 1.0, 9)
