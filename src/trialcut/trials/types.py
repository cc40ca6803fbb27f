"""What a trial is made of: coupons, the cuts on them, and what is read off them. All values are SI."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from trialcut.physics.setup import Setup


class FeatureKind(StrEnum):
    """What is cut."""

    WIDTH = "width"
    """A kept piece between two parallel straight edges, both cut alike."""
    OPENING = "opening"
    """A round opening."""
    SLOT = "slot"
    """A single straight pass; its width is the kerf."""
    STEP = "step"
    """One rung of a through-cut ladder: a straight pass that may not cut through."""


class ReadingKind(StrEnum):
    """What is read."""

    SIZE = "size"
    """Of a width or an opening, at a depth. [m]"""
    KERF = "kerf"
    """Width of a slot, at a depth. [m]"""
    LIGHT_GAP = "light gap"
    """Out-of-squareness of one wall over the whole depth. [m]"""
    LAG = "lag"
    """Exit behind entry along a straight pass. [m]"""
    RA = "Ra"
    """Mean roughness, at a depth. [m]"""
    RQ = "Rq"
    """Root mean square roughness, at a depth. [m]"""
    THROUGH = "through"
    """One where the pass cut through, zero where it did not. [-]"""
    PIERCE_TIME = "pierce time"
    """Of one stationary pierce. [s]"""
    CYCLE_TIME = "cycle time"
    """Of a whole coupon, from jet on at its first pierce to jet off at its end. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialCut:
    """One feature of a coupon and how it is cut.

    Parameters
    ----------
    id : str
        Within the coupon: ``"X"``, ``"Y"``, ``"H"``, ``"S1"``.
    feature : FeatureKind
        What it is.
    nominal : float
        Drawn size between its walls; zero for a slot or a step. [m]
    speed : float
        Commanded along it. [m/s]
    tilt, lead : float
        Lean towards the scrap, and against the travel so that the exit leads. [rad]
    offset : float
        From the drawn edge to the path, into the scrap. [m]
    curvature : float
        Of the path: positive on a convex edge, negative in an opening, zero on a straight. [1/m]
    length : float
        Of the path. [m]
    """

    id: str
    feature: FeatureKind
    nominal: float
    speed: float
    tilt: float
    lead: float
    offset: float
    curvature: float
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleParts:
    """What the forecast of a coupon's cycle time is made of, at unfitted motion and piercing.

    Parameters
    ----------
    steady : float
        Length over speed. [s]
    slow : float
        What corners, arcs and acceleration add. [s]
    fixed : float
        Traverses, head lifts and switching. [s]
    pierces : int
        Stationary pierces.
    """

    steady: float
    slow: float
    fixed: float
    pierces: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Coupon:
    """One test piece.

    Parameters
    ----------
    id : str
        As scribed on it; unique in the book: ``"T7-2"``.
    kind : str
        Of coupon: ``"block"`` (two widths and an opening), ``"ladder"`` (through-cut steps).
    thickness : float
        Of its plate. [m]
    cuts : tuple of TrialCut
        Its features.
    cycle : CycleParts or None
        For its cycle time, where that can be read.
    """

    id: str
    kind: str
    thickness: float
    cuts: tuple[TrialCut, ...]
    cycle: CycleParts | None = None

    def cut(self, cut_id: str) -> TrialCut:
        """One cut by id."""
        for each in self.cuts:
            if each.id == cut_id:
                return each
        raise KeyError(cut_id)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """Coupons cut together: one machine, one set-up, one session.

    Parameters
    ----------
    id : str
        ``"T7"``.
    machine : str
        In the shop file.
    head : str
        In the shop file.
    session : str
        What shares one setting of the machine: a day and a letter, ``"2026-03-02a"``.
    tube : str
        Which mixing tube, as marked on it or in the log.
    tube_hours : float
        Jet-on time it had behind it at the trial. [s]
    tube_bore_new : float
        Its bore when new. [m]
    lot : str
        Of the material.
    setup : Setup
        With the tube's bore as believed at the trial; each coupon's own thickness replaces its thickness.
    coupons : tuple of Coupon
        In the order they are cut.
    study : str
        What it was designed for, or empty.
    """

    id: str
    machine: str
    head: str
    session: str
    tube: str
    tube_hours: float
    tube_bore_new: float
    lot: str
    setup: Setup
    coupons: tuple[Coupon, ...]
    study: str = ""

    def coupon(self, coupon_id: str) -> Coupon:
        """One coupon by id."""
        for each in self.coupons:
            if each.id == coupon_id:
                return each
        raise KeyError(coupon_id)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One value read off a coupon.

    Parameters
    ----------
    id : str
        Unique in the book; empty until it is there.
    coupon, cut : str
        Where it was read; `cut` is empty for a coupon's cycle time.
    kind : ReadingKind
        What was read.
    depth : float or None
        Fraction of the thickness, 0 the top face; None where it has no depth. [-]
    value : float
        In SI.
    text : str
        As typed, with its unit: ``"1.4986 in"``.
    gauge : str
        In the shop file.
    standard_uncertainty : float
        Of the gauge, in the unit of `value`; zero for a reading without error, such as through or not.
    who, remark, place : str
        Who read it, what was noticed, and where on the piece.
    when : datetime
        With its time zone.
    """

    id: str
    coupon: str
    cut: str
    kind: ReadingKind
    depth: float | None
    value: float
    text: str
    gauge: str
    standard_uncertainty: float
    who: str
    when: datetime
    remark: str = ""
    place: str = ""
