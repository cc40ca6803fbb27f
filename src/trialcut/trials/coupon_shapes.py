"""The geometry of coupons: parts, passes, and several in a row on one plate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import tau

from trialcut.geometry.contours import ContourRole, Part
from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.geometry.edges import NamedLoop, build_contours
from trialcut.geometry.mend import Loop
from trialcut.trials.coupons import BLOCK, pass_pitch
from trialcut.trials.types import Coupon

EDGE_CUTS = {"A1": "Y", "A2": "X", "A3": "Y", "A4": "X", "B1": "H"}
"""Which cut of a block each edge of its part belongs to."""
GAP = 15.0e-3
"""Least clear plate between coupons, for leads and for skeleton that holds. [m]"""
GAP_THICKNESSES = 0.5
"""The same, over the thickest plate. [-]"""
ID_ROOM = 8.0e-3
"""Plate beside a ladder's passes on which its id and theirs are scribed. [m]"""
ROW = 0.4
"""Coupons go into a new row beyond this width. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedCoupon:
    """One coupon where it lies on the plate.

    Parameters
    ----------
    coupon : Coupon
        Which.
    part : Part or None
        Outline and opening of a block; None for a ladder or slots.
    passes : tuple of Line
        Of a ladder or of slots, in the order of the cuts, in the direction of travel; empty for a block.
    corner : Point
        Lower left of its room. [m]
    width, height : float
        Of its room. [m]
    """

    coupon: Coupon
    part: Part | None
    passes: tuple[Line, ...]
    corner: Point
    width: float
    height: float


@dataclass(frozen=True, kw_only=True)
class CouponDrawing:
    """Coupons side by side.

    Parameters
    ----------
    coupons : tuple of PlacedCoupon
        In cutting order, left to right, then row by row upwards.
    width, height : float
        Of the whole, from the origin. [m]
    """

    coupons: tuple[PlacedCoupon, ...]
    width: float
    height: float
    _places: dict[str, PlacedCoupon] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_places", {each.coupon.id: each for each in self.coupons})

    def placed(self, coupon_id: str) -> PlacedCoupon:
        """One coupon by id; ``KeyError`` if there is none."""
        return self._places[coupon_id]


def coupon_part(coupon: Coupon, *, at: Point = (0.0, 0.0)) -> Part:
    """
    The part that a block is.

    Parameters
    ----------
    coupon : Coupon
        Of kind ``"block"``.
    at : Point
        Where its lower left lies. [m]

    Returns
    -------
    Part
        Outline ``"A"`` with edges as in `EDGE_CUTS`, opening ``"B"`` in the middle.
    """
    x, y, opening = (coupon.cut(name).nominal for name in ("X", "Y", "H"))
    left, bottom = at
    points = [(left, bottom), (left + x, bottom), (left + x, bottom + y), (left, bottom + y)]
    sides: list[Segment] = [Line(a, b) for a, b in zip(points, points[1:] + points[:1], strict=True)]
    circle = Arc((left + 0.5 * x, bottom + 0.5 * y), 0.5 * opening, 0.0, -tau)
    outline, inner = build_contours(
        [
            NamedLoop(loop=Loop(sides, [False] * 4), id="A", role=ContourRole.OUTLINE),
            NamedLoop(loop=Loop([circle], [False]), id="B", role=ContourRole.OPENING),
        ]
    )
    return Part(id=coupon.id, outline=outline, openings=(inner,))


def coupon_passes(coupon: Coupon, *, system: str, at: Point = (0.0, 0.0)) -> tuple[Line, ...]:
    """
    The passes of a ladder or of slots, all in one direction, the first lowest.

    Parameters
    ----------
    coupon : Coupon
        Of kind ``"ladder"`` or ``"slot"``.
    system : str
        ``"inch"`` or ``"metric"``, for the distance between passes.
    at : Point
        Lower left of its room, in which ids have their place. [m]

    Returns
    -------
    tuple of Line
        From pierce to end, one a cut.
    """
    pitch = pass_pitch(coupon.thickness, system)
    left, bottom = at[0] + ID_ROOM, at[1] + ID_ROOM
    return tuple(
        Line((left, bottom + number * pitch), (left + cut.length, bottom + number * pitch))
        for number, cut in enumerate(coupon.cuts)
    )


def coupon_room(coupon: Coupon, *, system: str) -> tuple[float, float]:
    """
    Width and height of the plate that a coupon takes, without the gap round it.

    Parameters
    ----------
    coupon : Coupon
        Any.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    width, height : float
        [m]
    """
    if coupon.kind == BLOCK:
        return coupon.cut("X").nominal, coupon.cut("Y").nominal
    pitch = pass_pitch(coupon.thickness, system)
    return ID_ROOM + coupon.cuts[0].length, ID_ROOM + (len(coupon.cuts) - 1) * pitch


def coupon_drawing(coupons: Sequence[Coupon], *, system: str, row: float = ROW) -> CouponDrawing:
    """
    Lay coupons side by side with gaps, in rows from the lower left; each plate begins a row of its own.

    Parameters
    ----------
    coupons : sequence of Coupon
        In cutting order.
    system : str
        ``"inch"`` or ``"metric"``.
    row : float
        Longest row; a coupon that is longer has a row of its own. [m]

    Returns
    -------
    CouponDrawing
        Where each lies.
    """
    gap = max(GAP, GAP_THICKNESSES * max((each.thickness for each in coupons), default=0.0))
    placed: list[PlacedCoupon] = []
    x, y, tallest, widest = 0.0, 0.0, 0.0, 0.0
    for coupon in coupons:
        width, height = coupon_room(coupon, system=system)
        other_plate = bool(placed) and placed[-1].coupon.thickness != coupon.thickness
        if x > 0.0 and (other_plate or x + width > row):
            x, y, tallest = 0.0, y + tallest + gap, 0.0
        block = coupon.kind == BLOCK
        placed.append(
            PlacedCoupon(
                coupon=coupon,
                part=coupon_part(coupon, at=(x, y)) if block else None,
                passes=() if block else coupon_passes(coupon, system=system, at=(x, y)),
                corner=(x, y),
                width=width,
                height=height,
            )
        )
        widest, tallest = max(widest, x + width), max(tallest, height)
        x += width + gap
    return CouponDrawing(coupons=tuple(placed), width=widest, height=y + tallest)
